package view

import (
	"fmt"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// timed are the minutes that the bench timer offers: a start, stored charge, a
// warm-up, a soak.
var timed = []int{1, 5, 10, 30}

// timer is the bench timer, for a step that waits.
func (v *pen) timer(u *state.Unit) app.UI {
	runs := u.Marks.Timer != "" && u.Left > 0
	return app.Details().Class("more", "timer").Open(runs).Body(
		summary(v.say(words.TimerName)),
		app.If(runs, app.Div().Class("row").Body(
			app.P().Class("timer-left").Role("timer").Text(v.say(words.TimerLeft, fmt.Sprintf("%d:%02d", u.Left/60, u.Left%60))),
			v.button("button-plain", v.say(words.TimerStop), state.StartTimer{}),
		)),
		app.If(!runs, app.Div().Class("row").Body(app.Range(timed).Slice(func(i int) app.UI {
			return v.button("button-plain", v.words.Minutes(float64(timed[i])), state.StartTimer{Minutes: timed[i]})
		}))),
	)
}
