package main

import (
	"errors"
	"fmt"

	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/document"
	"pitwise/engine/trail"
)

// A unit is one in a file.
type unit struct {
	bench.Unit
	name     string // of the file
	space    *belief.Space
	warnings []trail.Warning // of the whole trail
}

// unit reads a trail, finds its model (named may be ""), and checks that they fit. With
// anyRevision another model than the one that the trail names will do, with a warning.
func (d *desk) unit(name, named string, anyRevision bool) (*unit, error) {
	text, err := d.read(name)
	if err != nil {
		return nil, err
	}
	t, err := trail.Load(text)
	if err != nil {
		return nil, d.refuse(name, err)
	}
	u := &unit{name: name, Unit: bench.Unit{Trail: t}}
	u.Model, err = d.modelOf(t, named)
	switch {
	case errors.Is(err, errRevision) && anyRevision:
		u.warnings = append(u.warnings, trail.Warning{N: 0, Text: err.Error()})
	case errors.Is(err, errRevision):
		return nil, fmt.Errorf("%w; -any-revision goes on all the same", err)
	case err != nil:
		return nil, err
	}
	if err := t.Check(u.Model); err != nil {
		return nil, d.refuse(name, document.Located(text, trail.Limits, document.DefectsOf(err)))
	}
	if u.space, err = belief.NewSpace(u.Model); err != nil {
		return nil, err
	}
	return u, nil
}

// replay works the trail out. Where an event cannot be worked out, the account ends before
// it and the error says which one it is, and why.
func (u *unit) replay() (*trail.Account, error) {
	opened, err := bench.Open(u.space, u.Trail)
	if opened.Account != nil {
		u.Unit = *opened
		u.Account.Warnings = append(u.warnings[:len(u.warnings):len(u.warnings)], u.Account.Warnings...)
	}
	var at *trail.EventError
	if errors.As(err, &at) {
		err = fmt.Errorf("%s: %w: look at what was recorded there and before it", u.name, err)
	}
	return opened.Account, err
}
