package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// timed are the minutes that the bench timer offers: a start, stored charge, a
// warm-up, a soak.
var timed = []int{1, 5, 10, 30}

// timing reports whether the bench timer runs.
func timing(u *state.Unit) bool { return u.Marks.Timer != "" && u.Left > 0 }

// timer is the bench timer, for a step that waits.
func (v *pen) timer(u *state.Unit) app.UI {
	runs := timing(u)
	return app.Details().Class("more", "timer").Open(runs).Body(
		summary(v.say(words.TimerName)),
		app.If(runs, app.Div().Class("row").Body(
			app.P().Class("timer-left").Role("timer").Text(v.say(words.TimerLeft, words.Clocked(u.Left))),
			v.button("button-plain", v.say(words.TimerStop), state.StartTimer{}),
		)),
		app.If(!runs, app.Div().Class("row").Body(app.Range(timed).Slice(func(i int) app.UI {
			return v.button("button-plain", v.words.Minutes(float64(timed[i])), state.StartTimer{Minutes: timed[i]})
		}))),
	)
}
