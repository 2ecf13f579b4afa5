package state_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// TestTheCounterSuitsRunsOfTheWholeUnit holds the rule against the shipped models, whose
// tests were looked through by hand.
func TestTheCounterSuitsRunsOfTheWholeUnit(t *testing.T) {
	for _, e := range catalog.Models() {
		m, err := catalog.Load(e.ID)
		require.NoError(t, err)
		for id, want := range map[model.TestID]bool{
			"first-boot": true, "known-disc": true, "five-starts": true, "where-fails": true,
			"lens-look": false, "motor-rest": false, "sled-hand": false, "disc-look": false, "feel-case": false, "no-disc": false,
		} {
			test, ok := m.Test(id)
			require.True(t, ok, "%s has no test %s", e.ID, id)
			assert.Equal(t, want, state.Soaks(m, test), "%s: %s", e.ID, id)
		}
	}
}

func TestCountsStandForAResult(t *testing.T) {
	m, err := catalog.Load("top-loader")
	require.NoError(t, err)
	five, _ := m.Test("five-starts")
	known, _ := m.Test("known-disc")
	for _, row := range []struct {
		name string
		runs string
		test *model.Test
		want model.OutcomeID // "" for none
	}{
		{"five good starts of five", "+++++", five, "five"},
		{"four good starts are not five", "++++", five, ""},
		{"one failed among good ones", "+-", five, "some"},
		{"the order does not matter", "----+", five, "some"},
		{"all failed", "-----", five, "none"},
		{"a failed start or two are not enough", "--", five, ""},
		{"nothing counted", "", five, ""},
		{"all good where failures differ", "++++++", known, "boots"},
		{"which way it failed only the person has seen", "+++-++", known, ""},
		{"all failed, in some way", "-------", known, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			i, ok := state.Soak{Test: row.test.ID, Runs: row.runs}.Fits(row.test)
			require.Equal(t, row.want != "", ok)
			if ok {
				assert.Equal(t, row.want, row.test.Outcomes[i].ID)
			}
		})
	}
	_, ok := state.Soak{Test: "known-disc", Runs: "+++++"}.Fits(five)
	assert.False(t, ok, "counts of another test")
}

func TestTheCounterOutlivesThePageAndLeavesNoTrace(t *testing.T) {
	s, effects := state.Update(onUnit(t), state.StartSoak{Test: "first-boot"})
	assert.Equal(t, []state.Effect{state.RunSoak{ID: "U1"}}, effects)
	s, effects = state.Update(s, state.Soaked{ID: "U1", Since: "2026-03-04T12:00:00Z"})
	assert.Equal(t, []state.Effect{state.KeepMarks{ID: "U1", Marks: s.Unit.Marks}}, effects, "its start is stored once")
	s, effects = state.Update(s, state.Soaked{ID: "U1", Since: "2026-03-04T12:00:00Z", Seconds: 61})
	assert.Empty(t, effects)
	assert.Equal(t, 61, s.Unit.Soaked)

	for _, good := range []bool{true, true, false, true} {
		s, effects = state.Update(s, state.CountRun{Good: good})
		assert.Equal(t, []state.Effect{state.KeepMarks{ID: "U1", Marks: s.Unit.Marks}}, effects, "each run is stored")
	}
	s, _ = state.Update(s, state.UndoRun{})
	assert.Equal(t, 2, s.Unit.Marks.Soak.Good())
	assert.Equal(t, 1, s.Unit.Marks.Soak.Failed())
	assert.Len(t, s.Unit.Trail.Events, 1, "a count is no evidence")

	// Stored and read again, as by a page loaded anew.
	text, err := json.Marshal(s.Unit.Marks)
	require.NoError(t, err)
	var marks state.Marks
	require.NoError(t, json.Unmarshal(text, &marks))
	again := onUnit(t)
	again, effects = state.Update(again, state.Opened{Trail: again.Unit.Trail, Model: again.Unit.Model, Marks: marks})
	assert.Contains(t, effects, state.RunSoak{ID: "U1", Since: "2026-03-04T12:00:00Z"})
	assert.Equal(t, s.Unit.Marks.Soak, again.Unit.Marks.Soak)

	s, effects = state.Update(again, state.EndSoak{})
	assert.Contains(t, effects, state.StopSoak{})
	assert.Zero(t, s.Unit.Marks.Soak)
	_, effects = state.Update(s, state.CountRun{Good: true})
	assert.Empty(t, effects, "there is nothing to count")
}

func TestTheCounterEndsWithWhatItCountsFor(t *testing.T) {
	for _, row := range []struct {
		name  string
		event trail.Event
		over  bool
	}{
		{"the result of its test", trail.Event{Kind: trail.Result, Test: "first-boot", Outcome: "boots"}, true},
		{"a repair makes another unit of it", trail.Event{Kind: trail.Repair, Repair: "clean-lens"}, true},
		{"the end of the unit", trail.Event{Kind: trail.End, As: trail.SignedOff}, true},
		{"a note of the counts", trail.Event{Kind: trail.Note, Text: "4 of 5"}, false},
		{"another result", trail.Event{Kind: trail.Result, Test: "rail", Outcome: "right"}, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			s, _ := state.Update(onUnit(t), state.StartSoak{Test: "first-boot"})
			s, _ = state.Update(s, state.CountRun{Good: true})
			row.event.N, row.event.At = 2, "2026-03-04T12:00:00Z"
			s, effects := state.Update(s, state.Appended{ID: "U1", Events: []trail.Event{row.event}})
			assert.Equal(t, row.over, s.Unit.Marks.Soak.Test == "")
			if row.over {
				assert.Contains(t, effects, state.StopSoak{})
			} else {
				assert.NotContains(t, effects, state.StopSoak{})
			}
		})
	}
}

func TestTheCounterEndsSomewhere(t *testing.T) {
	s, _ := state.Update(onUnit(t), state.StartSoak{Test: "first-boot"})
	s.Unit.Marks.Soak.Runs = strings.Repeat("+", 999)
	s, effects := state.Update(s, state.CountRun{Good: true})
	assert.Empty(t, effects)
	assert.Equal(t, 999, s.Unit.Marks.Soak.Good())
}

func TestANoteMayBeginWithText(t *testing.T) {
	s, _ := state.Update(onUnit(t), state.OpenSheet{Sheet: state.SheetNote, Text: "4 good, 1 failed"})
	assert.Equal(t, "4 good, 1 failed", s.Unit.Text)
}
