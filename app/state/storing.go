package state

import (
	"maps"
	"reflect"
	"slices"
	"sort"

	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// What is recorded goes to the storage first and on the trail when it is there. What the
// storage refuses is on the trail all the same, as the last Unsaved events of its unit,
// and stays in the State by the unit's id until it is stored: in Unit while the unit is on
// the screen, in Pending while it is not.

// held returns a unit of which the State holds the trail: the one on the screen, or one
// that is pending.
func (s State) held(id string) (*Unit, bool) {
	if s.Unit != nil && s.Unit.Trail.ID == id {
		return s.Unit, true
	}
	u, ok := s.Pending[id]
	return u, ok
}

// shows reports whether the unit is the one on the screen.
func (s State) shows(id string) bool { return s.Unit != nil && s.Unit.Trail.ID == id }

// keep puts a unit where it belongs: on the screen if it is there, else to the pending
// ones, as long as something of it is not stored.
func (s State) keep(u Unit) State {
	id := u.Trail.ID
	if s.shows(id) {
		s.Unit = &u
		return s
	}
	pending := maps.Clone(s.Pending)
	delete(pending, id)
	if u.Unsaved > 0 || u.Saving {
		// What was worked out is worked out again when the unit is on the screen again.
		u.Account, u.Proposals, u.Settled, u.Doubts, u.Origin = nil, nil, false, nil, nil
		u.Sheet, u.Text, u.Causes = NoSheet, "", nil
		if pending == nil {
			pending = map[string]*Unit{}
		}
		pending[id] = &u
	}
	s.Pending = pending
	return s
}

// letGo takes the unit off the screen. What of it is not stored is kept.
func letGo(s State) State {
	if s.Unit == nil {
		return s
	}
	u := *s.Unit
	s.Unit = nil
	if u.Unsaved > 0 || u.Saving {
		s = s.keep(u)
	}
	return s
}

// takeUp puts a pending unit on the screen, and asks for what is stored of it meanwhile.
func takeUp(s State, pending *Unit) (State, []Effect) {
	u := *pending
	if u.Model != nil {
		u.Model = catalog.Speak(u.Model, s.Lang)
	}
	s.Pending = maps.Clone(s.Pending)
	delete(s.Pending, u.Trail.ID)
	s.Unit = &u
	s, effects := reckon(s)
	effects = append([]Effect{Rest{}}, effects...)
	if u.whole() {
		effects = append(effects, clocks(&u)...)
	} else {
		effects = append(effects, Open{u.Trail.ID})
	}
	s, photos := album(s)
	return s, append(effects, photos...)
}

// whole reports whether the storage has nothing of the unit, so that there is nothing to
// read.
func (u *Unit) whole() bool { return u.Unsaved > 0 && u.Unsaved == len(u.Trail.Events) }

// unsaved returns the events that are only in memory.
func (u *Unit) unsaved() []trail.Event { return u.Trail.Events[len(u.Trail.Events)-u.Unsaved:] }

// clocks starts what runs on a unit.
func clocks(u *Unit) (effects []Effect) {
	if u.Marks.Timer != "" {
		effects = append(effects, RunTimer{ID: u.Trail.ID, End: u.Marks.Timer})
	}
	if u.Marks.Soak.Test != "" {
		effects = append(effects, RunSoak{ID: u.Trail.ID, Since: u.Marks.Soak.Since})
	}
	return effects
}

// Unsaved returns how many events of all units are only in memory.
func (s State) Unsaved() int {
	n := 0
	for _, u := range s.InMemory() {
		n += u.Unsaved
	}
	return n
}

// InMemory returns the units of which something is only in memory, in order of their ids.
func (s State) InMemory() []*Unit {
	var all []*Unit
	if s.Unit != nil && s.Unit.Unsaved > 0 {
		all = append(all, s.Unit)
	}
	for _, u := range s.Pending {
		if u.Unsaved > 0 {
			all = append(all, u)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Trail.ID < all[j].Trail.ID })
	return all
}

// opened puts a unit on the screen as it is stored, with what of it is only in memory
// after that. Of one that the person left meanwhile only what is in memory is of use.
func opened(s State, m Opened) (State, []Effect) {
	id := m.Trail.ID
	here, isHeld := s.held(id)
	if s.Route.Unit != id && !isHeld {
		return s, nil // the person went elsewhere meanwhile
	}
	u := Unit{Unit: bench.Unit{Trail: m.Trail, Model: m.Model}, Marks: m.Marks, Damaged: m.Damaged, Archived: m.Archived}
	if u.Model == nil && isHeld {
		u.Model = here.Model // begun with it; its text is not in the storage
	}
	if u.Model != nil {
		u.Model = catalog.Speak(u.Model, s.Lang)
	}
	var again []Effect
	if isHeld {
		// Read again: keep what the person was at.
		u.Turn, u.AtHand = here.Turn, here.AtHand
		u.Saving, u.Behind = here.Saving, here.Behind
		u.Trail, u.Unsaved = behind(m.Trail, here)
		if u.Unsaved > 0 {
			u.Trouble = here.Trouble
		}
		if here.Again && !u.Saving && u.Unsaved > 0 {
			u.Saving = true
			again = []Effect{appendTo(&u, slices.Clone(u.unsaved()))}
		}
	}
	if s.Route.Unit != id {
		return s.keep(u).calmed(), again
	}
	var effects []Effect
	same := s.shows(id) && reflect.DeepEqual(here.Trail, u.Trail) && (here.Model == nil) == (u.Model == nil)
	if same {
		// Nothing moves: what is put to the person stays while they look at it.
		u.Unit = here.Unit
		u.Conflict, u.Proposals, u.Settled = here.Conflict, here.Proposals, here.Settled
	}
	s.Unit = &u
	s = s.calmed()
	if !same {
		s, effects = reckon(s)
	}
	s, photos := album(s)
	effects = append(append(effects, photos...), again...)
	return s, append(effects, clocks(&u)...)
}

// openFailed says why a unit is not shown. One that is in memory stays what it is.
func openFailed(s State, m OpenFailed) (State, []Effect) {
	u, isHeld := s.held(m.ID)
	switch {
	case isHeld && m.Trouble == TroubleGone && !u.whole():
		return lost(s), nil // it was here: its storage was cleared
	case isHeld:
		again := *u
		again.Again = false
		return s.keep(again).complain(m.Trouble, m.Detail), nil
	case s.Route.Unit == m.ID:
		s = letGo(s)
		s.Absent = m.Trouble
		return s.complain(m.Trouble, m.Detail), nil
	}
	return s, nil
}

// behind puts the events that are only in memory after those that were stored
// meanwhile, numbered anew, and returns how many they are. A void among them that names
// one of them follows it. One that is stored after all, as it is, is not stored twice.
func behind(stored *trail.Trail, u *Unit) (*trail.Trail, int) {
	kept := slices.Clone(u.unsaved())
	for len(kept) > 0 && kept[0].N <= len(stored.Events) && reflect.DeepEqual(stored.Events[kept[0].N-1], kept[0]) {
		kept = kept[1:]
	}
	if len(kept) == 0 {
		return stored, 0
	}
	first := kept[0].N
	shift := len(stored.Events) + 1 - first
	for i := range kept {
		kept[i].N += shift
		if kept[i].Kind == trail.Void && kept[i].Of >= first {
			kept[i].Of += shift
		}
	}
	return joined(stored, kept), len(kept)
}

// record asks for events to be stored after the last one, all or none. While another is on
// its way the tap is dropped: it was made on a screen that is about to change.
func record(s State, events ...trail.Event) (State, []Effect) {
	if s.Unit.Saving || len(events) == 0 {
		return s, nil
	}
	u := *s.Unit
	for i := range events {
		events[i].N = len(u.Trail.Events) + 1 + i
	}
	u.Saving = true
	s.Unit = &u
	return s, []Effect{appendTo(&u, append(slices.Clone(u.unsaved()), events...))}
}

// appendTo asks to store events at the end of a unit, or the whole unit if none of it
// is stored.
func appendTo(u *Unit, events []trail.Event) Append {
	a := Append{ID: u.Trail.ID, Events: events, Trail: u.Trail, Model: u.Model}
	a.Whole = events[0].N == 1
	return a
}

// lost makes all of every unit that is held one that is only in memory.
func lost(s State) State {
	s.Storage.Trouble = TroubleLost
	s.Notice = Notice{Serial: s.Notice.Serial} // that something is recorded is not so any more
	gone := func(u Unit) State {
		u.Saving, u.Unsaved, u.Trouble = false, len(u.Trail.Events), TroubleLost
		return s.keep(u)
	}
	for _, u := range s.Pending {
		s = gone(*u)
	}
	if s.Unit != nil {
		s = gone(*s.Unit)
	}
	return s
}

// saveAgain tries again to store what is only in memory, of every unit.
func saveAgain(s State) (State, []Effect) {
	var effects []Effect
	for _, one := range s.InMemory() {
		if one.Saving {
			continue
		}
		u := *one
		u.Saving, u.Again = true, true
		s = s.keep(u)
		effects = append(effects, appendTo(&u, slices.Clone(u.unsaved())))
	}
	return s, effects
}

// calmed ends the trouble of a storage that has taken what there was.
func (s State) calmed() State {
	if !s.Storage.Memory && s.Storage.Trouble != TroubleOld && s.Unsaved() == 0 {
		s.Storage.Trouble = NoTrouble
	}
	return s
}

// appended puts stored events on the trail of their unit.
func appended(s State, m Appended) (State, []Effect) {
	here, ok := s.held(m.ID)
	if !ok || len(m.Events) == 0 {
		return s, nil
	}
	u := *here
	u.Saving, u.Unsaved, u.Trouble, u.Again = false, 0, NoTrouble, false
	u.Trail = joined(u.Trail, m.Events)
	last := m.Events[len(m.Events)-1]
	for _, e := range m.Events {
		u = settle(u, e)
	}
	over := soakOver(&u, m.Events)
	reread := u.Behind
	u.Behind = false
	onScreen := s.shows(m.ID)
	s = s.keep(u).calmed()
	if !onScreen {
		s, others := saveAgain(s)
		return s, append(others, KeepMarks{m.ID, u.Marks}, s.readBench())
	}
	s = noticeOf(s, last, &u)
	s = s.put(s.Photos) // those of the step that was recorded have its number now
	later := []Effect{DismissLater{s.Notice.Serial}, KeepMarks{m.ID, u.Marks}}
	if reread {
		later = append(later, Open{m.ID})
	}
	// There is room again: also for what other units have in memory.
	s, others := saveAgain(s)
	later = append(later, others...)
	if !slices.ContainsFunc(m.Events, func(e trail.Event) bool { return changes(e.Kind) }) {
		return s, later // a note moves nothing
	}
	s, effects := reckon(s)
	if last.Kind != trail.Void {
		effects = append(effects, ShowTop{})
	}
	return s, append(append(effects, over...), later...)
}

// appendFailed keeps in memory what the storage did not take. If another window
// wrote first, the trail is read again and the tap has to be made again: it was
// made without knowing what the other window recorded.
func appendFailed(s State, m AppendFailed) (State, []Effect) {
	here, ok := s.held(m.ID)
	if !ok || len(m.Events) == 0 {
		return s, nil
	}
	onScreen := s.shows(m.ID)
	u := *here
	u.Saving, u.Behind = false, false
	if m.Trouble == TroubleClash {
		tapped := len(m.Events) > u.Unsaved
		s = s.keep(u)
		if tapped {
			s = s.notify(NoticeClash, "", 0)
		}
		return s, []Effect{Open{m.ID}}
	}
	if m.Trouble == TroubleGone {
		m.Trouble = TroubleLost
	}
	u.Trouble, u.Again = m.Trouble, false
	u.Trail = joined(u.Trail, m.Events)
	u.Unsaved = len(m.Events)
	if m.Trouble == TroubleLost {
		u.Unsaved = len(u.Trail.Events)
	}
	for _, e := range m.Events {
		u = settle(u, e)
	}
	over := soakOver(&u, m.Events)
	s = s.keep(u)
	s.Storage.Trouble = m.Trouble // stays on the screen until it is mended
	if !onScreen {
		return s, []Effect{KeepMarks{m.ID, u.Marks}}
	}
	s, effects := reckon(s)
	return s, append(append(effects, over...), ShowTop{})
}

// joined returns the trail with the events at their places, without touching t.
func joined(t *trail.Trail, events []trail.Event) *trail.Trail {
	n := *t
	n.Events = append(slices.Clone(t.Events[:min(len(t.Events), events[0].N-1)]), events...)
	return &n
}

// settle clears what belonged to the step that e ended.
func settle(u Unit, e trail.Event) Unit {
	u.Sheet, u.Text, u.Edit = NoSheet, "", TermsDraft{}
	switch e.Kind {
	case trail.Result, trail.Repair, trail.Skip, trail.End:
		if u.Told(e.Test) {
			break // what the owner tells ends no step
		}
		u.HasChosen, u.InPlace, u.Entry, u.AskBack, u.Marks.Ticked, u.Find = false, false, "", false, nil, ""
	case trail.Setup:
		u.Marks.Ticked = nil
	case trail.Void, trail.Wait:
		u.HasChosen, u.InPlace = false, false
		if test, ok := askedAgain(&u, e); ok {
			u.HasChosen, u.Chosen = true, plan.Step{Kind: plan.DoTest, Index: test}
		}
	}
	return u
}

// askedAgain returns the test whose result, the last thing recorded, is taken back by e: who slipped answers once more.
func askedAgain(u *Unit, e trail.Event) (int, bool) {
	if e.Kind != trail.Void || u.Model == nil || slices.ContainsFunc(u.Trail.Events[e.Of:e.N-1], func(x trail.Event) bool { return x.Kind != trail.Void }) {
		return 0, false
	}
	of := u.Trail.Events[e.Of-1]
	t, ok := u.Model.Test(of.Test)
	if !ok || of.Kind != trail.Result || t.Told {
		return 0, false
	}
	return t.Index, true
}

// noticeOf says what was just recorded.
func noticeOf(s State, e trail.Event, u *Unit) State {
	kind, n := NoticeRecorded, e.N
	if e.Kind == trail.Void {
		kind, n = NoticeVoided, e.Of
		if of := u.Trail.Events[e.Of-1]; of.Kind == trail.Void {
			kind, n = NoticeRestored, of.Of
		}
	}
	s = s.notify(kind, "", n)
	s.Notice.Step = u.Number(n)
	return s
}
