package state_test

import (
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// example is the three-part model of the formats page.
func example(t *testing.T) *model.Model {
	t.Helper()
	text, err := os.ReadFile("../../engine/model/testdata/example.json")
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	return m
}

func ready() state.State {
	s, _ := state.Update(state.State{}, state.Started{Lang: "en", Theme: state.ThemeAuto})
	s, _ = state.Update(s, state.Listed{Models: []catalog.Entry{{ID: "example", Title: "Example"}}})
	return s
}

// onUnit is the state with a unit on the screen: a result, recorded.
func onUnit(t *testing.T) state.State {
	t.Helper()
	m := example(t)
	s := ready()
	s, _ = state.Update(s, state.Navigated{Path: "/unit/U1"})
	s, _ = state.Update(s, state.Opened{Model: m, Trail: &trail.Trail{
		ID: "U1", Created: "2026-03-04T10:11:12Z",
		Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Unit:  trail.Unit{Label: "Grey one"}, Terms: trail.Terms{Currency: "EUR"},
		Events: []trail.Event{{N: 1, At: "2026-03-04T10:12:00Z", Kind: trail.Result, Test: "first-boot", Outcome: "asks"}},
	}})
	s, _ = state.Update(s, state.Reckoned{ID: "U1", Turn: s.Unit.Turn, Account: &trail.Account{}})
	s, _ = state.Update(s, state.Thought{ID: "U1", Turn: s.Unit.Turn, Settled: true, Proposals: []plan.Proposal{
		{Step: plan.Step{Kind: plan.DoTest, Index: index(t, m, "rail")}, Way: []model.Move{{Setup: 1}}},
		{Step: plan.Step{Kind: plan.DoTest, Index: index(t, m, "first-boot")}},
		{Step: plan.Step{Kind: plan.SignOff}},
	}})
	return s
}

func index(t *testing.T, m *model.Model, id model.TestID) int {
	t.Helper()
	test, ok := m.Test(id)
	require.True(t, ok)
	return test.Index
}

// cleaned is the answer to a repair recorded as the second event of the unit.
var cleaned = state.Appended{ID: "U1", Events: []trail.Event{{N: 2, At: "2026-03-04T10:15:00Z", Kind: trail.Repair, Repair: "clean-lens"}}}

// play sends messages one after another and returns the last answer.
func play(s state.State, msgs ...state.Msg) (state.State, []state.Effect) {
	var effects []state.Effect
	for _, m := range msgs {
		s, effects = state.Update(s, m)
	}
	return s, effects
}

// stored answers the Append among the effects as a storage would.
func stored(t *testing.T, effects []state.Effect) state.Appended {
	t.Helper()
	for _, e := range effects {
		if a, ok := e.(state.Append); ok {
			events := append([]trail.Event(nil), a.Events...)
			for i := range events {
				events[i].At = "2026-03-04T10:20:00Z"
			}
			return state.Appended{ID: a.ID, Events: events}
		}
	}
	require.Fail(t, "nothing was to be stored", "%#v", effects)
	return state.Appended{}
}

func TestWhatATapAsksToBeStored(t *testing.T) {
	x := 4.74
	for _, row := range []struct {
		name string
		msgs []state.Msg
		want []trail.Event // nil: nothing may be stored
	}{
		{
			name: "an outcome is a result of its test",
			msgs: []state.Msg{state.SawOutcome{Test: "first-boot", Outcome: "still"}},
			want: []trail.Event{{N: 2, Kind: trail.Result, Test: "first-boot", Outcome: "still"}},
		},
		{
			name: "a typed number is a reading of the test at hand",
			msgs: []state.Msg{state.SetEntry{Text: "4.74"}, state.SendEntry{}},
			want: []trail.Event{{N: 2, Kind: trail.Result, Test: "rail", Reading: &x}},
		},
		{
			name: "a decimal comma is the same number",
			msgs: []state.Msg{state.SetEntry{Text: "4,74"}, state.SendEntry{}},
			want: []trail.Event{{N: 2, Kind: trail.Result, Test: "rail", Reading: &x}},
		},
		{
			name: "what is no number is not stored",
			msgs: []state.Msg{state.SetEntry{Text: "4.7.4"}, state.SendEntry{}},
		},
		{
			name: "a number is not stored while the test at hand takes none",
			msgs: []state.Msg{
				state.Choose{Step: plan.Step{Kind: plan.DoTest, Index: 0}}, state.SetEntry{Text: "4.74"}, state.SendEntry{},
			},
		},
		{
			name: "a move is a setup event",
			msgs: []state.Msg{state.Move{To: "open"}},
			want: []trail.Event{{N: 2, Kind: trail.Setup, Setup: "open"}},
		},
		{
			name: "a repair is a repair event",
			msgs: []state.Msg{state.Repaired{ID: "clean-lens"}},
			want: []trail.Event{{N: 2, Kind: trail.Repair, Repair: "clean-lens"}},
		},
		{
			name: "taking back is a void of the event",
			msgs: []state.Msg{state.TakeBack{N: 1}},
			want: []trail.Event{{N: 2, Kind: trail.Void, Of: 1}},
		},
		{
			name: "taking back what is not there stores nothing",
			msgs: []state.Msg{state.TakeBack{N: 2}},
		},
		{
			name: "not now is a skip of the test at hand with its reason",
			msgs: []state.Msg{state.OpenSheet{Sheet: state.SheetSkip}, state.SetText{Text: " no meter today "}, state.ConfirmSheet{}},
			want: []trail.Event{{N: 2, Kind: trail.Skip, Test: "rail", Reason: "no meter today"}},
		},
		{
			name: "an empty note is not stored",
			msgs: []state.Msg{state.OpenSheet{Sheet: state.SheetNote}, state.SetText{Text: "  "}, state.ConfirmSheet{}},
		},
		{
			name: "a sign-off carries the causes that were ticked",
			msgs: []state.Msg{
				state.OpenSheet{Sheet: state.SheetSignOff}, state.SetCause{Mode: "lens.dirty", On: true},
				state.SetCause{Mode: "supply.low", On: true}, state.SetCause{Mode: "supply.low", On: false}, state.ConfirmSheet{},
			},
			want: []trail.Event{{N: 2, Kind: trail.End, As: trail.SignedOff, Causes: []model.ModeID{"lens.dirty"}}},
		},
		{
			name: "a sign-off after a repair says nothing of the causes that nobody said",
			msgs: []state.Msg{state.Repaired{ID: "clean-lens"}, cleaned, state.OpenSheet{Sheet: state.SheetSignOff}, state.ConfirmSheet{}},
			want: []trail.Event{{N: 3, Kind: trail.End, As: trail.SignedOff}},
		},
		{
			name: "nor does a write-off",
			msgs: []state.Msg{state.Repaired{ID: "clean-lens"}, cleaned, state.OpenSheet{Sheet: state.SheetWrite}, state.ConfirmSheet{}},
			want: []trail.Event{{N: 3, Kind: trail.End, As: trail.WrittenOff}},
		},
		{
			name: "nor a return, and what was ticked for another end is not carried over",
			msgs: []state.Msg{
				state.Repaired{ID: "clean-lens"}, cleaned, state.OpenSheet{Sheet: state.SheetSignOff}, state.SetCause{Mode: "lens.dirty", On: true},
				state.OpenSheet{}, state.OpenSheet{Sheet: state.SheetReturn}, state.ConfirmSheet{},
			},
			want: []trail.Event{{N: 3, Kind: trail.End, As: trail.Returned}},
		},
		{
			name: "a second tap while the first is being stored is dropped",
			msgs: []state.Msg{state.Move{To: "open"}, state.SawOutcome{Test: "first-boot", Outcome: "still"}},
		},
		{
			name: "confirming with no sheet open stores nothing",
			msgs: []state.Msg{state.ConfirmSheet{}},
		},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, effects := play(onUnit(t), row.msgs...)
			var got []trail.Event
			for _, e := range effects {
				if a, ok := e.(state.Append); ok {
					got = a.Events
				}
			}
			assert.Equal(t, row.want, got)
		})
	}
}

func TestNothingIsShownAsRecordedBeforeItIsStored(t *testing.T) {
	s, effects := state.Update(onUnit(t), state.SawOutcome{Test: "first-boot", Outcome: "still"})
	assert.Len(t, s.Unit.Trail.Events, 1, "the trail grew before the storage answered")
	assert.True(t, s.Unit.Saving)
	assert.NotEqual(t, state.NoticeRecorded, s.Notice.Kind)

	s, effects = state.Update(s, stored(t, effects))
	assert.Len(t, s.Unit.Trail.Events, 2)
	assert.False(t, s.Unit.Saving)
	assert.Equal(t, state.NoticeRecorded, s.Notice.Kind)
	assert.Equal(t, 2, s.Notice.N)
	assert.Nil(t, s.Unit.Account, "the old odds are gone")
	assert.Empty(t, s.Unit.Proposals, "the old proposals are gone")
	assert.Contains(t, effects, state.Reckon{ID: "U1", Turn: s.Unit.Turn, Trail: s.Unit.Trail, Model: s.Unit.Model})
}

func TestUpdateDoesNotTouchTheStateItWasGiven(t *testing.T) {
	before := onUnit(t)
	unit, events := *before.Unit, append([]trail.Event(nil), before.Unit.Trail.Events...)
	s, effects := state.Update(before, state.Move{To: "open"})
	s, _ = play(s, stored(t, effects), state.Tick{Mark: "a", On: true}, state.Acknowledge{IDs: []model.CautionID{"mains"}})
	_, effects = state.Update(s, state.TakeBack{N: 1})
	_, _ = state.Update(s, stored(t, effects))
	assert.Equal(t, unit, *before.Unit)
	assert.Equal(t, events, before.Unit.Trail.Events)
}

// Who slipped answers once more: the question stands where it stood.
func TestAnAnswerTakenBackIsAskedAgain(t *testing.T) {
	s, effects := state.Update(onUnit(t), state.SawOutcome{Test: "first-boot", Outcome: "still"})
	s, effects = play(s, stored(t, effects), state.TakeBack{N: 2})
	s, _ = state.Update(s, stored(t, effects))
	test, ok := s.Unit.Model.Test("first-boot")
	require.True(t, ok)
	assert.True(t, s.Unit.HasChosen)
	assert.Equal(t, plan.Step{Kind: plan.DoTest, Index: test.Index}, s.Unit.Chosen)
	s, effects = state.Update(s, state.TakeBack{N: 3})
	s, _ = state.Update(s, stored(t, effects))
	assert.False(t, s.Unit.HasChosen, "brought back, it is answered")
}

func TestTheStorageRefuses(t *testing.T) {
	fail := func(t *testing.T, effects []state.Effect, trouble state.Trouble) state.AppendFailed {
		a := stored(t, effects)
		return state.AppendFailed{ID: a.ID, Events: a.Events, Trouble: trouble, Detail: "no room"}
	}
	t.Run("what was tapped stays in memory and is offered again", func(t *testing.T) {
		s, effects := state.Update(onUnit(t), state.Move{To: "open"})
		s, _ = state.Update(s, fail(t, effects, state.TroubleFull))
		assert.Equal(t, 1, s.Unit.Unsaved)
		assert.Len(t, s.Unit.Trail.Events, 2)
		assert.Equal(t, state.TroubleFull, s.Storage.Trouble)
		assert.NotEqual(t, state.NoticeRecorded, s.Notice.Kind)

		// The next tap tries both, in one go.
		s, effects = state.Update(s, state.Repaired{ID: "clean-lens"})
		both := stored(t, effects)
		require.Len(t, both.Events, 2)
		assert.Equal(t, []int{2, 3}, []int{both.Events[0].N, both.Events[1].N})
		s, _ = state.Update(s, both)
		assert.Zero(t, s.Unit.Unsaved)
		assert.Len(t, s.Unit.Trail.Events, 3)
		assert.Equal(t, state.NoTrouble, s.Storage.Trouble)
	})
	t.Run("storing again is one tap", func(t *testing.T) {
		s, effects := state.Update(onUnit(t), state.Move{To: "open"})
		s, _ = state.Update(s, fail(t, effects, state.TroubleFull))
		s, effects = state.Update(s, state.SaveAgain{})
		s, _ = state.Update(s, stored(t, effects))
		assert.Zero(t, s.Unit.Unsaved)
		assert.Len(t, s.Unit.Trail.Events, 2)
	})
	t.Run("another window was first: nothing is kept, the trail is read again", func(t *testing.T) {
		s, effects := state.Update(onUnit(t), state.Move{To: "open"})
		s, effects = state.Update(s, fail(t, effects, state.TroubleClash))
		assert.Len(t, s.Unit.Trail.Events, 1)
		assert.Zero(t, s.Unit.Unsaved)
		assert.Equal(t, state.NoticeClash, s.Notice.Kind)
		assert.Contains(t, effects, state.Open{ID: "U1"})
	})
	t.Run("another window was first while some is only in memory: that is put after what it wrote", func(t *testing.T) {
		s, effects := state.Update(onUnit(t), state.Move{To: "open"})
		s, _ = state.Update(s, fail(t, effects, state.TroubleFull))
		s, effects = state.Update(s, state.TakeBack{N: 2})
		s, _ = state.Update(s, fail(t, effects, state.TroubleFull))
		require.Equal(t, 2, s.Unit.Unsaved)
		s, effects = state.Update(s, state.SaveAgain{})
		s, effects = state.Update(s, fail(t, effects, state.TroubleClash))
		assert.Contains(t, effects, state.Open{ID: "U1"})
		require.Equal(t, 2, s.Unit.Unsaved, "what was in memory only is gone")
		theirs := *s.Unit.Trail
		theirs.Events = append(append([]trail.Event(nil), theirs.Events[:1]...),
			trail.Event{N: 2, At: "2026-03-04T10:15:00Z", Kind: trail.Note, Text: "from the other window"})
		s, _ = state.Update(s, state.Opened{Trail: &theirs, Model: s.Unit.Model})
		require.Len(t, s.Unit.Trail.Events, 4)
		assert.Equal(t, trail.Note, s.Unit.Trail.Events[1].Kind)
		assert.Equal(t, trail.Setup, s.Unit.Trail.Events[2].Kind)
		assert.Equal(t, 3, s.Unit.Trail.Events[2].N)
		assert.Equal(t, 3, s.Unit.Trail.Events[3].Of, "the void still names its event")
		assert.Equal(t, 2, s.Unit.Unsaved)
	})
	t.Run("a new unit that is not stored lives in memory", func(t *testing.T) {
		s := ready()
		s, _ = state.Update(s, state.Navigated{Path: "/new"})
		s, _ = state.Update(s, state.ModelLoaded{ID: "example", Model: example(t)})
		made := &trail.Trail{ID: "U9", Events: []trail.Event{{N: 1, Kind: trail.Result, Test: "first-boot", Outcome: "asks"}}}
		s, effects := state.Update(s, state.CreateFailed{Trouble: state.TroubleDenied, Trail: made})
		require.NotNil(t, s.Unit)
		assert.Equal(t, 1, s.Unit.Unsaved)
		assert.Contains(t, effects, state.GoTo{Path: "/unit/U9"})
		// Arriving there must not throw it away.
		s, effects = state.Update(s, state.Navigated{Path: "/unit/U9"})
		require.NotNil(t, s.Unit)
		assert.NotContains(t, effects, state.Open{ID: "U9"})
	})
}

func TestAnOldAnswerIsDropped(t *testing.T) {
	s, effects := state.Update(onUnit(t), state.Move{To: "open"})
	old := s.Unit.Turn
	s, _ = state.Update(s, stored(t, effects))
	require.NotEqual(t, old, s.Unit.Turn)
	s, _ = play(s,
		state.Reckoned{ID: "U1", Turn: old, Account: &trail.Account{}},
		state.Thought{ID: "U1", Turn: old, Proposals: []plan.Proposal{{}}},
		state.Looked{ID: "U1", Turn: old, Doubts: []trail.Doubt{{N: 1}}},
	)
	assert.Nil(t, s.Unit.Account)
	assert.Empty(t, s.Unit.Proposals)
	assert.Nil(t, s.Unit.Doubts)
}

func TestTheAdviceDoesNotTurnRoundHalfway(t *testing.T) {
	s := onUnit(t)
	first, _ := s.Unit.Current()
	s, effects := state.Update(s, state.Move{To: "open"})
	s, _ = state.Update(s, stored(t, effects))
	// The planner would now rather do something else.
	s, _ = state.Update(s, state.Thought{ID: "U1", Turn: s.Unit.Turn, Settled: true, Proposals: []plan.Proposal{
		{Step: plan.Step{Kind: plan.SignOff}}, {Step: first.Step},
	}})
	p, ok := s.Unit.Current()
	require.True(t, ok)
	assert.Equal(t, first.Step, p.Step)
	assert.False(t, s.Unit.IsFirst())
	s, _ = state.Update(s, state.ChooseFirst{})
	p, _ = s.Unit.Current()
	assert.Equal(t, plan.SignOff, p.Step.Kind)
}

func TestCautionsComeBeforeStepsOnce(t *testing.T) {
	s := onUnit(t)
	p, _ := s.Unit.Current()
	cautions := s.Unit.Cautions(p)
	require.Len(t, cautions, 1, "the way inside and the test warn of the same: once")
	require.Len(t, s.Unit.Unread(cautions), 1)
	s, effects := state.Update(s, state.Acknowledge{IDs: []model.CautionID{"mains"}})
	assert.Empty(t, s.Unit.Unread(cautions))
	assert.Equal(t, []state.Effect{state.KeepMarks{ID: "U1", Marks: state.Marks{Seen: []model.CautionID{"mains"}}}}, effects)
}

func TestAUnitThatStandsOpenTellsItsDangersAsItStands(t *testing.T) {
	s := onUnit(t)
	s, effects := state.Update(s, state.Move{To: "open"})
	s, _ = state.Update(s, stored(t, effects))
	proof := plan.Step{Kind: plan.DoTest, Index: s.Unit.Model.Intake}
	s, _ = state.Update(s, state.Thought{ID: "U1", Turn: s.Unit.Turn, Settled: true, Proposals: []plan.Proposal{
		{Step: proof, Way: []model.Move{{Setup: 1, Leave: true}}},
	}})
	s, _ = state.Update(s, state.TryHere{Step: proof})
	p, ok := s.Unit.Current()
	require.True(t, ok)
	require.Empty(t, s.Unit.Way(p), "no way is taken to it")
	require.Len(t, s.Unit.Cautions(p), 1, "the cover is off while it is switched on")
	assert.EqualValues(t, "mains", s.Unit.Cautions(p)[0].ID)
}

func TestNotNowHoldsUntilTakenBackOrDone(t *testing.T) {
	m := example(t)
	rail := index(t, m, "rail")
	skip := trail.Event{N: 1, Kind: trail.Skip, Test: "rail"}
	for _, row := range []struct {
		name   string
		events []trail.Event
		want   bool
	}{
		{"skipped", []trail.Event{skip}, true},
		{"taken back", []trail.Event{skip, {N: 2, Kind: trail.Void, Of: 1}}, false},
		{"done after all", []trail.Event{skip, {N: 2, Kind: trail.Result, Test: "rail", Outcome: "low"}}, false},
		{"done, and that taken back", []trail.Event{skip, {N: 2, Kind: trail.Result, Test: "rail", Outcome: "low"}, {N: 3, Kind: trail.Void, Of: 2}}, true},
		{"skipped again", []trail.Event{skip, {N: 2, Kind: trail.Result, Test: "rail", Outcome: "low"}, {N: 3, Kind: trail.Skip, Test: "rail"}}, true},
	} {
		t.Run(row.name, func(t *testing.T) {
			u := bench.Unit{Model: m, Trail: &trail.Trail{Events: row.events}}
			assert.Equal(t, row.want, u.Skipped()[rail])
		})
	}
}

func TestTakingAUnitIn(t *testing.T) {
	intake := func(t *testing.T) state.State {
		s, effects := state.Update(ready(), state.Navigated{Path: "/new"})
		require.Contains(t, effects, state.LoadModel{ID: "example"})
		s, _ = state.Update(s, state.ModelLoaded{ID: "example", Model: example(t)})
		return s
	}
	t.Run("the models may be listed after the person came here", func(t *testing.T) {
		s, _ := state.Update(state.State{}, state.Started{Lang: "en"})
		s, effects := state.Update(s, state.Navigated{Path: "/new"})
		require.NotContains(t, effects, state.LoadModel{ID: "example"})
		_, effects = state.Update(s, state.Listed{Models: []catalog.Entry{{ID: "example", Title: "Example"}}})
		assert.Contains(t, effects, state.LoadModel{ID: "example"})
	})
	t.Run("starting too early says what is missing and stores nothing", func(t *testing.T) {
		s, effects := state.Update(intake(t), state.StartUnit{})
		assert.True(t, s.Draft.Tried)
		assert.Empty(t, effects)
	})
	t.Run("a whole draft becomes a unit whose first event is what it does", func(t *testing.T) {
		s, effects := play(intake(t),
			state.SetLabel{Text: " Shelf 3 "}, state.Answer{Test: "first-boot", Outcome: "asks"}, state.SetTool{ID: "multimeter", On: true},
			state.SetTerm{Term: state.TermMinute, Text: "0,5"}, state.StartUnit{})
		c := effects[0].(state.Create)
		assert.Equal(t, "Shelf 3", c.Trail.Unit.Label)
		assert.Equal(t, 0.5, c.Trail.Terms.MinuteValue)
		assert.Equal(t, []trail.Event{{N: 1, Kind: trail.Result, Test: "first-boot", Outcome: "asks"}}, c.Trail.Events)
		assert.Equal(t, c.Model.SHA256, c.Trail.Model.SHA256)
		_, again := state.Update(s, state.StartUnit{})
		assert.Empty(t, again, "a second tap starts no second unit")
	})
	t.Run("an amount that is no number or below zero holds the start back", func(t *testing.T) {
		for _, text := range []string{"", "x", "-1", "1,000"} {
			_, effects := play(intake(t), state.SetLabel{Text: "A"}, state.Answer{Test: "first-boot", Outcome: "asks"},
				state.SetTerm{Term: state.TermWorking, Text: text}, state.StartUnit{})
			assert.Empty(t, effects, "%q", text)
		}
	})
	t.Run("another currency changes only the amounts that were not typed", func(t *testing.T) {
		s, _ := play(intake(t), state.SetTerm{Term: state.TermWorking, Text: "55"}, state.SetCurrency{Code: "JPY"})
		assert.Equal(t, "55", s.Draft.Terms[state.TermWorking])
		assert.Equal(t, "25", s.Draft.Terms[state.TermMinute])
	})
	t.Run("another kind of drive forgets what was seen of the first", func(t *testing.T) {
		s, effects := play(intake(t), state.Answer{Test: "first-boot", Outcome: "asks"}, state.PickModel{ID: "other"})
		assert.Empty(t, s.Draft.Answers)
		assert.Equal(t, state.LoadModel{ID: "other"}, effects[0])
		s, _ = state.Update(s, state.ModelLoaded{ID: "example", Model: example(t)})
		assert.Nil(t, s.Draft.Model, "a model that came too late is not taken")
	})
}

func TestTheBenchTimerOutlivesThePage(t *testing.T) {
	s, effects := state.Update(onUnit(t), state.StartTimer{Minutes: 5})
	assert.Equal(t, []state.Effect{state.RunTimer{ID: "U1", Minutes: 5}}, effects)
	s, effects = state.Update(s, state.Ticked{ID: "U1", End: "2026-03-04T12:00:00Z", Left: 300})
	assert.Equal(t, []state.Effect{state.KeepMarks{ID: "U1", Marks: state.Marks{Timer: "2026-03-04T12:00:00Z"}}}, effects, "its end is stored once")
	s, effects = state.Update(s, state.Ticked{ID: "U1", End: "2026-03-04T12:00:00Z", Left: 299})
	assert.Empty(t, effects)
	assert.Equal(t, 299, s.Unit.Left)

	_, effects = state.Update(s, state.Opened{Trail: s.Unit.Trail, Model: s.Unit.Model, Marks: s.Unit.Marks})
	assert.Contains(t, effects, state.RunTimer{ID: "U1", End: "2026-03-04T12:00:00Z"})

	done, effects := state.Update(s, state.Ticked{ID: "U1", End: "2026-03-04T12:00:00Z"})
	assert.Equal(t, state.NoticeTimeUp, done.Notice.Kind)
	assert.Empty(t, done.Unit.Marks.Timer)
	assert.Contains(t, effects, state.StopTimer{})
	stopped, effects := state.Update(s, state.StartTimer{})
	assert.Empty(t, stopped.Unit.Marks.Timer)
	assert.Contains(t, effects, state.StopTimer{})
}

func TestAnotherLanguageRewordsWhatIsShippedAndNothingElse(t *testing.T) {
	m, err := catalog.Load("tray")
	require.NoError(t, err)
	s := ready()
	s, _ = play(s, state.Listed{Models: []catalog.Entry{{ID: "tray", Title: m.Title}}}, state.Navigated{Path: "/new"}, state.ModelLoaded{ID: "tray", Model: m})
	require.Equal(t, m.Title, s.Draft.Model.Title)
	s, _ = play(s, state.ChooseLang{Lang: "de"})
	german := s.Draft.Model
	assert.NotEqual(t, m.Title, german.Title)
	assert.Equal(t, m.SHA256, german.SHA256)

	s, _ = play(s, state.Navigated{Path: "/unit/U2"}, state.Opened{Model: m, Trail: &trail.Trail{ID: "U2", Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256}}})
	assert.Equal(t, german.Tests[0].Title, s.Unit.Model.Tests[0].Title, "also what is opened later")
	s, _ = play(s, state.BenchRead{Cards: []state.Card{{ID: "U2", ModelID: "tray", Model: m.Title}, {ID: "U3", ModelID: "mine", Model: "My own"}}})
	assert.Equal(t, german.Title, s.Shown()[0].Model)
	assert.Equal(t, "My own", s.Shown()[1].Model)
	s, _ = play(s, state.SearchBench{Text: german.Title})
	assert.Len(t, s.Shown(), 1, "the search finds what is shown")
	s, _ = play(s, state.ChooseLang{Lang: "en"})
	assert.Equal(t, m.Tests[0].Title, s.Unit.Model.Tests[0].Title)
}

func TestAnUnknownMessageChangesNothing(t *testing.T) {
	before := onUnit(t)
	after, effects := state.Update(before, struct{ Odd int }{1})
	assert.Equal(t, before, after)
	assert.Empty(t, effects)
}

// TestWhatAnotherWindowRecordsMeanwhileIsReadLater: hearing of it while an event is on
// its way must not be forgotten.
func TestWhatAnotherWindowRecordsMeanwhileIsReadLater(t *testing.T) {
	s, effects := play(onUnit(t), state.SawOutcome{Test: "first-boot", Outcome: "still"})
	answer := stored(t, effects)
	s, effects = play(s, state.Elsewhere{ID: "U1"})
	assert.Equal(t, []state.Effect{state.ReadBench{Lang: "en"}}, effects)
	require.True(t, s.Unit.Saving)
	reread, _ := play(s, state.Opened{Trail: s.Unit.Trail, Model: s.Unit.Model})
	assert.True(t, reread.Unit.Saving, "reading again does not end what is on its way")
	s, effects = play(s, answer)
	assert.Contains(t, effects, state.Open{ID: "U1"})
	assert.False(t, s.Unit.Saving)
	_, effects = play(s, state.Opened{Trail: s.Unit.Trail, Model: s.Unit.Model})
	assert.NotContains(t, effects, state.Open{ID: "U1"}, "once is enough")
}

// TestWhatIsFollowedIsNoChoiceOfTheirs takes the way that a proposal asks for: it is kept at, and is no other choice.
func TestWhatIsFollowedIsNoChoiceOfTheirs(t *testing.T) {
	s, _ := play(onUnit(t), state.Move{To: "open"})
	assert.True(t, s.Unit.HasChosen)
	assert.True(t, s.Unit.OnTheWay)
	s, _ = play(s, state.Choose{Step: plan.Step{Kind: plan.SignOff}})
	assert.False(t, s.Unit.OnTheWay)
}

// TestAClosedUnitIsAskedWhatGoesFirstNow: what closing may have broken, or a proof, goes before what it was closed for.
func TestAClosedUnitIsAskedWhatGoesFirstNow(t *testing.T) {
	aim := func(s state.State) plan.Step {
		p, ok := s.Unit.Current()
		require.True(t, ok)
		return p.Step
	}
	for _, row := range []struct {
		to   model.SetupID
		kept bool
	}{{"closed", false}, {"open", true}} {
		s, _ := play(onUnit(t), state.Move{To: row.to})
		wanted := aim(s)
		events := append(slices.Clone(s.Unit.Trail.Events), trail.Event{N: 2, At: "2026-03-04T10:13:00Z", Kind: trail.Setup, Setup: row.to})
		tr := *s.Unit.Trail
		tr.Events = events
		s, _ = play(s, state.Opened{Trail: &tr, Model: s.Unit.Model})
		other := plan.Step{Kind: plan.DoTest, Index: index(t, s.Unit.Model, "first-boot")}
		require.NotEqual(t, wanted, other)
		s, _ = play(s, state.Thought{ID: "U1", Turn: s.Unit.Turn, Settled: true, Proposals: []plan.Proposal{{Step: other}, {Step: wanted}}})
		if row.kept {
			assert.Equal(t, wanted, aim(s), row.to)
		} else {
			assert.Equal(t, other, aim(s), row.to)
		}
	}
}

func TestALanguageWhoseWordsAreNotHereIsFetchedFirst(t *testing.T) {
	s, effects := state.Update(ready(), state.ChooseLang{Lang: "xx"})
	assert.Equal(t, []state.Effect{state.FetchWords{Lang: "xx"}}, effects)
	assert.Equal(t, "en", s.Lang)
	assert.Equal(t, "xx", s.Wanted)
	s, _ = state.Update(s, state.WordsMissing{})
	assert.Equal(t, "en", s.Lang)
	assert.Empty(t, s.Wanted)
	assert.Equal(t, state.TroubleWords, s.Notice.Trouble)
}

// TestWhatIsTakenBackIsNoMoreDoneInPlace: who takes back what was tried as the unit stood follows the whole way to
// the next proposal.
func TestWhatIsTakenBackIsNoMoreDoneInPlace(t *testing.T) {
	s, _ := play(onUnit(t), state.TryHere{Step: plan.Step{Kind: plan.DoTest, Index: 0}})
	s, effects := play(s, state.TakeBack{N: 1})
	s, _ = play(s, stored(t, effects))
	way := []model.Move{{Setup: 2, Leave: true}, {Setup: 1, Leave: true}}
	proof := plan.Step{Kind: plan.DoTest, Index: 0}
	s, _ = play(s, state.Thought{ID: "U1", Turn: s.Unit.Turn, Settled: true, Proposals: []plan.Proposal{{Step: proof, Way: way}}})
	s, _ = play(s, state.Move{To: "open"})
	p, ok := s.Unit.Current()
	require.True(t, ok)
	assert.Equal(t, way, s.Unit.Way(p))
}

func TestWhatWasRecordedIsSaidOnItsUnitAlone(t *testing.T) {
	s, effects := play(onUnit(t), state.SawOutcome{Test: "first-boot", Outcome: "still"})
	s, _ = play(s, stored(t, effects), state.Navigated{Path: "/unit/U1/odds"})
	assert.Equal(t, state.NoticeRecorded, s.Notice.Kind)
	s, _ = play(s, state.Navigated{Path: "/settings"})
	assert.Equal(t, state.NoNotice, s.Notice.Kind)
}
