package bench

import (
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// Setup returns how the unit stands after its live events, an index in Model.Setups. It
// needs no account. A setup that the model does not have is passed over.
func (u *Unit) Setup() int {
	at := u.Model.Root
	for _, e := range u.live() {
		if s, ok := u.Model.Setup(e.Setup); ok && e.Kind == trail.Setup {
			at = s.Index
		}
	}
	return at
}

// Way returns the setup steps from how the unit stands to a step, in order; none if it is
// done as the unit stands.
func (u *Unit) Way(s plan.Step) []plan.Move {
	at := u.Task(s).At
	if at < 0 {
		return nil
	}
	return WayOf(u.Model, u.Setup(), at)
}

// WayOf returns the setup steps between two setups of a model: out up to what is around
// both, then in.
func WayOf(m *model.Model, from, to int) []plan.Move {
	var way []plan.Move
	leave, enter := m.Path(from, to)
	for _, s := range leave {
		way = append(way, plan.Move{Setup: s, Leave: true})
	}
	for _, s := range enter {
		way = append(way, plan.Move{Setup: s})
	}
	return way
}

// MoveOf returns the work of one piece of a way, and the setup that it leads to.
func MoveOf(m *model.Model, mv plan.Move) (work *model.Step, to int) {
	s := &m.Setups[mv.Setup]
	if mv.Leave {
		return &s.Leave, s.Inside
	}
	return &s.Enter, s.Index
}

// Moves returns the setup steps that can be taken from how the unit stands: out first, then
// in, in the order of the model.
func (u *Unit) Moves() []plan.Move {
	at := u.Setup()
	var all []plan.Move
	if u.Model.Setups[at].Inside >= 0 {
		all = append(all, plan.Move{Setup: at, Leave: true})
	}
	for i := range u.Model.Setups {
		if u.Model.Setups[i].Inside == at {
			all = append(all, plan.Move{Setup: i})
		}
	}
	return all
}
