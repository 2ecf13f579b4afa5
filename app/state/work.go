package state

import (
	"slices"

	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// work answers the messages that need a unit on the screen.
func work(s State, m Msg) (State, []Effect) {
	switch m := m.(type) {
	case Reckoned, Thought, Looked:
		return reckoned(s, m)
	case LookAt, TryHere, Choose, ChooseFirst, Acknowledge, Tick, SetEntry, FindOther:
		return atHand(s, m)
	case AskHangs, Hung:
		return hanging(s, m)
	case OpenSheet, SetText, SetCause, SetSaid, ConfirmSheet:
		return sheet(s, m)
	case NoteCount:
		if t, ok := s.Unit.counted(); ok {
			return sheet(s, OpenSheet{Sheet: SheetNote, Text: counts(s, t)})
		}
	case SawOutcome, SendEntry, Move, Repaired, TakeBack, EndWait, RecordCount:
		return events(s, m)
	case CodesMade, TurnCode, PlayCodes, CodeTurned:
		return showCodes(s, m)
	case StartTimer:
		u := *s.Unit
		if m.Minutes <= 0 {
			u.Marks.Timer, u.Left = "", 0
			s.Unit = &u
			return s, []Effect{StopTimer{}, KeepMarks{u.Trail.ID, u.Marks}}
		}
		return s, []Effect{RunTimer{ID: u.Trail.ID, Minutes: m.Minutes}}
	case Ticked:
		return ticked(s, m)
	case StartSoak, EndSoak, CountRun, UndoRun, Soaked:
		return soak(s, m)
	case TakeAway:
		u := s.Unit
		return s, []Effect{TakeOut{
			Form: m.Form, Way: m.Way, Trail: u.Trail, Model: u.Model, Account: u.Account, Origin: u.Origin, Damaged: u.Damaged, Lang: s.Lang, Photos: s.WithPhotos,
		}}
	}
	return s, nil
}

// reckoned takes in what the engine worked out. Answers of an older turn are dropped.
func reckoned(s State, m Msg) (State, []Effect) {
	u := *s.Unit
	current := func(id string, turn int) bool { return id == u.Trail.ID && turn == u.Turn }
	switch m := m.(type) {
	case Reckoned:
		if current(m.ID, m.Turn) {
			u.Account, u.Conflict = m.Account, m.Conflict
		}
	case Thought:
		// What is not settled may change yet, and what is put to a person stays.
		if current(m.ID, m.Turn) && m.Settled {
			u.Proposals, u.Settled = m.Proposals, true
			u.closed()
		}
	case Looked:
		if current(m.ID, m.Turn) {
			u.Origin, u.Doubts = m.Origin, m.Doubts
			if u.Doubts == nil {
				u.Doubts = []trail.Doubt{}
			}
		}
	}
	s.Unit = &u
	return s, nil
}

// closed lets go of what the unit was closed for, where something else goes first now: closing may have broken something, and a proof
// may be due. Elsewhere what the way was taken for is kept at, so that the advice does not turn round.
func (u *Unit) closed() {
	p, ok := u.Current()
	if ok && u.OnTheWay && u.Setup() == u.Model.Root && len(p.Way) == 0 && len(u.Proposals[0].Way) == 0 {
		u.HasChosen, u.OnTheWay = false, false
	}
}

// atStep is the effect that shows the unit's step.
func (u *Unit) atStep() Effect {
	return GoTo{Route{Screen: ScreenUnit, Unit: u.Trail.ID}.Path()}
}

// atHand follows what the person is at; nothing of it is recorded.
func atHand(s State, m Msg) (State, []Effect) {
	u := *s.Unit
	var effects []Effect
	choose := func(step plan.Step, here bool) {
		u.Chosen, u.HasChosen, u.OnTheWay, u.InPlace, u.Entry, u.AskBack, u.Marks.Ticked = step, true, false, here, "", false, nil
		effects = []Effect{ShowTop{}}
	}
	switch m := m.(type) {
	case LookAt:
		if u.Place == m.Place {
			m.Place = ""
		}
		u.Place = m.Place
	case TryHere:
		choose(m.Step, true)
	case Choose:
		choose(m.Step, false)
		if s.Route.Pane != PaneStep {
			effects = []Effect{u.atStep()}
		}
	case ChooseFirst:
		u.HasChosen, u.InPlace, u.Entry, u.AskBack = false, false, "", false
		effects = []Effect{ShowTop{}}
	case Acknowledge:
		for _, id := range m.IDs {
			if !slices.Contains(u.Marks.Seen, id) {
				u.Marks.Seen = append(slices.Clip(u.Marks.Seen), id)
			}
		}
		effects = []Effect{KeepMarks{u.Trail.ID, u.Marks}}
	case Tick:
		u.Marks.Ticked = slices.DeleteFunc(slices.Clone(u.Marks.Ticked), func(k string) bool { return k == m.Mark })
		if m.On {
			u.Marks.Ticked = append(u.Marks.Ticked, m.Mark)
		}
		effects = []Effect{KeepMarks{u.Trail.ID, u.Marks}}
	case SetEntry:
		u.Entry, u.AskBack = m.Text, false
	case FindOther:
		u.Find = m.Text
	}
	s.Unit = &u
	return s, effects
}

// events records what was seen and done.
func events(s State, m Msg) (State, []Effect) {
	u := *s.Unit
	switch m := m.(type) {
	case SawOutcome:
		return record(s, trail.Event{Kind: trail.Result, Test: m.Test, Outcome: m.Outcome})
	case SendEntry:
		p, ok := u.Current()
		x, err := words.In(s.Lang).Number(u.Entry)
		if !ok || err != nil || p.Step.Kind != plan.DoTest || u.Model.Tests[p.Step.Index].Reading == nil {
			return s, nil
		}
		t := &u.Model.Tests[p.Step.Index]
		if bench.Far(t, x) && !u.AskBack {
			u.AskBack = true
			s.Unit = &u
			return s, nil
		}
		return record(s, trail.Event{Kind: trail.Result, Test: t.ID, Reading: &x})
	case Move:
		// Keep at what the way leads to, so that the advice does not turn round halfway.
		if p, ok := u.Current(); ok && !u.HasChosen && len(u.Way(p)) > 0 {
			u.Chosen, u.HasChosen, u.OnTheWay = p.Step, true, true
			s.Unit = &u
		}
		return record(s, trail.Event{Kind: trail.Setup, Setup: m.To})
	case Repaired:
		return record(s, trail.Event{Kind: trail.Repair, Repair: m.ID})
	case TakeBack:
		if m.N >= 1 && m.N <= len(u.Trail.Events) {
			return record(s, u.takeBack(m.N)...)
		}
	case EndWait:
		if wait, waits := u.Waiting(); waits && u.Model != nil {
			if r := partOf(u.Model, wait.For); r >= 0 { // what it waited for is at hand
				u.Chosen, u.HasChosen = plan.Step{Kind: plan.DoRepair, Index: r}, true
				s.Unit = &u
			}
			return record(s, u.stays())
		}
	case RecordCount:
		t, ok := u.counted()
		if !ok {
			return s, nil
		}
		if o, fits := u.Marks.Soak.Fits(t); fits {
			return record(s, trail.Event{Kind: trail.Note, Text: counts(s, t)}, trail.Event{Kind: trail.Result, Test: t.ID, Outcome: t.Outcomes[o].ID})
		}
	}
	return s, nil
}

// takeBack is what makes event n as if never recorded. What was recorded with the one before it goes with that, and comes again with it: the note that a
// unit came back, with what says that it is on the bench, and what the owner said before, which then stands again.
func (u *Unit) takeBack(n int) []trail.Event {
	of := func(n int) []trail.Event { return []trail.Event{{Kind: trail.Void, Of: n}} }
	if n < 2 {
		return of(n)
	}
	e, before := u.Trail.Events[n-1], u.Trail.Events[n-2]
	again := e.Kind == trail.Void && before.Kind == trail.Void && before.Of == e.Of-1 && u.paired(e.Of)
	if u.paired(n) || again {
		return append(of(n-1), of(n)...)
	}
	return of(n)
}

// paired reports whether event n was recorded with the one before it.
func (u *Unit) paired(n int) bool {
	if n < 2 {
		return false
	}
	e, before := u.Trail.Events[n-1], u.Trail.Events[n-2]
	switch before.Kind {
	case trail.Note:
		return u.cameBackBy(n)
	case trail.Void:
		return e.Kind == trail.Result && u.Told(e.Test) && u.Trail.Events[before.Of-1].Test == e.Test && before.At == e.At
	}
	return false
}

// cameBackBy reports whether event n was the first after the unit had left that says it is back.
func (u *Unit) cameBackBy(n int) bool {
	t := *u.Trail
	left := func(n int) bool {
		t.Events = u.Trail.Events[:n]
		_, ended := (&bench.Unit{Model: u.Model, Trail: &t}).Ended()
		return ended
	}
	return left(n-1) && !left(n)
}

// stays is the event that says no more than that work goes on: a step to how the unit stands.
func (u *Unit) stays() trail.Event {
	return trail.Event{Kind: trail.Setup, Setup: u.Model.Setups[u.Setup()].ID}
}

// ticked follows the bench timer. Its end is kept, so that it outlives the page.
func ticked(s State, m Ticked) (State, []Effect) {
	u := *s.Unit
	if m.ID != u.Trail.ID {
		return s, nil
	}
	fresh := u.Marks.Timer != m.End
	u.Marks.Timer, u.Left = m.End, m.Left
	if m.Left <= 0 {
		u.Marks.Timer, u.Left = "", 0
		s.Unit = &u
		return s.notify(NoticeTimeUp, "", 0), []Effect{StopTimer{}, KeepMarks{m.ID, u.Marks}}
	}
	s.Unit = &u
	if fresh {
		return s, []Effect{KeepMarks{m.ID, u.Marks}}
	}
	return s, nil
}
