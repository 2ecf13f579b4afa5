package runner

import (
	"bytes"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"unicode/utf8"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/document"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// limits bound what a file is read for when it is only looked at: the loaders have
// their own.
var limits = document.Limits{Bytes: FileLimit, Depth: trail.Limits.Depth, Values: trail.Limits.Values}

// A partError is an error in a text that stands inside a file as a string.
type partError struct {
	part string // its place in the file
	err  error
}

func (e *partError) Error() string { return e.part + ": " + e.err.Error() }
func (e *partError) Unwrap() error { return e.err }

// A refusal is all that is wrong with a file.
type refusal struct {
	cause   error // the first of it
	defects []state.Defect
	more    int
}

func (e *refusal) Error() string { return e.cause.Error() }
func (e *refusal) Unwrap() error { return e.cause }

// add adds the defects of err, which are of the text; where says which part of the file
// the text is, and start where it begins there.
func (e *refusal) add(err error, text []byte, where string, start position) {
	e.cause = cmpOr(e.cause, err)
	all, more := defectsOf(err, text)
	e.more += more
	for _, d := range all {
		if len(e.defects) >= document.MaxDefects {
			e.more++
			continue
		}
		if where != "" && d.In == "" {
			d.Place = within(where, d.Place)
			if d.Line == 0 {
				d.Line, d.Column = 1, 1
			}
			if d.Line == 1 {
				d.Column += start.column - 1
			}
			d.Line += start.line - 1
		} else if where != "" {
			d.In = within(where, d.In)
		}
		e.defects = append(e.defects, d)
	}
}

// within writes a place inside another.
func within(where, place string) string {
	if place == "" || place[0] == '[' {
		return where + place
	}
	return where + "." + place
}

// defectsOf returns what an error about a text is made of, with lines where there are any,
// and how many defects there are beyond those.
func defectsOf(err error, text []byte) (all []state.Defect, more int) {
	var part *partError
	in := ""
	if errors.As(err, &part) {
		in = part.part
	}
	var found document.Defects
	if !errors.As(err, &found) {
		found.List = []document.Defect{{Found: strings.TrimPrefix(err.Error(), ErrBackup.Error()+": ")}}
	}
	if in == "" && slices.ContainsFunc(found.List, func(d document.Defect) bool { return d.Line == 0 && d.Place != "" }) {
		found = document.Located(text, limits, found)
	}
	for _, d := range found.List {
		all = append(all, state.Defect{Defect: d, In: in})
	}
	return all, found.More
}

// refused sends what is wrong with a file that was not read in, or not all of it.
func (r *Runner) refused(f browser.File, err error, partly bool) {
	if !ofFile(err) {
		r.Send(state.ImportFailed{Detail: err.Error()})
		return
	}
	var all *refusal
	if !errors.As(err, &all) {
		all = &refusal{}
		all.add(err, []byte(f.Text), "", position{})
	}
	r.Send(state.ImportFailed{File: state.RefusedFile{File: f.Name, Defects: all.defects, More: all.more, Partly: partly}})
}

// ofFile reports whether an error is about what stands in a file, and not about where it
// was to be stored.
func ofFile(err error) bool {
	for _, about := range []error{model.ErrInvalid, trail.ErrInvalid, ErrBackup, ErrOther, browser.ErrRecord} {
		if errors.Is(err, about) {
			return true
		}
	}
	return false
}

// A position is a place in a text, line and column from 1.
type position struct{ line, column int }

func positionOf(text []byte, offset int) position {
	head := text[:offset]
	line := bytes.Count(head, []byte("\n")) + 1
	return position{line, utf8.RuneCount(head[bytes.LastIndexByte(head, '\n')+1:]) + 1}
}

// unitOffsets returns where the units of a backup begin in its text, as far as it reads.
func unitOffsets(text []byte) (offsets []int) {
	d := json.NewDecoder(bytes.NewReader(text))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return nil
	}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return offsets
		}
		var v json.RawMessage
		if key != "units" {
			if d.Decode(&v) != nil {
				return offsets
			}
			continue
		}
		if t, err := d.Token(); err != nil || t != json.Delim('[') {
			return offsets
		}
		offsets = nil
		for d.More() {
			if d.Decode(&v) != nil {
				return offsets
			}
			offsets = append(offsets, int(d.InputOffset())-len(v))
		}
		if _, err := d.Token(); err != nil {
			return offsets
		}
	}
	return offsets
}

// unknownKind says that a file is none of those that the page reads in.
func unknownKind(text []byte) error {
	r := document.NewReport(text)
	if root, ok := r.Read(limits); ok {
		const want = `want "pitwise/model", "pitwise/trail" or "pitwise/bench"`
		switch v := root.Get("format"); {
		case root.Kind() != document.Object:
			r.Add(root, "%s, want an object that is a model, a trail or a bench", root.Kind())
		case !v.Exists():
			r.Add(root, "no field \"format\", %s", want)
		default:
			name, _ := v.Text()
			r.Add(v, "%s, %s", document.Quote(name), want)
		}
	}
	return r.Err(trail.ErrInvalid)
}
