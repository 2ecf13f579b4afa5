package runner_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/learn"
	"pitwise/engine/model"
)

// TestANumberOfOnesOwnIsUsedAndTakenBack: it is put into a revision that the next unit is begun with; a second
// one takes the first along; one tap leads back to the numbers as shipped.
func TestANumberOfOnesOwnIsUsedAndTakenBack(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	b.send(state.Navigated{Path: "/figures/tray"})
	s := b.until("the numbers are there", func(s state.State) bool { return s.Figures.Now != nil })
	first, second := s.Figures.Now.Modes[0].ID, s.Figures.Now.Modes[1].ID
	change := func(mode model.ModeID, typed string) state.State {
		before := b.until("the numbers are there", func(s state.State) bool { return s.Figures.Now != nil }).Figures.SHA256
		b.send(state.EditFigure{Figure: learn.Figure{Kind: learn.Prior, Mode: mode}})
		b.send(state.SetFigure{Text: typed})
		b.send(state.SetReason{Text: "counted"})
		b.send(state.KeepFigure{})
		return b.until("the number is in use", func(s state.State) bool { return s.Figures.SHA256 != "" && s.Figures.SHA256 != before })
	}
	s = change(first, "12")
	assert.InDelta(t, 0.12, s.Figures.Now.Modes[0].Prior, 1e-9)
	s = change(second, "7")
	assert.InDelta(t, 0.12, s.Figures.Now.Modes[0].Prior, 1e-9)
	assert.InDelta(t, 0.07, s.Figures.Now.Modes[1].Prior, 1e-9)
	require.Len(t, s.Own, 1, "the revision with both stands in the place of the one with the first")
	assert.True(t, s.Own[0].Mine)
	assert.Equal(t, s.Own[0].SHA256, s.Draft.ModelID)

	b.send(state.EditFigure{Figure: learn.Figure{Kind: learn.Prior, Mode: first}})
	b.send(state.SetFigure{Text: "99.9"})
	b.send(state.SetReason{Text: "guessed"})
	b.send(state.KeepFigure{})
	s = b.until("the component would never be sound", func(s state.State) bool { return s.Figures.Wrong != "" })
	assert.InDelta(t, 0.12, s.Figures.Now.Modes[0].Prior, 1e-9)

	b.send(state.ForgetModel{SHA256: s.Own[0].SHA256})
	s = b.until("the numbers are as shipped", func(s state.State) bool { return s.Figures.Now != nil && s.Figures.SHA256 == "" })
	assert.Empty(t, s.Own)
	assert.Equal(t, s.Figures.Shipped, s.Figures.Now)
}

// TestUnitsAreJudgedAndIntervalsKept: of few units it is not told how often they were right, and what was learnt
// keeps its intervals.
func TestUnitsAreJudgedAndIntervalsKept(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	for _, id := range []string{"01J0000000000000000000TE01", "01J0000000000000000000TE02"} {
		b.putUnit(t, id)
	}
	b.send(state.JudgeUnits{Model: "top-loader"})
	s := b.until("it is judged", func(s state.State) bool { return s.Learning.Trial != nil })
	assert.Equal(t, 2, s.Learning.Trial.Units)
	assert.Equal(t, 2, s.Learning.Trial.ShippedLead.Units)
	assert.Equal(t, 2, s.Learning.Trial.LearntLead.Units)

	b.send(state.LearnFrom{Model: "top-loader"})
	s = b.until("it is learnt", func(s state.State) bool { return s.Learning.Account != nil })
	moved := len(s.Learning.Account.Moved)
	b.send(state.TakeLearnt{})
	b.until("it is taken", func(s state.State) bool { return len(s.Own) == 1 && s.Route.Screen == state.ScreenIntake })
	b.send(state.Navigated{Path: "/figures/top-loader"})
	s = b.until("the numbers are there", func(s state.State) bool { return s.Figures.Now != nil })
	assert.True(t, learn.From(s.Figures.Now))
	require.Len(t, s.Figures.Spans, moved)
	assert.NotNil(t, s.Figures.Spans[0].Interval)
}
