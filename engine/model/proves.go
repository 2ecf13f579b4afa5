package model

import "slices"

// SaysAsProof reports whether a test has the outcomes of the proof: by it, too, can be said what a unit does.
func (m *Model) SaysAsProof(t *Test) bool {
	return slices.EqualFunc(t.Outcomes, m.Tests[m.Proof].Outcomes, func(a, b Outcome) bool { return a.ID == b.ID })
}

// EndsAsProof reports whether a test at its best shows what the proof does at its best: the unit starts.
func (m *Model) EndsAsProof(t *Test) bool {
	return !t.Told && t.Outcomes[0].ID == m.Tests[m.Proof].Outcomes[0].ID
}

// Row returns what a test shows with a fault; ok is false if the fault does not show in it.
func (t *Test) Row(mode int) (p []float64, ok bool) {
	for i := range t.Given {
		if t.Given[i].Mode == mode {
			return t.Given[i].P, true
		}
	}
	return nil, false
}

// Misses returns how often a test comes out best with a fault, of how often it does with none; ok is false if the
// fault does not show in it.
func (t *Test) Misses(mode int) (part float64, ok bool) {
	p, ok := t.Row(mode)
	if !ok {
		return 1, false
	}
	return p[0] / t.Healthy[0], true
}
