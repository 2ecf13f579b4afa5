package words

import (
	"fmt"
	"slices"
	"strings"

	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// Ending says how a unit left the bench.
func (w *Words) Ending(as trail.Ending) string {
	switch as {
	case trail.SignedOff:
		return w.Say(StatusSignedOff)
	case trail.WrittenOff:
		return w.Say(StatusWrittenOff)
	case trail.Returned:
		return w.Say(StatusReturned)
	}
	return string(as)
}

// Told says what an event of a trail was: what was done, and what was seen or said. m may be nil: then
// steps are told by their ids.
func (w *Words) Told(m *model.Model, t *trail.Trail, e trail.Event) (step, seen string) {
	switch e.Kind {
	case trail.Result, trail.Skip:
		step, seen = string(e.Test), string(e.Outcome)
		unit := ""
		if test, ok := partOf(m, e.Test, (*model.Model).Test); ok {
			step = Title(test.Words, test.ID)
			if o, ok := test.Outcome(e.Outcome); ok {
				seen = Outcome(test, o)
			}
			if test.Reading != nil {
				unit = test.Reading.Unit
			}
		}
		if e.Reading != nil {
			seen = w.Quantity(*e.Reading, unit)
		}
		if e.Kind == trail.Skip {
			step, seen = w.Say(EventSkip, step), e.Reason
		}
	case trail.Setup:
		title := string(e.Setup)
		if s, ok := partOf(m, e.Setup, (*model.Model).Setup); ok {
			title = Title(s.Words, s.ID)
		}
		step = w.Say(EventSetup, title)
	case trail.Repair:
		title := string(e.Repair)
		if r, ok := partOf(m, e.Repair, (*model.Model).Repair); ok {
			title = Title(r.Words, r.ID)
		}
		step = w.Say(EventRepair, title)
	case trail.Note:
		step, seen = w.Say(NoteTitle), e.Text
	case trail.Void:
		step, seen = w.undone(m, t, e), e.Reason
	case trail.End:
		step = w.Ending(e.As)
	case trail.NewTerms:
		step, seen = w.Say(EventTerms), w.changed(m, t, e)
	case trail.Wait:
		step = w.Say(EventWait, e.For)
	default:
		step = string(e.Kind)
	}
	return step, seen
}

// changed says which tools came with new terms, and which went.
func (w *Words) changed(m *model.Model, t *trail.Trail, e trail.Event) string {
	was, is := (&trail.Trail{Terms: t.Terms, Events: t.Events[:e.N-1]}).Standing().Tools, e.Terms.Tools
	var all []string
	for _, id := range is {
		if !slices.Contains(was, id) {
			all = append(all, "+ "+Tool(m, id))
		}
	}
	for _, id := range was {
		if !slices.Contains(is, id) {
			all = append(all, "− "+Tool(m, id))
		}
	}
	return strings.Join(all, "; ")
}

// undone says what a void takes back, or brings back.
func (w *Words) undone(m *model.Model, t *trail.Trail, e trail.Event) string {
	u := bench.Unit{Model: m, Trail: t}
	of, numbered, other := e.Of, EventVoid, EventVoidOther
	if of >= 1 && of <= len(t.Events) && t.Events[of-1].Kind == trail.Void {
		of, numbered, other = t.Events[of-1].Of, EventRestore, EventRestoreOther
	}
	if n := u.Number(of); n > 0 || of < 1 || of > len(t.Events) || t.Events[of-1].Kind == trail.Void {
		return w.Say(numbered, n)
	}
	return w.Say(other, w.Event(m, t, t.Events[of-1]))
}

func partOf[ID ~string, P any](m *model.Model, id ID, find func(*model.Model, ID) (*P, bool)) (*P, bool) {
	if m == nil {
		return nil, false
	}
	return find(m, id)
}

// Event is Told in one sentence, where the event stands by itself.
func (w *Words) Event(m *model.Model, t *trail.Trail, e trail.Event) string {
	step, seen := w.Told(m, t, e)
	switch e.Kind {
	case trail.Result, trail.NewTerms:
		return w.Is(step, seen)
	case trail.Note:
		return seen
	}
	return step
}

// Is says what something was, "Motor supply: Low"; a question has its mark already.
func (w *Words) Is(what, was string) string {
	switch {
	case was == "":
		return what
	case strings.HasSuffix(what, "?"), strings.HasSuffix(what, "？"):
		return what + " " + was
	}
	return w.Say(EventResult, what, was)
}

// Warned says a warning in the person's language. m may be nil, and what has no words
// of its own stays as the engine has it.
func (w *Words) Warned(m *model.Model, t *trail.Trail, x trail.Warning) string {
	if x.Kind != trail.Away || m == nil || x.N < 1 || x.N > len(t.Events) {
		return strings.TrimPrefix(fmt.Sprintf("%d: %s", x.N, x.Text), "0: ")
	}
	e := t.Events[x.N-1]
	what := ""
	if test, ok := m.Test(e.Test); ok && e.Kind == trail.Result {
		what = Title(test.Words, test.ID)
	}
	if r, ok := m.Repair(e.Repair); ok && e.Kind == trail.Repair {
		what = Title(r.Words, r.ID)
	}
	return w.Say(WarningAway, (&bench.Unit{Model: m, Trail: t}).Number(x.N), what, Setup(m, x.At), Setup(m, x.Now))
}
