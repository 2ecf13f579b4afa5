package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/model"
)

// soak counts good and failed starts, or runs of any kind, with the hands elsewhere.
func (v *pen) soak(u *state.Unit, t *model.Test) app.UI {
	k := u.Marks.Soak
	runs := k.Test == t.ID
	return app.Details().Class("more", "soak").Open(runs).Body(
		summary(v.say(words.SoakName)),
		app.Div().Class("soak-body").Body(
			app.If(!runs, app.P().Class("quiet").Text(v.say(words.SoakHelp))),
			app.If(!runs, v.button("button-plain", v.say(words.SoakStart), state.StartSoak{Test: t.ID})),
			app.If(runs, app.Div().Class("soak-counts").Body(
				v.tally("soak-good", "done", v.say(words.SoakGood), k.Good(), true),
				v.tally("soak-failed", "close", v.say(words.SoakFailed), k.Failed(), false),
			)),
			app.If(runs, app.P().Class("soak-sum").Role("status").Body(
				app.B().Text(v.say(words.SoakSum, k.Good(), len(k.Runs))),
				app.Text(" "+v.say(words.SoakSince, words.Clocked(u.Soaked))),
			)),
			app.If(runs, app.P().Class("quiet").Text(v.soakAdvice(k, t))),
			when(runs, func() app.UI { return v.soakRecord(k, t) }),
			app.If(runs, app.Div().Class("row").Body(
				v.button("button-plain", v.say(words.SoakUndo), state.UndoRun{}).Disabled(k.Runs == ""),
				v.button("button-plain", v.say(words.SoakNote), state.NoteCount{}).Disabled(k.Runs == ""),
				v.button("button-plain", v.say(words.SoakEnd), state.EndSoak{}),
			)),
		),
	)
}

// tally is a count and the target that adds one to it.
func (v *pen) tally(class, sign, name string, n int, good bool) app.UI {
	return v.act(app.Button().Type("button").Class("button", "tally", class), state.CountRun{Good: good}).Body(
		app.Span().Class("tally-name").Body(icon(sign), app.Span().Text(name)),
		app.Span().Class("tally-count").Text(n),
		app.Span().Class("tally-more").Text("+1"),
	)
}

// soakRecord records the result that the counts stand for, once they stand for one.
func (v *pen) soakRecord(k state.Soak, t *model.Test) app.UI {
	_, fits := k.Fits(t)
	return app.If(fits, v.button("button-main", v.say(words.SoakRecord), state.RecordCount{}))
}

// soakAdvice says what the counts stand for, or what is still to be done.
func (v *pen) soakAdvice(k state.Soak, t *model.Test) string {
	if i, ok := k.Fits(t); ok {
		return v.say(words.SoakFits, outcomeTitle(t, i))
	}
	if k.Failed() > 0 {
		return v.say(words.SoakWhich)
	}
	return v.say(words.SoakHelp)
}
