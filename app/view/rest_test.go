package view

import (
	"testing"

	"github.com/maxence-charriere/go-app/v9/pkg/app"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// at is a unit of a shipped model after some events, with proposals.
func at(t *testing.T, proposals []plan.Proposal, events ...trail.Event) *state.Unit {
	t.Helper()
	m, err := catalog.Load("tray")
	require.NoError(t, err)
	lines := make([]trail.Line, len(events)+1)
	for i := range lines {
		lines[i].Odds = trail.Odds{Modes: make([]float64, len(m.Modes)), Faults: []float64{1}}
	}
	for i := range events {
		events[i].N = i + 1
	}
	return &state.Unit{Unit: bench.Unit{Model: m, Trail: &trail.Trail{ID: "a", Events: events}, Account: &trail.Account{Lines: lines}}, Proposals: proposals, Settled: true}
}

func (v *pen) stepOf(u *state.Unit) string {
	return app.HTMLString(v.step(u, state.Habits{}, state.Speech{}))
}

// TestAUnitThatLeftOffersNothingToRecord but what brings it back: every other event would say that it is on the
// bench again, which nobody said.
func TestAUnitThatLeftOffersNothingToRecord(t *testing.T) {
	v := english()
	offers := []plan.Proposal{{Step: plan.Step{Kind: plan.DoTest}}, {Step: plan.Step{Kind: plan.SignOff}}}
	records := []string{"state.Choose{", "state.Move{", "Sheet:return", "Sheet:wait", "Sheet:terms", "state.EndWait{"}
	here := app.HTMLString(v.other(at(t, offers), state.State{}))
	for _, r := range records[:5] {
		if r != "state.Move{" { // behind its cautions
			assert.Contains(t, here, r)
		}
	}
	left := at(t, offers, trail.Event{Kind: trail.Wait, For: "a belt"}, trail.Event{Kind: trail.End, As: trail.SignedOff})
	text := app.HTMLString(v.other(left, state.State{})) + v.stepOf(left)
	for _, r := range records {
		assert.NotContains(t, text, r)
	}
	assert.Contains(t, text, "It came back")
	assert.Contains(t, text, "Add a note")
	left.Place = "belt"
	assert.Empty(t, v.bearing(left, []int{0}))
}

// TestAUnitThatWaitsAsksForNothing: it says what it waits for, and the way on; who chose a step all the same sees that.
func TestAUnitThatWaitsAsksForNothing(t *testing.T) {
	v := english()
	u := at(t, []plan.Proposal{{Step: plan.Step{Kind: plan.SignOff}}}, trail.Event{Kind: trail.Wait, For: "a belt"})
	text := v.stepOf(u)
	for _, want := range []string{"Waits for: a belt", "It is here: go on", "Take the next unit in"} {
		assert.Contains(t, text, want)
	}
	assert.NotContains(t, text, "Next step")
	u.Chosen, u.HasChosen = u.Proposals[0].Step, true
	assert.Contains(t, v.stepOf(u), "Sign it off")
	assert.NotContains(t, v.stepOf(u), "Waits for")
}

// TestHowIsOfferedWhereThereIsAnythingToTell and minutes are those of what is done.
func TestHowIsOfferedWhereThereIsAnythingToTell(t *testing.T) {
	v := english()
	u := at(t, []plan.Proposal{{Step: plan.Step{Kind: plan.WriteOff}}})
	assert.NotContains(t, v.stepOf(u), ">How<")
	step := plan.Step{Kind: plan.DoTest, Index: u.Model.Proof}
	u.Proposals = []plan.Proposal{{Step: step, Minutes: 24}}
	for _, c := range u.Model.Cautions {
		u.Marks.Seen = append(u.Marks.Seen, c.ID)
	}
	assert.Contains(t, v.stepOf(u), ">How<")
	u.Chosen, u.HasChosen, u.InPlace = step, true, true
	text := v.stepOf(u)
	assert.Contains(t, text, "As the unit stands · "+v.words.Minutes(u.Model.Tests[step.Index].Minutes), "not 24: no way is taken")
}
