package state

import (
	"reflect"
	"slices"
	"strings"

	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// sheet answers what is asked over the screen of a unit, and what the owner tells later.
func sheet(s State, m Msg) (State, []Effect) {
	u := *s.Unit
	var left []Effect
	switch m := m.(type) {
	case OpenSheet:
		if u.Sheet == SheetNote && m.Sheet != SheetNote {
			left = noteLeft(s, u.Trail)
		}
		u.Sheet, u.Text, u.Said, u.Edit = m.Sheet, m.Text, "", TermsDraft{}
		if m.Sheet != NoSheet {
			left = append(left, ShowTop{}) // it may be opened from far down
		}
		u.Codes = Codes{Turn: u.Codes.Turn + 1}
		switch m.Sheet {
		case SheetSignOff, SheetWrite, SheetReturn:
			u.Causes = nil // nobody has said anything yet
		case SheetTerms:
			u.Edit = typedTerms(words.In(s.Lang), u.Terms()).exchanged(words.In(s.Lang), u.Model)
		case SheetCodes:
			left = append(left, MakeCodes{u.Trail})
		}
	case SetText:
		u.Text = m.Text
	case SetCause:
		u.Causes = slices.DeleteFunc(slices.Clone(u.Causes), func(c model.ModeID) bool { return c == m.Mode })
		if m.On {
			u.Causes = append(u.Causes, m.Mode)
		}
	case SetSaid:
		if u.Said == m.Outcome {
			m.Outcome = ""
		}
		u.Said = m.Outcome
	case SetTool, SetCurrency, SetTerm:
		if u.Sheet == SheetTerms && u.Model != nil {
			u.Edit = u.Edit.set(words.In(s.Lang), u.Model, m)
		}
	case Answer:
		return answer(s, m)
	case ConfirmSheet:
		return confirm(s)
	}
	s.Unit = &u
	return s, left
}

// answer records what the owner says to a question, in place of what was said before.
func answer(s State, m Answer) (State, []Effect) {
	for _, q := range s.Unit.questions() {
		if q.id != m.Test {
			continue
		}
		said := trail.Event{Kind: trail.Result, Test: m.Test, Outcome: m.Outcome}
		switch {
		case q.said == nil:
			return record(s, said)
		case q.said.Outcome == m.Outcome:
			return record(s, trail.Event{Kind: trail.Void, Of: q.said.N})
		}
		return record(s, trail.Event{Kind: trail.Void, Of: q.said.N}, said)
	}
	return s, nil
}

type question struct {
	id   model.TestID
	said *trail.Event
}

func (u *Unit) questions() (all []question) {
	if u.Model == nil {
		return nil
	}
	for _, q := range u.Questions() {
		all = append(all, question{u.Model.Tests[q.Test].ID, q.Answer})
	}
	return all
}

// confirm records what a sheet asked for.
func confirm(s State) (State, []Effect) {
	u := *s.Unit
	w := words.In(s.Lang)
	text := strings.TrimSpace(u.Text)
	switch u.Sheet {
	case SheetSkip, SheetNone:
		p, ok := u.Current()
		if !ok || p.Step.Kind != plan.DoTest {
			return s, nil
		}
		t := &u.Model.Tests[p.Step.Index]
		skip := trail.Event{Kind: trail.Skip, Test: t.ID, Reason: text}
		if u.Sheet == SheetSkip {
			return record(s, skip)
		}
		// What was seen is worth a note; it is no evidence, for no outcome says it.
		title := w.Say(words.NoneNote, words.Title(t.Words, t.ID))
		skip.Reason = title
		note := title
		if text != "" {
			note += " " + text
		}
		return record(s, trail.Event{Kind: trail.Note, Text: note}, skip)
	case SheetNote:
		if text != "" {
			return record(s, trail.Event{Kind: trail.Note, Text: text})
		}
	case SheetWait:
		if text != "" {
			return record(s, trail.Event{Kind: trail.Wait, For: text})
		}
	case SheetBack:
		if _, ended := u.Ended(); ended && u.Model != nil {
			note := w.Say(words.CameBackNote)
			if text != "" {
				note += " " + text
			}
			s, effects := record(s, trail.Event{Kind: trail.Note, Text: note}, u.back())
			if len(effects) > 0 && s.Route.Pane != PaneStep {
				effects = append(effects, u.atStep()) // what is to be done with it
			}
			return s, effects
		}
	case SheetTerms:
		if u.Model == nil || len(u.Edit.Wrong(w.Number, u.Model)) > 0 {
			return s, nil
		}
		terms := u.Edit.Value(w.Number, u.Model)
		s, keep := s.remember(terms, u.Model)
		if same(terms, u.Terms()) {
			u.Sheet, u.Edit = NoSheet, TermsDraft{}
			s.Unit = &u
			return s, []Effect{keep}
		}
		s, effects := record(s, trail.Event{Kind: trail.NewTerms, Terms: &terms})
		return s, append(effects, keep)
	case SheetSignOff:
		return record(s, trail.Event{Kind: trail.End, As: trail.SignedOff, Causes: u.Causes})
	case SheetWrite:
		return record(s, trail.Event{Kind: trail.End, As: trail.WrittenOff, Causes: u.Causes})
	case SheetReturn:
		return record(s, trail.Event{Kind: trail.End, As: trail.Returned, Causes: u.Causes})
	}
	return s, nil
}

// back is the event by which a unit that left is on the bench again: what it was seen to do, or, if
// nobody said, that it stands as it stood.
func (u *Unit) back() trail.Event {
	test, outcomes := u.Seen()
	if slices.ContainsFunc(outcomes, func(o model.Outcome) bool { return o.ID == u.Said }) {
		return trail.Event{Kind: trail.Result, Test: test.ID, Outcome: u.Said}
	}
	return u.stays()
}

// same reports whether terms are the same, a missing exchange being 1 and no tools being none.
func same(a, b trail.Terms) bool {
	for _, t := range []*trail.Terms{&a, &b} {
		t.Tools = append([]model.ToolID{}, t.Tools...)
		if t.Exchange == 0 {
			t.Exchange = 1
		}
	}
	return reflect.DeepEqual(a, b)
}
