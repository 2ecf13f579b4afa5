package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// move leads from one device to another: the whole bench by a file, with a check at its end, and one
// unit by its codes.
func (v *pen) move(s state.State) app.UI {
	m := s.Moving
	return app.Main().Class("main", "settings").Body(
		app.P().Text(v.say(words.MoveLead)),
		app.Section().Class("block").Body(
			app.H2().Text(v.say(words.MoveWhole)),
			app.Ol().Class("move").Body(
				app.Li().Body(
					app.P().Text(v.say(words.MoveOld)),
					app.If(s.Count.Units > 0, v.withPhotos(s.WithPhotos, words.WithPhotosAll), v.backUps(s)),
					when(m.Out != nil, func() app.UI { return v.inventory(v.say(words.MoveOut), *m.Out) }),
				),
				app.Li().Body(
					app.P().Text(v.say(words.MoveNew)),
					app.Div().Class("row").Body(v.fileButton(v.say(words.ReadIn))),
				),
				app.Li().Body(
					app.P().Text(v.say(words.MoveThen)),
					app.Div().Role("status").Aria("live", "polite").Body(
						app.If(m.Checking, app.P().Text(v.say(words.MoveChecking))),
						when(m.In != nil && !m.Checking, func() app.UI { return v.arrived(*m.In) }),
					),
				),
			),
		),
		app.Section().Class("block").Body(
			app.H2().Text(v.say(words.MoveOne)),
			app.P().Text(v.say(words.MoveOneHelp)),
			v.reader(s),
		),
	)
}

// inventory is what a bench holds, with its check.
func (v *pen) inventory(name string, h state.Held) app.UI {
	return app.Div().Class("note-box").Body(
		app.P().Text(name),
		app.P().Text(v.say(words.MoveHeld, h.Units, h.Steps, h.Photos, h.Models)),
		app.If(h.Benches > 0, app.P().Text(v.say(words.MoveBenches, h.Benches))),
		app.P().Class("move-check").Text(v.say(words.MoveCheck, h.Check)),
	)
}

// arrived is what of a file is here, and whether that is all.
func (v *pen) arrived(h state.Held) app.UI {
	verdict := v.say(words.MoveAll)
	if h.Lacking > 0 {
		verdict = v.say(words.MoveLacks, h.Lacking)
	}
	return app.Div().Body(
		v.inventory(v.say(words.MoveIn), h),
		app.P().Class("move-verdict").Text(verdict),
	)
}
