package state_test

import (
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// second is the example with what version 2 brought: its intake test is a question to the owner.
func second(t *testing.T) *model.Model {
	t.Helper()
	text, err := os.ReadFile("../../engine/model/testdata/second.json")
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	return m
}

// kept returns what is to be kept under a setting by the last of the effects, false if nothing is.
func kept(effects []state.Effect, key string) (string, bool) {
	for _, e := range slices.Backward(effects) {
		if k, ok := e.(state.KeepSetting); ok && k.Key == key {
			return k.Value, true
		}
	}
	return "", false
}

func create(t *testing.T, effects []state.Effect) state.Create {
	t.Helper()
	for _, e := range effects {
		if c, ok := e.(state.Create); ok {
			return c
		}
	}
	require.Fail(t, "no unit is begun", "%#v", effects)
	return state.Create{}
}

// takingIn is the intake screen with a model chosen.
func takingIn(s state.State, m *model.Model) state.State {
	s, _ = play(s, state.Navigated{Path: "/new"}, state.PickModel{ID: m.ID}, state.ModelLoaded{ID: m.ID, Model: m}, state.SetLabel{Text: "Grey one"})
	return s
}

func TestWhatTheOwnerSaysIsAskedAtIntake(t *testing.T) {
	m := second(t)
	skips := state.Answer{Test: "story", Outcome: "skips"}
	t.Run("unanswered it costs nothing", func(t *testing.T) {
		s := takingIn(ready(), m)
		assert.Equal(t, []int{m.Intake}, s.Draft.Questions())
		assert.False(t, s.Draft.Needs(m.Intake))
		_, effects := play(s, state.StartUnit{})
		assert.Empty(t, create(t, effects).Trail.Events)
	})
	t.Run("one tap answers, another changes it, the same takes it back", func(t *testing.T) {
		s, _ := play(takingIn(ready(), m), skips)
		assert.EqualValues(t, "skips", s.Draft.Answers["story"])
		_, effects := play(s, state.StartUnit{})
		assert.Equal(t, []trail.Event{{N: 1, Kind: trail.Result, Test: "story", Outcome: "skips"}}, create(t, effects).Trail.Events)
		s, _ = play(s, state.Answer{Test: "story", Outcome: "dead"})
		assert.EqualValues(t, "dead", s.Draft.Outcome())
		s, _ = play(s, state.Answer{Test: "story", Outcome: "dead"})
		assert.Empty(t, s.Draft.Answers)
	})
	t.Run("the snapshot before keeps its answers", func(t *testing.T) {
		before, _ := play(takingIn(ready(), m), skips)
		_, _ = play(before, state.Answer{Test: "story", Outcome: "dead"})
		assert.EqualValues(t, "skips", before.Draft.Answers["story"])
	})
	t.Run("an intake test that is run must be seen", func(t *testing.T) {
		s := takingIn(ready(), example(t))
		_, effects := play(s, state.StartUnit{})
		assert.Empty(t, effects)
	})
	t.Run("an answer is welcome later, in place of an earlier one", func(t *testing.T) {
		s, _ := play(ready(), state.Navigated{Path: "/unit/U1"}, state.Opened{Model: m, Trail: &trail.Trail{ID: "U1", Events: []trail.Event{
			{N: 1, Kind: trail.Result, Test: "boot", Outcome: "asks"},
		}}})
		s, _ = play(s, state.Choose{Step: plan.Step{Kind: plan.DoTest, Index: 1}})
		s, effects := play(s, skips)
		said := stored(t, effects)
		require.Len(t, said.Events, 1)
		assert.EqualValues(t, "skips", said.Events[0].Outcome)
		s, _ = state.Update(s, said)
		assert.True(t, s.Unit.HasChosen, "what the owner tells ends no step")
		_, effects = play(s, state.Answer{Test: "story", Outcome: "dead"})
		got := stored(t, effects).Events
		require.Len(t, got, 2)
		assert.Equal(t, 2, got[0].Of)
		assert.EqualValues(t, "dead", got[1].Outcome)
		_, effects = play(s, skips)
		got = stored(t, effects).Events
		require.Len(t, got, 1, "the same again takes it back")
		assert.Equal(t, trail.Void, got[0].Kind)
		_, effects = play(s, state.Answer{Test: "boot", Outcome: "still"})
		assert.Empty(t, effects, "that is no question")
	})
}

func TestToolsAndTermsAreRememberedForTheNextUnit(t *testing.T) {
	m := example(t)
	s, _ := play(takingIn(ready(), m), state.Answer{Test: "first-boot", Outcome: "asks"}, state.SetTool{ID: "multimeter", On: true},
		state.SetTerm{Term: state.TermWorking, Text: "60"}, state.SetCurrency{Code: "CHF"})
	s, effects := play(s, state.StartUnit{})
	text, ok := kept(effects, "terms")
	require.True(t, ok)
	t.Run("on this device", func(t *testing.T) {
		s, _ := play(s, state.Created{Trail: &trail.Trail{ID: "U1"}})
		assert.Equal(t, []model.ToolID{"multimeter"}, s.Draft.Tools, "nothing to tick on the second")
		assert.Equal(t, "60", s.Draft.Terms[state.TermWorking])
		assert.Equal(t, "CHF", s.Draft.Currency)
		assert.Same(t, m, s.Draft.Model, "most benches see one kind again")
		assert.Empty(t, s.Draft.Label)
		assert.Empty(t, s.Draft.Answers)
	})
	t.Run("after the page is loaded anew", func(t *testing.T) {
		s, _ := state.Update(state.State{}, state.Started{Lang: "de", Terms: text})
		s = takingIn(s, m)
		assert.Equal(t, []model.ToolID{"multimeter"}, s.Draft.Tools)
		assert.Equal(t, "0,25", s.Draft.Terms[state.TermMinute], "in the language of the page")
	})
	t.Run("tools that only another model knows are not forgotten", func(t *testing.T) {
		before, _ := state.Update(state.State{}, state.Started{Lang: "en", Terms: `{"minute_value":1,"currency":"EUR","tools":["scope"],"working_value":1,"as_is_value":1,"comeback_cost":1}`})
		s, effects := play(takingIn(before, m), state.Answer{Test: "first-boot", Outcome: "asks"}, state.StartUnit{})
		assert.Empty(t, create(t, effects).Trail.Terms.Tools, "the unit's model has no scope")
		assert.Equal(t, []model.ToolID{"scope"}, s.Remembered.Tools)
	})
	t.Run("what does not read is left alone", func(t *testing.T) {
		s, _ := state.Update(state.State{}, state.Started{Lang: "en", Terms: `{"minute_value": "much"}`, Draft: `{"model": 3}`})
		assert.Equal(t, "0.25", s.Draft.Terms[state.TermMinute])
	})
}

func TestADraftSurvivesAReload(t *testing.T) {
	m := example(t)
	s, effects := play(takingIn(ready(), m), state.Answer{Test: "first-boot", Outcome: "asks"}, state.SetNotes{Text: "from a box"},
		state.SetTool{ID: "multimeter", On: true}, state.SetTerm{Term: state.TermWorking, Text: "6"})
	text, ok := kept(effects, "draft")
	require.True(t, ok)
	again, _ := state.Update(state.State{}, state.Started{Lang: "en", Draft: text})
	again, asked := play(again, state.Navigated{Path: "/new"})
	assert.Contains(t, asked, state.LoadModel{ID: m.ID})
	again, _ = play(again, state.ModelLoaded{ID: m.ID, Model: m})
	assert.Equal(t, s.Draft, again.Draft)

	t.Run("without what its model does not have any more", func(t *testing.T) {
		again, _ := state.Update(state.State{}, state.Started{Lang: "en", Draft: text})
		again, _ = play(again, state.Navigated{Path: "/new"}, state.ModelLoaded{ID: m.ID, Model: second(t)})
		assert.Empty(t, again.Draft.Answers, "no such test")
		assert.Equal(t, []model.ToolID{"multimeter"}, again.Draft.Tools)
	})
	t.Run("until the unit is begun", func(t *testing.T) {
		s, effects := play(s, state.StartUnit{}, state.Created{Trail: &trail.Trail{ID: "U1"}})
		text, ok := kept(effects, "draft")
		assert.True(t, ok)
		assert.Empty(t, text)
		assert.Empty(t, s.Draft.Label)
	})
	t.Run("the sample leaves it alone", func(t *testing.T) {
		s, effects := play(s, state.Created{Sample: true, Trail: &trail.Trail{ID: state.SampleID}})
		_, ok := kept(effects, "draft")
		assert.False(t, ok)
		assert.Equal(t, "Grey one", s.Draft.Label)
	})
}

func TestMoneyIsInOneCurrency(t *testing.T) {
	m := second(t)
	s := takingIn(ready(), m)
	assert.False(t, s.Draft.Asks(state.TermExchange, m), "the same currency needs no exchange")
	for _, code := range []string{"USD", "GBP", "JPY", "CHF", "CAD", "AUD", "MXN", "SEK", "PLN"} {
		t.Run(code, func(t *testing.T) {
			s, effects := play(s, state.SetCurrency{Code: code}, state.StartUnit{})
			require.True(t, s.Draft.Asks(state.TermExchange, m))
			terms := create(t, effects).Trail.Terms
			assert.Equal(t, code, terms.Currency)
			// Within a power of ten: what a belt costs must not be a hundredth of a minute's work.
			assert.InDelta(t, terms.MinuteValue/0.25, terms.Exchange, 1e-9, "parts and minutes scale together")
			u := bench.Unit{Model: m, Trail: &trail.Trail{Terms: terms}}
			assert.InDelta(t, 12*terms.Exchange, u.Money(12), 1e-9)
		})
	}
	s, _ = play(s, state.SetCurrency{Code: "JPY"}, state.SetTerm{Term: state.TermExchange, Text: "163"})
	_, effects := play(s, state.StartUnit{})
	assert.Equal(t, 163.0, create(t, effects).Trail.Terms.Exchange, "it is the person's to say")
	next, _ := play(s, state.StartUnit{}, state.Created{Trail: &trail.Trail{ID: "U1"}})
	assert.Equal(t, "163", next.Draft.Terms[state.TermExchange], "for the next unit too")
	text, _ := kept(effects, "terms")
	anew, _ := state.Update(state.State{}, state.Started{Lang: "en", Terms: text})
	assert.Equal(t, "163", takingIn(anew, m).Draft.Terms[state.TermExchange])
	for _, text := range []string{"", "0", "-3", "x"} {
		_, effects := play(s, state.SetTerm{Term: state.TermExchange, Text: text}, state.StartUnit{})
		assert.Empty(t, effects, "%q is no exchange", text)
	}
	s, effects = play(s, state.SetCurrency{Code: "EUR"}, state.StartUnit{})
	assert.Zero(t, create(t, effects).Trail.Terms.Exchange)
	assert.Empty(t, s.Draft.Terms[state.TermExchange])
}

func TestTheLifeOfAUnit(t *testing.T) {
	signedOff := state.Appended{ID: "U1", Events: []trail.Event{{N: 2, At: "2026-03-04T10:15:00Z", Kind: trail.End, As: trail.SignedOff}}}
	waits := state.Appended{ID: "U1", Events: []trail.Event{{N: 2, At: "2026-03-04T10:15:00Z", Kind: trail.Wait, For: "a belt"}}}
	terms := trail.Terms{MinuteValue: 0, Currency: "EUR", Tools: []model.ToolID{"multimeter"}}
	for _, row := range []struct {
		name string
		msgs []state.Msg
		want []trail.Event
	}{
		{"a tool that came to hand is an event", []state.Msg{state.OpenSheet{Sheet: state.SheetTerms}, state.SetTool{ID: "multimeter", On: true}, state.ConfirmSheet{}},
			[]trail.Event{{N: 2, Kind: trail.NewTerms, Terms: &terms}}},
		{"terms that stay as they are are none", []state.Msg{state.OpenSheet{Sheet: state.SheetTerms}, state.ConfirmSheet{}}, nil},
		{"terms that do not read are none", []state.Msg{state.OpenSheet{Sheet: state.SheetTerms}, state.SetTerm{Term: state.TermWorking, Text: "x"}, state.ConfirmSheet{}}, nil},
		{"without the sheet nothing is typed", []state.Msg{state.SetTool{ID: "multimeter", On: true}, state.OpenSheet{Sheet: state.SheetTerms}, state.ConfirmSheet{}}, nil},
		{"what it waits for", []state.Msg{state.OpenSheet{Sheet: state.SheetWait}, state.SetText{Text: " a belt "}, state.ConfirmSheet{}},
			[]trail.Event{{N: 2, Kind: trail.Wait, For: "a belt"}}},
		{"it waits for something", []state.Msg{state.OpenSheet{Sheet: state.SheetWait}, state.ConfirmSheet{}}, nil},
		{"what came ends the wait, and changes nothing else", []state.Msg{waits, state.EndWait{}},
			[]trail.Event{{N: 3, Kind: trail.Setup, Setup: "closed"}}},
		{"what waits for nothing need not be ended", []state.Msg{state.EndWait{}}, nil},
		{"none of these: a note and a skip", []state.Msg{state.OpenSheet{Sheet: state.SheetNone}, state.SetText{Text: "it hums"}, state.ConfirmSheet{}},
			[]trail.Event{{N: 2, Kind: trail.Note, Text: "“Motor supply at the connector”: none of the outcomes fitted. it hums"},
				{N: 3, Kind: trail.Skip, Test: "rail", Reason: "“Motor supply at the connector”: none of the outcomes fitted."}}},
		{"a unit that left came back, and stands as it stood", []state.Msg{signedOff, state.OpenSheet{Sheet: state.SheetBack}, state.SetText{Text: "after two weeks"}, state.ConfirmSheet{}},
			[]trail.Event{{N: 3, Kind: trail.Note, Text: "It came back. after two weeks"}, {N: 4, Kind: trail.Setup, Setup: "closed"}}},
		{"what it does now is a result", []state.Msg{signedOff, state.OpenSheet{Sheet: state.SheetBack}, state.SetSaid{Outcome: "asks"}, state.ConfirmSheet{}},
			[]trail.Event{{N: 3, Kind: trail.Note, Text: "It came back."}, {N: 4, Kind: trail.Result, Test: "first-boot", Outcome: "asks"}}},
		{"tapped again nobody said", []state.Msg{signedOff, state.OpenSheet{Sheet: state.SheetBack}, state.SetSaid{Outcome: "asks"}, state.SetSaid{Outcome: "asks"}, state.ConfirmSheet{}},
			[]trail.Event{{N: 3, Kind: trail.Note, Text: "It came back."}, {N: 4, Kind: trail.Setup, Setup: "closed"}}},
		{"what was said on a sheet that was left is not", []state.Msg{signedOff, state.OpenSheet{Sheet: state.SheetBack}, state.SetSaid{Outcome: "asks"},
			state.OpenSheet{}, state.OpenSheet{Sheet: state.SheetBack}, state.ConfirmSheet{}},
			[]trail.Event{{N: 3, Kind: trail.Note, Text: "It came back."}, {N: 4, Kind: trail.Setup, Setup: "closed"}}},
		{"by what it does best nothing comes back", []state.Msg{signedOff, state.OpenSheet{Sheet: state.SheetBack}, state.SetSaid{Outcome: "boots"}, state.ConfirmSheet{}},
			[]trail.Event{{N: 3, Kind: trail.Note, Text: "It came back."}, {N: 4, Kind: trail.Setup, Setup: "closed"}}},
		{"one on the bench cannot", []state.Msg{state.OpenSheet{Sheet: state.SheetBack}, state.ConfirmSheet{}}, nil},
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
	t.Run("it is on the bench again, not ended", func(t *testing.T) {
		s, effects := play(onUnit(t), signedOff, state.OpenSheet{Sheet: state.SheetBack}, state.ConfirmSheet{})
		s, after := state.Update(s, stored(t, effects))
		_, ended := s.Unit.Ended()
		assert.False(t, ended)
		assert.True(t, slices.ContainsFunc(after, func(e state.Effect) bool { _, ok := e.(state.Reckon); return ok }), "and the advice is worked out")
	})
	t.Run("and the page is at what is to be done with it", func(t *testing.T) {
		there := state.GoTo{Path: "/unit/U1"}
		_, effects := play(onUnit(t), state.Navigated{Path: "/unit/U1/other"}, signedOff, state.OpenSheet{Sheet: state.SheetBack}, state.ConfirmSheet{})
		assert.Contains(t, effects, state.Effect(there))
		_, effects = play(onUnit(t), signedOff, state.OpenSheet{Sheet: state.SheetBack}, state.ConfirmSheet{})
		assert.NotContains(t, effects, state.Effect(there), "it is there already")
	})
	t.Run("that it came back is taken back whole, and brought back whole", func(t *testing.T) {
		for name, said := range map[string]state.Msg{"nobody saw it": nil, "it was seen": state.SetSaid{Outcome: "asks"}} {
			msgs := []state.Msg{signedOff, state.OpenSheet{Sheet: state.SheetBack}}
			if said != nil {
				msgs = append(msgs, said)
			}
			s, effects := play(onUnit(t), append(msgs, state.ConfirmSheet{})...)
			s, _ = state.Update(s, stored(t, effects))
			s, effects = play(s, state.TakeBack{N: 4})
			s, _ = state.Update(s, stored(t, effects))
			end, ended := s.Unit.Ended()
			assert.True(t, ended, name)
			assert.Equal(t, trail.SignedOff, end.As, name)
			assert.Equal(t, []bool{true, true, false, false, true, true}, s.Unit.Trail.Live(), "%s: neither does the note say so any more", name)
			s, effects = play(s, state.TakeBack{N: 6})
			s, _ = state.Update(s, stored(t, effects))
			assert.Equal(t, []bool{true, true, true, true, false, false, true, true}, s.Unit.Trail.Live(), name)
			_, back := s.Unit.CameBack()
			assert.True(t, back, name)
		}
	})
	t.Run("what the owner said before stands again when another answer is taken back, and falls when that is brought back", func(t *testing.T) {
		m := second(t)
		s, _ := play(ready(), state.Navigated{Path: "/unit/U1"}, state.Opened{Model: m, Trail: &trail.Trail{ID: "U1", Events: []trail.Event{
			{N: 1, At: "2026-03-04T10:15:00Z", Kind: trail.Result, Test: "story", Outcome: "skips"},
		}}})
		stands := func(msg state.Msg) (skips, dead bool) {
			t.Helper()
			var effects []state.Effect
			s, effects = play(s, msg)
			s, _ = state.Update(s, stored(t, effects))
			live := s.Unit.Trail.Live()
			return live[0], live[2]
		}
		skipsStands, deadStands := stands(state.Answer{Test: "story", Outcome: "dead"})
		require.False(t, skipsStands)
		require.True(t, deadStands)
		skipsStands, deadStands = stands(state.TakeBack{N: 3})
		assert.True(t, skipsStands, "a slip of the finger costs no word of the owner")
		assert.False(t, deadStands)
		skipsStands, deadStands = stands(state.TakeBack{N: 5})
		assert.False(t, skipsStands)
		assert.True(t, deadStands)

		// Taken back by itself and asked anew later: the first stays taken back.
		apart := state.Appended{ID: "U1", Events: []trail.Event{{N: 2, At: "2026-03-04T10:15:00Z", Kind: trail.Void, Of: 1}, {N: 3, At: "2026-03-04T10:16:00Z", Kind: trail.Result, Test: "story", Outcome: "dead"}}}
		s, _ = play(ready(), state.Navigated{Path: "/unit/U1"}, state.Opened{Model: m, Trail: &trail.Trail{ID: "U1", Events: []trail.Event{
			{N: 1, At: "2026-03-04T10:15:00Z", Kind: trail.Result, Test: "story", Outcome: "skips"},
		}}})
		_, effects := play(s, apart, state.TakeBack{N: 3})
		assert.Len(t, stored(t, effects).Events, 1)
	})
	t.Run("a note before any other step stays when that is taken back", func(t *testing.T) {
		noted := state.Appended{ID: "U1", Events: []trail.Event{{N: 2, At: "2026-03-04T10:15:00Z", Kind: trail.Note, Text: "scratched"}, {N: 3, At: "2026-03-04T10:15:00Z", Kind: trail.Skip, Test: "rail"}}}
		_, effects := play(onUnit(t), noted, state.TakeBack{N: 3})
		got := stored(t, effects).Events
		require.Len(t, got, 1)
		assert.Equal(t, 3, got[0].Of)
	})
	t.Run("the terms that stand are those of the last event, and the next unit's", func(t *testing.T) {
		s, effects := play(onUnit(t), state.OpenSheet{Sheet: state.SheetTerms}, state.SetTool{ID: "multimeter", On: true}, state.ConfirmSheet{})
		assert.Equal(t, []model.ToolID{"multimeter"}, s.Remembered.Tools)
		s, after := state.Update(s, stored(t, effects))
		assert.Equal(t, []model.ToolID{"multimeter"}, s.Unit.Terms().Tools)
		assert.True(t, slices.ContainsFunc(after, func(e state.Effect) bool { _, ok := e.(state.Reckon); return ok }), "advice by new terms")
		assert.Equal(t, state.NoSheet, s.Unit.Sheet)
	})
}

func TestAPartThatCameIsFitted(t *testing.T) {
	clean := plan.Step{Kind: plan.DoRepair}
	s := onUnit(t)
	offers := append(slices.Clone(s.Unit.Proposals), plan.Proposal{Step: clean})
	waiting := state.Appended{ID: "U1", Events: []trail.Event{{N: 2, At: "2026-03-04T10:15:00Z", Kind: trail.Wait, For: "clean the lens "}}}
	s, effects := play(s, waiting, state.EndWait{})
	s, _ = state.Update(s, state.Appended{ID: "U1", Events: effects[len(effects)-1].(state.Append).Events})
	s, _ = state.Update(s, state.Thought{ID: "U1", Turn: s.Unit.Turn, Settled: true, Proposals: offers})
	p, ok := s.Unit.Current()
	require.True(t, ok)
	assert.Equal(t, clean, p.Step)
}

func TestTheListOfWhatIsPutAwayEndsWithIt(t *testing.T) {
	s, _ := play(ready(), state.BenchRead{Count: state.Count{Units: 2, Away: 1}}, state.ShowArchived{On: true}, state.BenchRead{Count: state.Count{Units: 2, Away: 1, Listed: 1}})
	assert.True(t, s.Archived)
	s, effects := state.Update(s, state.BenchRead{Count: state.Count{Units: 2}})
	assert.False(t, s.Archived, "else nothing shows, and nothing leads back")
	assert.Contains(t, effects, state.ReadBench{Lang: "en"})
}

func TestAReadingFarOutsideIsAskedBackOnce(t *testing.T) {
	s, effects := play(onUnit(t), state.SetEntry{Text: "12"}, state.SendEntry{})
	assert.Empty(t, effects, "12 V on a rail of 5")
	assert.True(t, s.Unit.AskBack)
	_, effects = play(s, state.SendEntry{})
	assert.Equal(t, 12.0, *stored(t, effects).Events[0].Reading, "sent again it counts")
	typed, _ := play(s, state.SetEntry{Text: "1.2"})
	assert.False(t, typed.Unit.AskBack, "another number is another question")
	_, effects = play(typed, state.SendEntry{})
	assert.Equal(t, 1.2, *stored(t, effects).Events[0].Reading)
	other, _ := play(s, state.Choose{Step: plan.Step{Kind: plan.DoTest, Index: 0}})
	assert.False(t, other.Unit.AskBack)
}

func TestDeletingForGood(t *testing.T) {
	s := onUnit(t)
	s, _ = state.Update(s, state.BenchRead{Cards: []state.Card{{ID: "U1", Label: "Grey one"}, {ID: "U2", Label: "Other"}}})
	s, effects := state.Update(s, state.AskDelete{ID: "U1"})
	assert.Equal(t, "U1", s.Deleting)
	assert.Empty(t, effects, "it is asked first")
	away, _ := state.Update(s, state.Navigated{Path: "/"})
	assert.Empty(t, away.Deleting, "the question does not outlive the screen")
	s, effects = state.Update(s, state.DeleteUnit{ID: "U1"})
	assert.Empty(t, s.Deleting)
	assert.Equal(t, []state.Effect{state.DeleteUnit{ID: "U1"}}, effects)
	s, effects = state.Update(s, state.Deleted{ID: "U1"})
	assert.Nil(t, s.Unit)
	assert.Equal(t, []state.Card{{ID: "U2", Label: "Other"}}, s.Cards)
	assert.Equal(t, state.NoticeDeleted, s.Notice.Kind)
	assert.Equal(t, "Grey one", s.Notice.Detail)
	assert.Contains(t, effects, state.GoTo{Path: "/"})
}

func TestAUnitIsFoundByWhatWasDone(t *testing.T) {
	m := example(t)
	card := state.CardOf(m, &trail.Trail{ID: "U1", Unit: trail.Unit{Label: "Grey one", Notes: "from a house clearance"}, Terms: trail.Terms{Currency: "EUR"}, Events: []trail.Event{
		{N: 1, Kind: trail.Note, Text: "lid was glued"},
		{N: 2, Kind: trail.Repair, Repair: "clean-lens"},
		{N: 3, Kind: trail.Note, Text: "taken back"},
		{N: 4, Kind: trail.Void, Of: 3},
		{N: 5, Kind: trail.End, As: trail.SignedOff, Causes: []model.ModeID{"supply.low"}},
	}})
	s, _ := state.Update(ready(), state.BenchRead{Cards: []state.Card{card, {ID: "U2", Label: "Other", Status: state.StatusWaiting, Waits: "a drive belt"}}})
	for search, want := range map[string]string{
		"grey": "U1", "clearance": "U1", "GLUED": "U1", "clean lens": "U1", "sags": "U1", "belt": "U2", "taken back": "", "zebra": "",
	} {
		got := ""
		found, _ := state.Update(s, state.SearchBench{Text: search})
		for _, c := range found.Shown() {
			got += c.ID
		}
		assert.Equal(t, want, got, "%q", search)
	}
	waiting, effects := state.Update(s, state.FilterBench{Status: state.StatusWaiting})
	assert.Equal(t, []state.Effect{state.ReadBench{Only: state.StatusWaiting, Lang: "en"}}, effects)
	waiting, _ = state.Update(waiting, state.BenchRead{Cards: s.Cards})
	require.Len(t, waiting.Shown(), 1)
	assert.Equal(t, "U2", waiting.Shown()[0].ID)
	assert.Equal(t, state.StatusSignedOff, card.Status)
}

func TestCountingStartsFillsInTheOutcome(t *testing.T) {
	s, _ := play(onUnit(t), state.StartSoak{Test: "first-boot"})
	for range 4 {
		s, _ = state.Update(s, state.CountRun{Good: true})
	}
	_, effects := play(s, state.RecordCount{})
	assert.Empty(t, effects, "four do not stand for a result yet")
	noted, _ := play(s, state.Soaked{ID: s.Unit.Trail.ID, Seconds: 64}, state.NoteCount{})
	assert.Equal(t, state.SheetNote, noted.Unit.Sheet)
	assert.Contains(t, noted.Unit.Text, "counted 4 good, 0 failed in 1:04")
	s, effects = play(s, state.CountRun{Good: true}, state.RecordCount{})
	got := stored(t, effects)
	require.Len(t, got.Events, 2)
	assert.Equal(t, trail.Note, got.Events[0].Kind)
	assert.Contains(t, got.Events[0].Text, "5")
	assert.EqualValues(t, "boots", got.Events[1].Outcome)
	s, after := state.Update(s, got)
	assert.Empty(t, s.Unit.Marks.Soak.Test, "the counter is done with")
	assert.Contains(t, after, state.StopSoak{})
}
