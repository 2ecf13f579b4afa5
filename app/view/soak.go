package view

import (
	"fmt"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/plan"
)

// Soak counts good and failed starts, or runs of any kind, with the hands elsewhere.
type Soak struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Soak) Render() app.UI {
	u, p, ok := current()
	if !ok || p.Step.Kind != plan.DoTest {
		return app.Div()
	}
	t := &u.Model.Tests[p.Step.Index]
	k := u.Marks.Soak
	runs := k.Test == t.ID
	return app.Details().Class("more", "soak").Open(runs).Body(
		app.Summary().Text(say(words.SoakName)),
		app.Div().Class("soak-body").Body(
			app.If(!runs, app.P().Class("quiet").Text(say(words.SoakHelp))),
			app.If(!runs, button("button-plain", say(words.SoakStart), state.StartSoak{Test: t.ID})),
			app.If(runs, app.Div().Class("soak-counts").Body(
				tally("soak-good", "done", say(words.SoakGood), k.Good(), true),
				tally("soak-failed", "close", say(words.SoakFailed), k.Failed(), false),
			)),
			app.If(runs, app.P().Class("soak-sum").Role("status").Body(
				app.B().Text(say(words.SoakSum, k.Good(), len(k.Runs))),
				app.Text(" "+say(words.SoakSince, clock(u.Soaked))),
			)),
			app.If(runs, app.P().Class("quiet").Text(soakAdvice(k, t))),
			app.If(runs, app.Div().Class("row").Body(
				button("button-plain", say(words.SoakUndo), state.UndoRun{}).Disabled(k.Runs == ""),
				button("button-plain", say(words.SoakNote), state.OpenSheet{Sheet: state.SheetNote, Text: soakNote(u, t)}).Disabled(k.Runs == ""),
				button("button-plain", say(words.SoakEnd), state.EndSoak{}),
			)),
		),
	)
}

// tally is a count and the target that adds one to it.
func tally(class, sign, name string, n int, good bool) app.UI {
	return act(app.Button().Type("button").Class("button", "tally", class), state.CountRun{Good: good}).Body(
		app.Span().Class("tally-name").Body(icon(sign), app.Span().Text(name)),
		app.Span().Class("tally-count").Text(n),
		app.Span().Class("tally-more").Text("+1"),
	)
}

// soakAdvice says what the counts stand for, or what is still to be done.
func soakAdvice(k state.Soak, t *model.Test) string {
	if i, ok := k.Fits(t); ok {
		return say(words.SoakFits, outcomeTitle(t, i))
	}
	if k.Failed() > 0 {
		return say(words.SoakWhich)
	}
	return say(words.SoakHelp)
}

// soakNote is the counts as a note.
func soakNote(u *state.Unit, t *model.Test) string {
	k := u.Marks.Soak
	return say(words.SoakNoteText, titled(t.Words, string(t.ID)), k.Good(), k.Failed(), clock(u.Soaked))
}

// clock is a duration as a clock shows it: 4:05, 1:04:05.
func clock(seconds int) string {
	if seconds < 3600 {
		return fmt.Sprintf("%d:%02d", seconds/60, seconds%60)
	}
	return fmt.Sprintf("%d:%02d:%02d", seconds/3600, seconds/60%60, seconds%60)
}
