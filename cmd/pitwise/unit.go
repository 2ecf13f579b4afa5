package main

import (
	"errors"
	"fmt"

	"pitwise/engine/belief"
	"pitwise/engine/document"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A unit is a trail with the model to work it out with.
type unit struct {
	name     string // of the file
	trail    *trail.Trail
	model    *model.Model
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
	u := &unit{name: name, trail: t}
	u.model, err = d.modelOf(t, named)
	switch {
	case errors.Is(err, errRevision) && anyRevision:
		u.warnings = append(u.warnings, trail.Warning{N: 0, Text: err.Error()})
	case errors.Is(err, errRevision):
		return nil, fmt.Errorf("%w; -any-revision goes on all the same", err)
	case err != nil:
		return nil, err
	}
	if err := t.Check(u.model); err != nil {
		return nil, d.refuse(name, trail.Defects(document.Located(text, limits, defectsOf(err))))
	}
	if u.space, err = belief.NewSpace(u.model); err != nil {
		return nil, err
	}
	return u, nil
}

// replay works the trail out. Where an event cannot be worked out, the account ends before
// it and the error says which one it is, and why.
func (u *unit) replay() (*trail.Account, error) {
	a, err := trail.Replay(u.space, u.trail)
	if a != nil {
		a.Warnings = append(u.warnings[:len(u.warnings):len(u.warnings)], a.Warnings...)
	}
	var at *trail.EventError
	if errors.As(err, &at) {
		err = fmt.Errorf("%s: %w: look at what was recorded there and before it", u.name, err)
	}
	return a, err
}
