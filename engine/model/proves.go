package model

import "slices"

// SaysAsProof reports whether a test has the outcomes of the proof: by it, too, can be said what a unit does.
func (m *Model) SaysAsProof(t *Test) bool {
	return slices.EqualFunc(t.Outcomes, m.Tests[m.Proof].Outcomes, func(a, b Outcome) bool { return a.ID == b.ID })
}
