package bench

import (
	"slices"

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

// Starts reports whether a disc may be started as the unit stands, by some test that is run so: none turns in a drive whose lid, with the
// clamp in it, lies beside it.
func (u *Unit) Starts() bool {
	here := u.Setup()
	return slices.ContainsFunc(u.Model.Tests, func(t model.Test) bool { return t.At == here && u.Model.EndsAsProof(&t) })
}

// Way returns the setup steps from how the unit stands to a step, in order; none if it is
// done as the unit stands.
func (u *Unit) Way(s plan.Step) []model.Move {
	at := u.Task(s).At
	if at < 0 {
		return nil
	}
	return u.Model.Way(u.Setup(), at)
}

// Moves returns the setup steps that can be taken from how the unit stands: out first, then
// in, in the order of the model.
func (u *Unit) Moves() []model.Move {
	at := u.Setup()
	var all []model.Move
	if u.Model.Setups[at].Inside >= 0 {
		all = append(all, model.Move{Setup: at, Leave: true})
	}
	for i := range u.Model.Setups {
		if u.Model.Setups[i].Inside == at {
			all = append(all, model.Move{Setup: i})
		}
	}
	return all
}
