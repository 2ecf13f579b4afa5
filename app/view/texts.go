package view

import (
	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// How much of a person's text is shown where it is one among others, in letters.
// The whole of it is in the report and in every export.
const (
	labelShown = 120
	noteShown  = 2000
)

// short returns the head of a text that may be of any length.
func short(s string, most int) string {
	n := 0
	for i := range s {
		if n == most {
			return s[:i] + "…"
		}
		n++
	}
	return s
}

// titled returns the title of a part of a model, its id if it has none.
func titled(w model.Words, id string) string {
	if w.Title != "" {
		return w.Title
	}
	return id
}

func testTitle(m *model.Model, i int) string {
	return titled(m.Tests[i].Words, string(m.Tests[i].ID))
}

func repairTitle(m *model.Model, i int) string {
	return titled(m.Repairs[i].Words, string(m.Repairs[i].ID))
}

func setupTitle(m *model.Model, i int) string {
	return titled(m.Setups[i].Words, string(m.Setups[i].ID))
}

func modeTitle(m *model.Model, i int) string {
	return titled(m.Modes[i].Words, string(m.Modes[i].ID))
}

// partTitle is the title of the component that a mode belongs to.
func partTitle(m *model.Model, mode int) string {
	c := m.Components[m.Modes[mode].Component]
	return titled(c.Words, string(c.ID))
}

func outcomeTitle(t *model.Test, i int) string {
	return titled(t.Outcomes[i].Words, string(t.Outcomes[i].ID))
}

func toolTitle(m *model.Model, id model.ToolID) string {
	if t, ok := m.Tool(id); ok {
		return titled(t.Words, string(id))
	}
	return string(id)
}

// stepTitle says what a step is, in a few words.
func stepTitle(m *model.Model, s plan.Step) string {
	switch s.Kind {
	case plan.DoTest:
		return testTitle(m, s.Index)
	case plan.DoRepair:
		return repairTitle(m, s.Index)
	case plan.SignOff:
		return say(words.SignOff)
	}
	return say(words.WriteOff)
}

// eventTitle says what an event was, in a sentence.
func eventTitle(m *model.Model, t *trail.Trail, e trail.Event) string {
	w := speech()
	switch e.Kind {
	case trail.Result:
		title, seen := string(e.Test), string(e.Outcome)
		var unit string
		if m != nil {
			if test, ok := m.Test(e.Test); ok {
				title = titled(test.Words, title)
				if o, ok := test.Outcome(e.Outcome); ok {
					seen = outcomeTitle(test, o)
				}
				if test.Reading != nil {
					unit = test.Reading.Unit
				}
			}
		}
		if e.Reading != nil {
			seen = w.Quantity(*e.Reading, unit)
		}
		return say(words.EventResult, title, seen)
	case trail.Setup:
		title := string(e.Setup)
		if m != nil {
			if s, ok := m.Setup(e.Setup); ok {
				title = titled(s.Words, title)
			}
		}
		return say(words.EventSetup, title)
	case trail.Repair:
		title := string(e.Repair)
		if m != nil {
			if r, ok := m.Repair(e.Repair); ok {
				title = titled(r.Words, title)
			}
		}
		return say(words.EventRepair, title)
	case trail.Skip:
		title := string(e.Test)
		if m != nil {
			if test, ok := m.Test(e.Test); ok {
				title = titled(test.Words, title)
			}
		}
		return say(words.EventSkip, title)
	case trail.Note:
		return short(e.Text, noteShown)
	case trail.Void:
		if e.Of >= 1 && e.Of <= len(t.Events) && t.Events[e.Of-1].Kind == trail.Void {
			return say(words.EventRestore, t.Events[e.Of-1].Of)
		}
		return say(words.EventVoid, e.Of)
	case trail.End:
		return ending(e.As)
	}
	return string(e.Kind)
}

func ending(as trail.Ending) string {
	switch as {
	case trail.SignedOff:
		return say(words.StatusSignedOff)
	case trail.WrittenOff:
		return say(words.StatusWrittenOff)
	case trail.Returned:
		return say(words.StatusReturned)
	}
	return string(as)
}
