package sim

import (
	"errors"
	"fmt"

	"pitwise/engine/model"
)

// ErrOtherParts says that two models are not of the same parts.
var ErrOtherParts = errors.New("sim: not models of the same parts")

// Comparable returns nil if units of one model can be played by a policy that believes the
// other: both have the same setups, modes, tests, outcomes and repairs, in the same order and
// each in the same setup. Numbers may differ. The error names the first difference.
func Comparable(a, b *model.Model) error {
	x, y := partsOf(a), partsOf(b)
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			return fmt.Errorf("%w: %s has %s, %s has %s", ErrOtherParts, a.ID, x[i], b.ID, y[i])
		}
	}
	if len(x) != len(y) {
		return fmt.Errorf("%w: %s has %d, %s has %d", ErrOtherParts, a.ID, len(x), b.ID, len(y))
	}
	return nil
}

// partsOf lists what another model must have as well.
func partsOf(m *model.Model) []string {
	var all []string
	add := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	for _, s := range m.Setups {
		inside := model.SetupID("nothing")
		if s.Inside >= 0 {
			inside = m.Setups[s.Inside].ID
		}
		add("setup %s inside %s", s.ID, inside)
	}
	for _, f := range m.Modes {
		add("mode %s", f.ID)
	}
	for i, t := range m.Tests {
		kind := "test"
		switch {
		case t.Told:
			kind = "told test"
		case i == m.Proof:
			kind = "proof"
		}
		if i == m.Intake {
			kind = "intake " + kind
		}
		add("%s %s in %s", kind, t.ID, m.Setups[t.At].ID)
		for _, o := range t.Outcomes {
			add("outcome %s of %s", o.ID, t.ID)
		}
	}
	for _, r := range m.Repairs {
		add("repair %s in %s", r.ID, m.Setups[r.At].ID)
	}
	return all
}
