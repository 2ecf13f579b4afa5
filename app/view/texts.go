package view

import (
	"strconv"

	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// How much of a person's text is shown where it is one among others, in letters.
// The whole of it is in the report and in every export.
const (
	labelShown    = 120
	lastShown     = 56 // two lines beside a button on a phone
	recordedShown = 32 // with the words that it is recorded two lines, so that nothing moves when they go
	captionShown  = 40 // four lines under a small photograph; a tap shows the whole
	noteShown     = 2000
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
func titled(w model.Words, id string) string { return words.Title(w, id) }

func setupTitle(m *model.Model, i int) string          { return words.Setup(m, i) }
func modeTitle(m *model.Model, i int) string           { return words.Mode(m, i) }
func partTitle(m *model.Model, mode int) string        { return words.Part(m, mode) }
func outcomeTitle(t *model.Test, i int) string         { return words.Outcome(t, i) }
func toolTitle(m *model.Model, id model.ToolID) string { return words.Tool(m, id) }

// stepTitle says what a step is, in a few words.
func (v *pen) stepTitle(m *model.Model, s plan.Step) string { return v.words.Step(m, s) }

// eventTitle says what an event was, in a sentence.
func (v *pen) eventTitle(m *model.Model, t *trail.Trail, e trail.Event) string {
	return short(v.words.Event(m, t, e), noteShown)
}

func (v *pen) ending(as trail.Ending) string { return v.words.Ending(as) }

// numbered is the number of a step; what is no step has a dot.
func numbered(n int) string {
	if n == 0 {
		return "·"
	}
	return strconv.Itoa(n)
}
