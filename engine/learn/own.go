package learn

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"pitwise/engine/model"
)

// An Own is a number that a person knows better than the model, and why. Kind and ids say which, as
// in a Figure; P is what it is to be.
type Own struct {
	Figure
	Reason string
}

// ErrOwn says that a number cannot be put into a model.
var ErrOwn = errors.New("learn: own number")

// Owned reports whether a model has numbers of a person's own.
func Owned(m *model.Model) bool {
	_, ok := m.Source(ownSource)
	return ok
}

// Override returns the model with numbers of one's own, as a revision of its own; a model that has some
// already keeps them, with their reasons. The other
// entries of a row keep their proportions, and the other modes of a component their numbers. Each
// number is said and reasoned in a source "own", which a mode, repair or step then names;
// a test keeps its source, since that speaks for all of its rows. It weighs like common practice, so
// that units can still move it. The error wraps ErrOwn, or is the model's defects where no valid
// row has the number: a fault never makes good outcomes likelier.
func Override(m *model.Model, all ...Own) (*model.Model, error) {
	f, err := newFrame(m)
	if err != nil {
		return nil, err
	}
	numbers := slices.Clone(f.ship)
	kappa := f.kappas()
	cite := ""
	for _, o := range all {
		if !(o.P > 0 && o.P < 1) {
			return nil, fmt.Errorf("%w: %v, want a share between 0 and 1", ErrOwn, o.P)
		}
		if o.Reason == "" {
			return nil, fmt.Errorf("%w: no reason is given", ErrOwn)
		}
		block, k, ok := f.find(o.Figure)
		if !ok {
			return nil, fmt.Errorf("%w: the model has no such number: %s %s %s %s%s %s", ErrOwn, o.Kind, o.Mode, o.Test, o.Repair, o.Setup, o.Outcome)
		}
		row := f.row(numbers, block)
		switch o.Kind {
		case Prior:
			row[0] += row[k] - o.P
			row[k] = o.P
			if row[0] <= 0 {
				return nil, fmt.Errorf("%w: %s: the component is then never sound", ErrOwn, o.Mode)
			}
		case Link:
			leak := f.row(numbers, f.leak[f.blocks[block].Test])
			copy(row, linkOf(leak, moved(rowOf(leak, row), k, o.P)))
		default:
			copy(row, moved(row, k, o.P))
		}
		if cite != "" {
			cite += "; "
		}
		cite += fmt.Sprintf("%s%v, because %s", o.label(), o.P, o.Reason)
	}
	out, err := f.rewrite(numbers, kappa, digits, "own", source{ownSource, cite})
	if err != nil {
		return nil, err
	}
	// A link that had to be cut off at 0 is not the number that was asked for.
	g, err := newFrame(out)
	if err != nil {
		return nil, err
	}
	for _, o := range all {
		block, k, _ := g.find(o.Figure)
		now := g.row(g.ship, block)[k]
		if o.Kind == Link {
			now = rowOf(g.row(g.ship, g.leak[g.blocks[block].Test]), g.row(g.ship, block))[k]
		}
		if d := now - o.P; d > 1e-6 || d < -1e-6 {
			return nil, fmt.Errorf("%w: %s %s %s: %v would make a good outcome likelier with the fault than without; %.6f is the nearest", ErrOwn, o.Test, o.Mode, o.Outcome, o.P, now)
		}
	}
	return out, nil
}

// label is what a number of one's own is called in the source that says so.
func (f Figure) label() string {
	return fmt.Sprintf("%s %s%s%s%s %s: ", f.Kind, f.Mode, f.Test, f.Repair, f.Setup, f.Outcome)
}

// WhyOwn returns the reason that a person gave for a number of their own; false if it is none.
func WhyOwn(m *model.Model, f Figure) (string, bool) {
	s, ok := m.Source(ownSource)
	if !ok {
		return "", false
	}
	at := strings.LastIndex(s.Cite, f.label())
	if at < 0 {
		return "", false
	}
	_, why, _ := strings.Cut(s.Cite[at:], ", because ")
	for _, kind := range []Kind{Prior, Healthy, Link, Fix, Risk} {
		why, _, _ = strings.Cut(why, "; "+string(kind)+" ")
	}
	return why, true
}

// ownSource is the id of the source that says which numbers are a person's own.
const ownSource = "own"

// find returns the block and entry that a figure is about.
func (f *frame) find(x Figure) (block, k int, ok bool) {
	m := f.model
	mode := -1
	if x.Mode != "" {
		one, ok := m.Mode(x.Mode)
		if !ok {
			return 0, 0, false
		}
		mode = one.Index
	}
	switch x.Kind {
	case Prior:
		if mode < 0 {
			return 0, 0, false
		}
		c := m.Modes[mode].Component
		return f.prior[c], 1 + mode - m.Components[c].FirstMode, true
	case Healthy, Link:
		test, ok := m.Test(x.Test)
		if !ok {
			return 0, 0, false
		}
		o, ok := test.Outcome(x.Outcome)
		if !ok {
			return 0, 0, false
		}
		if x.Kind == Healthy {
			return f.leak[test.Index], o, true
		}
		for i, g := range test.Given {
			if g.Mode == mode {
				return f.links[test.Index][i], o, true
			}
		}
		return 0, 0, false
	}
	for i := range f.blocks {
		b := &f.blocks[i]
		if b.Kind != x.Kind || b.Mode != mode || b.Leave != x.Leave {
			continue
		}
		if b.Repair >= 0 && m.Repairs[b.Repair].ID == x.Repair || b.Setup >= 0 && x.Repair == "" && m.Setups[b.Setup].ID == x.Setup {
			return i, 0, true
		}
	}
	return 0, 0, false
}
