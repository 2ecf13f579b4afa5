package model

import "slices"

// A Move is one setup step of a way.
type Move struct {
	Setup int  // the setup that is entered, or left
	Leave bool // true: out of Setup to its parent; false: into Setup from its parent
}

// Way returns the setup steps between two setups, given by index: out of the deepest first up to
// the setup around both, then in. It is nil if from equals to.
func (m *Model) Way(from, to int) []Move {
	var out, in []Move
	for from != to {
		if m.Setups[from].Depth >= m.Setups[to].Depth {
			out = append(out, Move{Setup: from, Leave: true})
			from = m.Setups[from].Inside
		} else {
			in = append(in, Move{Setup: to})
			to = m.Setups[to].Inside
		}
	}
	slices.Reverse(in)
	return append(out, in...)
}

// Move returns the work of a setup step, and the setup that it leads to.
func (m *Model) Move(mv Move) (work *Step, to int) {
	s := &m.Setups[mv.Setup]
	if mv.Leave {
		return &s.Leave, s.Inside
	}
	return &s.Enter, s.Index
}
