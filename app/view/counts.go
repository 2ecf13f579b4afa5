package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/learn"
)

// benchesShown is how many benches are listed; the rest is counted.
const benchesShown = 12

// benchLine is a bench with the units that it brought, and what else is said and done of it.
func (v *pen) benchLine(id string, units int, further ...app.UI) app.UI {
	return app.Li().Class("figure").Body(append([]app.UI{
		app.B().Body(app.Elem("bdi").Text(benchTitle(id))),
		app.Span().Class("number").Text(v.say(words.CountsUnits, units)),
	}, further...)...)
}

// benchTitle is a stranger's name as it is shown.
func benchTitle(id string) string { return short(state.Printable(id), labelShown) }

// benches lists benches. note is what is said of one.
func (v *pen) benches(all []learn.Bench, note func(learn.Bench) app.UI) app.UI {
	shown := all[:min(len(all), benchesShown)]
	return app.Div().Body(
		app.Ul().Class("figure-list").Body(app.Range(shown).Slice(func(i int) app.UI { return v.benchLine(shown[i].ID, shown[i].Units, note(shown[i])) })),
		app.If(len(all) > len(shown), app.P().Class("quiet").Text(v.say(words.RefusedMore, len(all)-len(shown)))),
	)
}

// weight says what a bench of so many units weighs if that is less.
func (v *pen) weight(units int) app.UI {
	return app.If(units > learn.MostLent, app.Span().Class("quiet").Text(v.say(words.CountsLike, learn.MostLent)))
}

// lent is what is held of other benches for the model of that id, and what was just taken out.
func (v *pen) lent(s state.State, id string) app.UI {
	all := s.Lenders(id)
	return app.If(len(all) > 0, app.Div().Class("learning").Body(
		app.H3().Text(v.say(words.CountsName)),
		app.Ul().Class("figure-list").Body(app.Range(all).Slice(func(i int) app.UI {
			l := all[i]
			act := func(key words.Key, m state.Msg) app.UI {
				return v.button("button-plain", v.say(key), m).Aria("label", v.say(key)+": "+benchTitle(l.ID))
			}
			if l.Out {
				return v.benchLine(l.ID, l.Units, act(words.BringBack, state.RestoreBench{Model: id, SHA256: l.SHA256, ID: l.ID}),
					app.Span().Class("quiet").Role("status").Text(v.say(words.CountsOut)))
			}
			note := v.weight(l.Units)
			switch {
			case l.Stale:
				note = app.Span().Class("quiet").Text(v.say(words.CountsStale))
			case l.Own:
				note = app.Span().Class("quiet").Text(v.say(words.CountsOwn))
			}
			return v.benchLine(l.ID, l.Units, act(words.CountsDrop, state.DropBench{Model: id, SHA256: l.SHA256, ID: l.ID}), note)
		})),
	))
}

// otherBenches is what benches have to do with each other, and the way to read their counts in.
func (v *pen) otherBenches() app.UI {
	return app.Section().Class("block").Body(
		app.H2().Text(v.say(words.CountsName)),
		app.P().Text(v.say(words.CountsHelp, learn.MostLent)),
		app.P().Text(v.say(words.CountsIn)),
		app.Div().Class("row").Body(v.fileButton(v.say(words.ReadIn))),
	)
}

// giving asks for the name of this bench, or hands over what was counted.
func (v *pen) giving(s state.State, l state.Learning) app.UI {
	if l.Give != nil {
		return v.give(s, *l.Give)
	}
	typed, scope := v.typed(func(x string) state.Msg { return state.SetBench{Text: x} }, "bench")
	return app.Div().Class("learning").Body(
		field("bench", v.say(words.CountsAsk), v.say(words.CountsAskHelp),
			app.Input().ID("bench").Class("input").Type("text").MaxLength(60).Value(v.value("bench", s.Bench)).AutoComplete(false).
				Aria("describedby", "bench-help").OnInput(typed, scope)),
		app.Div().Class("row").Body(
			v.button("button-main", v.say(words.CountsGo), state.CountUnits{}).Disabled(s.BenchName() == ""),
			v.button("button-plain", v.say(words.Close), state.LeaveLearnt{}),
		),
	)
}

// give is what the file holds, what is in it and what not, and the ways to take it away.
func (v *pen) give(s state.State, c learn.Counts) app.UI {
	way := func(key words.Key, way state.Way) app.UI {
		return v.button("button-main", v.say(key), state.TakeCounts{Way: way}).Aria("label", v.say(key)+": "+v.say(words.CountsName))
	}
	return app.Div().Class("learning").Body(
		app.P().Role("status").Text(v.say(words.CountsReady)),
		v.benches(c.Benches, func(b learn.Bench) app.UI {
			return app.If(b.ID == s.BenchName(), app.Span().Class("quiet").Text(v.say(words.CountsMine)))
		}),
		app.P().Text(v.say(words.CountsIn)),
		app.Div().Class("row").Body(
			way(words.WaySave, state.WaySave),
			app.If(s.CanShare, way(words.WayShare, state.WayShare)),
			v.button("button-plain", v.say(words.CountsOther), state.NameBench{}),
			v.button("button-plain", v.say(words.Close), state.LeaveLearnt{}),
		),
	)
}
