package runner_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// TestABenchLearnsFromItsUnits: with nothing on the bench there is nothing to learn; with units,
// what would change is shown, a yes puts a model of its own on the list and picks it for the
// next unit, units under way keep theirs, and one tap takes it away again.
func TestABenchLearnsFromItsUnits(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	b.send(state.LearnFrom{Model: "top-loader"})
	b.until("there is nothing to learn from", func(s state.State) bool { return s.Learning.Failed == state.LearnNone })

	for i := range 6 {
		b.putUnit(t, fmt.Sprintf("01J0000000000000000000TE%02d", i))
	}
	b.send(state.LearnFrom{Model: "top-loader"})
	s := b.until("it is learnt", func(s state.State) bool { return s.Learning.Account != nil })
	assert.Equal(t, 6, s.Learning.Account.Units)
	require.NotEmpty(t, s.Learning.Account.Moved)
	assert.NotNil(t, s.Learning.Account.Moved[0].Interval)
	assert.Equal(t, "01J0000000000000000000TE05", s.Learning.Latest, "of units that ended at the same time the last on the list")
	assert.NotEmpty(t, s.Learning.Taught)
	assert.Empty(t, s.Own, "nothing is stored before the yes")

	b.send(state.TakeLearnt{})
	s = b.until("the learnt model is on the list", func(s state.State) bool { return len(s.Own) == 1 })
	assert.True(t, s.Own[0].Learnt)
	assert.Contains(t, s.Own[0].Revision, "+6.")
	b.until("it is picked", func(s state.State) bool { return s.Draft.ModelID == s.Own[0].SHA256 })
	text, err := b.storage.Model(s.Own[0].SHA256)
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	assert.True(t, learn.From(m))
	unit, _, err := b.storage.Unit("01J0000000000000000000TE00")
	require.NoError(t, err)
	assert.NotContains(t, unit.Head, m.SHA256, "a unit under way keeps its model")

	b.send(state.ForgetModel{SHA256: m.SHA256})
	b.until("the numbers are as shipped again", func(s state.State) bool { return len(s.Own) == 0 })
}

// putUnit stores a unit whose first start asks for a disc and whose cause was a dirty lens.
func (b *bench) putUnit(t *testing.T, id string) {
	t.Helper()
	var m *model.Model
	b.send(state.PickModel{ID: "top-loader"})
	s := b.until("the model is there", func(s state.State) bool { return s.Draft.Model != nil })
	m = s.Draft.Model
	at := "2026-03-04T10:00:00Z"
	tr := trail.Trail{ID: id, Created: at, Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256}, Unit: trail.Unit{Label: id}, Terms: trail.Terms{Currency: "EUR"},
		Events: []trail.Event{
			{N: 1, At: at, Kind: trail.Result, Test: m.Tests[m.Intake].ID, Outcome: m.Tests[m.Intake].Outcomes[1].ID},
			{N: 2, At: at, Kind: trail.End, As: trail.SignedOff, Causes: []model.ModeID{m.Modes[0].ID}},
		}}
	events := browser.OfEvents(id, tr.Events)
	require.NoError(t, b.storage.Create(browser.OfUnit(&tr), browser.OfModel(m), events, browser.CardRecord{ID: id}))
}
