package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/trail"
)

// trail is what was done, the latest first, each with one tap to take it back.
func (v *pen) trail(u *state.Unit, a *state.Album) app.UI {
	live := u.Trail.Live()
	n := len(u.Trail.Events)
	warnings := map[int]bool{}
	if u.Account != nil {
		for _, w := range u.Account.Warnings {
			warnings[w.N] = true
		}
	}
	return app.Div().Class("trail").Body(
		v.photos(a),
		app.H2().Text(v.say(words.TrailTitle)),
		app.Div().Class("row").Body(v.button("button-plain", v.say(words.AddNote), state.OpenSheet{Sheet: state.SheetNote})),
		app.If(n == 0, app.P().Class("quiet").Text(v.say(words.TrailEmpty))),
		app.Ol().Class("events").Attr("reversed", true).Body(app.Range(u.Trail.Events).Slice(func(i int) app.UI {
			i = n - 1 - i
			return v.event(u, u.Trail.Events[i], live, i >= n-u.Unsaved, warnings[i+1])
		})),
		app.If(len(u.Damaged) > 0, app.Section().Class("alarm").Body(
			app.P().Text(v.say(words.DamagedText, len(u.Damaged))),
			v.button("button-plain", v.say(words.DamagedTake), state.TakeAway{Form: state.FormDamaged, Way: state.WaySave}),
		)),
	)
}

func (v *pen) event(u *state.Unit, e trail.Event, live []bool, unsaved, away bool) app.UI {
	class := "event-live"
	if !live[e.N-1] {
		class = "event-gone"
	}
	act, n := v.say(words.TakeBack), e.N
	if !live[e.N-1] {
		// Bring back: void the live void that names it.
		act, n = v.say(words.BringBack), voidOf(u.Trail, live, e.N)
	}
	return app.Li().Class("event", class, "event-"+string(e.Kind)).Body(
		app.Span().Class("event-number").Text(numbered(u.Number(e.N))),
		app.Div().Class("event-words").Body(
			app.Span().Class("event-title").Text(v.eventTitle(u.Model, u.Trail, e)),
			app.If(e.Reason != "", app.Span().Class("quiet").Text(short(e.Reason, noteShown))),
			app.Span().Class("event-when").Body(
				app.Text(v.words.Clock(e.At, v.zone)),
				app.If(!live[e.N-1], app.B().Text(v.say(words.EventIsVoid))),
				app.If(unsaved, app.B().Class("wrong").Text(v.say(words.EventUnsaved))),
				app.If(away, app.B().Text(v.say(words.EventAway))),
			),
		),
		app.If(n > 0 && e.Kind != trail.Void, v.button("button-plain", act, state.TakeBack{N: n}).Disabled(u.Saving).
			Aria("label", act+": "+short(v.eventTitle(u.Model, u.Trail, e), labelShown))),
	)
}

// voidOf returns the number of the live void that names event n, 0 if none.
func voidOf(t *trail.Trail, live []bool, n int) int {
	for i := len(t.Events) - 1; i >= 0; i-- {
		if live[i] && t.Events[i].Kind == trail.Void && t.Events[i].Of == n {
			return t.Events[i].N
		}
	}
	return 0
}
