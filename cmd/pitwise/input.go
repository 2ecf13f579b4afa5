package main

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"pitwise/engine/catalog"
	"pitwise/engine/document"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// read returns the bytes of a file, "-" being standard input. It reads at most one byte
// more than the largest file that any loader takes, which is enough for the loader to
// refuse it.
func (d *desk) read(name string) ([]byte, error) {
	var in io.Reader = d.in
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		in = f
	}
	text, err := io.ReadAll(io.LimitReader(in, trail.MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return text, nil
}

// model returns the shipped model of that id, or else the one in that file.
func (d *desk) model(name string) (*model.Model, error) {
	text, shipped := catalog.Text(name)
	if !shipped {
		var err error
		if text, err = d.read(name); err != nil {
			if errors.Is(err, os.ErrNotExist) {
				return nil, fmt.Errorf("%s is neither a file nor the id of a shipped model (%s)", name, shippedIDs())
			}
			return nil, err
		}
	}
	m, err := model.Load(text)
	if err != nil {
		return nil, d.refuse(name, err)
	}
	return m, nil
}

// trail returns the trail in a file.
func (d *desk) trail(name string) (*trail.Trail, error) {
	text, err := d.read(name)
	if err != nil {
		return nil, err
	}
	t, err := trail.Load(text)
	if err != nil {
		return nil, d.refuse(name, err)
	}
	return t, nil
}

// refuse tells the defects of a file as messages. An error that is not about defects
// comes back as it is.
func (d *desk) refuse(name string, err error) error {
	var all document.Defects
	if !errors.As(err, &all) {
		return fmt.Errorf("%s: %w", name, err)
	}
	for _, line := range defectLines(name, all) {
		fmt.Fprintln(d.err, line)
	}
	return errTold
}

// defectLines says defects the way editors and terminals follow: FILE:LINE:COLUMN: what.
func defectLines(name string, all document.Defects) []string {
	lines := make([]string, 0, len(all.List)+1)
	for _, d := range all.List {
		at := name
		if d.Line > 0 {
			at = fmt.Sprintf("%s:%d:%d", name, d.Line, d.Column)
		}
		lines = append(lines, plain(at+": "+d.Text()))
	}
	if all.More > 0 {
		lines = append(lines, plain(fmt.Sprintf("%s: and %d more", name, all.More)))
	}
	return lines
}

// errRevision is a trail that was recorded under another model than the one at hand.
var errRevision = errors.New("the trail was recorded under another model")

// modelOf returns the model to work a trail out with: the one that is named, or the one
// that the trail carries, or the shipped one with its digest, or the shipped one with its
// id. The error is errRevision, with the model, where the digests differ.
func (d *desk) modelOf(t *trail.Trail, named string) (*model.Model, error) {
	var m *model.Model
	switch {
	case named != "":
		var err error
		if m, err = d.model(named); err != nil {
			return nil, err
		}
	case t.ModelText != "":
		var err error
		if m, err = model.Load([]byte(t.ModelText)); err != nil {
			return nil, d.refuse("model_text", err)
		}
	default:
		id := t.Model.ID
		for _, e := range catalog.Models() {
			if e.SHA256 == t.Model.SHA256 {
				id = e.ID
			}
		}
		var err error
		if m, err = catalog.Load(id); errors.Is(err, catalog.ErrUnknown) {
			return nil, fmt.Errorf("the trail names the model %s, which is not shipped, and carries no text of it: -model gives it", modelName(t.Model))
		} else if err != nil {
			return nil, err
		}
	}
	if m.SHA256 != t.Model.SHA256 {
		return m, fmt.Errorf("%w: %s, at hand is %s", errRevision, modelName(t.Model), modelName(refOf(m)))
	}
	return m, nil
}

func refOf(m *model.Model) trail.ModelRef {
	return trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256}
}

// modelName tells a model from all others in few words.
func modelName(r trail.ModelRef) string {
	short := r.SHA256
	if _, err := hex.DecodeString(short); err == nil && len(short) > 12 {
		short = short[:12]
	}
	return fmt.Sprintf("%s revision %s (sha256 %s…)", r.ID, r.Revision, short)
}

func shippedIDs() string {
	var ids []string
	for _, e := range catalog.Models() {
		ids = append(ids, e.ID)
	}
	return strings.Join(ids, ", ")
}

// plain makes a stranger's text fit for one line of a terminal: without the signs that
// steer one.
func plain(s string) string { return document.Line(s) }
