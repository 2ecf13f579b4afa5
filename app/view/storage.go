package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// backUps are the ways to take the whole bench away.
func (v *pen) backUps(s state.State) app.UI {
	name := v.say(words.BackUpName)
	return app.Div().Class("row").Body(
		v.button("button-plain", v.say(words.WaySave), state.BackUp{Way: state.WaySave}).Aria("label", v.say(words.WaySave)+": "+name),
		app.If(s.CanShare, v.button("button-plain", v.say(words.WayShare), state.BackUp{Way: state.WayShare}).Aria("label", v.say(words.WayShare)+": "+name)),
	)
}

// absent is the screen of a unit that is not shown: it is still read, or is not here, or
// cannot be read, and then its records can be saved as they are.
func (v *pen) absent(s state.State) app.UI {
	if s.Absent == state.NoTrouble {
		return app.Main().Class("main").Body(app.P().Class("quiet").Role("status").Text(v.say(words.Loading)))
	}
	if s.Absent != state.TroubleRead {
		return app.Main().Class("main").Body(app.P().Text(v.say(words.UnitGone)), v.toBench())
	}
	return app.Main().Class("main").Body(
		app.P().Text(v.say(words.UnitDamaged)),
		v.button("button-plain", v.say(words.DamagedTake), state.SaveRaw{ID: s.Route.Unit}),
		v.toBench(),
	)
}
