package bench

import (
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// A Unit is one unit on the bench. It is not changed by any of its methods; they may be
// called at the same time while nobody sets its fields.
type Unit struct {
	Model   *model.Model   // nil if it is not at hand: then only what needs none is answered
	Trail   *trail.Trail   // every event
	Account *trail.Account // of Trail; nil while it is not worked out, or if it cannot be
}

// Setup returns how the unit stands after its live events, an index in Model.Setups. It
// needs no account. A setup that the model does not have is passed over.
func (u *Unit) Setup() int {
	at := u.Model.Root
	live := u.Trail.Live()
	for i := range u.Trail.Events {
		e := &u.Trail.Events[i]
		if !live[i] || e.Kind != trail.Setup {
			continue
		}
		if s, ok := u.Model.Setup(e.Setup); ok {
			at = s.Index
		}
	}
	return at
}

// A Task is what a step asks for, whatever its kind.
type Task struct {
	Step plan.Step
	ID   string // of the test or the repair; "" for an ending
	model.Words
	At       int // the setup in which it is done: the root for signing off; -1 for writing off, which is done anywhere
	Minutes  float64
	Money    float64 // in the model's currency
	Needs    []model.ToolID
	Cautions []model.CautionID // of the step alone: Unit.Cautions says all that is dangerous
}

// TaskOf returns what a step of a model asks for, without the way to it. Endings have no words here.
func TaskOf(m *model.Model, s plan.Step) Task {
	switch s.Kind {
	case plan.DoTest:
		t := &m.Tests[s.Index]
		return Task{s, string(t.ID), t.Words, t.At, t.Minutes, t.Money, t.Needs, t.Cautions}
	case plan.DoRepair:
		r := &m.Repairs[s.Index]
		return Task{s, string(r.ID), r.Words, r.At, r.Minutes, r.Money, r.Needs, r.Cautions}
	case plan.SignOff:
		return Task{Step: s, At: m.Root}
	}
	return Task{Step: s, At: -1}
}

// Task is TaskOf the unit's model.
func (u *Unit) Task(s plan.Step) Task { return TaskOf(u.Model, s) }

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
