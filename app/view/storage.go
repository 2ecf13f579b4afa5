package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// backUps are the ways to take the whole bench away.
func backUps(s state.State) app.UI {
	name := say(words.BackUpName)
	return app.Div().Class("row").Body(
		button("button-plain", say(words.WaySave), state.BackUp{Way: state.WaySave}).Aria("label", say(words.WaySave)+": "+name),
		app.If(s.CanShare, button("button-plain", say(words.WayShare), state.BackUp{Way: state.WayShare}).Aria("label", say(words.WayShare)+": "+name)),
	)
}

// absent is the screen of a unit that is not shown: it is still read, or is not here, or
// cannot be read, and then its records can be saved as they are.
func absent(s state.State) app.UI {
	if s.Absent == state.NoTrouble {
		return app.Main().Class("main").Body(app.P().Class("quiet").Role("status").Text(say(words.Loading)))
	}
	if s.Absent != state.TroubleRead {
		return app.Main().Class("main").Body(app.P().Text(say(words.UnitGone)))
	}
	return app.Main().Class("main").Body(
		app.P().Text(say(words.UnitDamaged)),
		button("button-plain", say(words.DamagedTake), state.SaveRaw{ID: s.Route.Unit}),
	)
}
