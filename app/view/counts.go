package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/learn"
)

// benchesOpen is how many benches are listed without a tap.
const benchesOpen = 6

// brought is a list of benches with the units that each brought, folded if it is long.
func (v *pen) brought(key words.Key, all []learn.Bench) app.UI {
	var lenders []state.Lender
	for _, b := range all {
		lenders = append(lenders, state.Lender{ID: b.ID, Units: b.Units})
	}
	title, list := app.Span().Text(v.say(key, len(all))), v.lenders("", lenders)
	if len(all) <= benchesOpen {
		return app.Div().Class("stacked").Body(app.P().Role("status").Body(title), list)
	}
	return app.Details().Class("more").Body(app.Summary().Body(title), list)
}

// lenders lists benches; those that are held for a model can be taken out and brought back.
func (v *pen) lenders(model string, all []state.Lender) app.UI {
	return app.Ul().Class("figure-list").Body(app.Range(all).Slice(func(i int) app.UI {
		l := all[i]
		name := short(state.Printable(l.ID), labelShown)
		note, act, m := "", v.say(words.CountsDrop), state.Msg(state.DropBench{Model: model, SHA256: l.SHA256, ID: l.ID})
		switch {
		case l.Out:
			note, act, m = v.say(words.CountsOut), v.say(words.BringBack), state.RestoreBench{Model: model, SHA256: l.SHA256, ID: l.ID}
		case l.Stale:
			note = v.say(words.CountsStale)
		case l.Own:
			note = v.say(words.CountsOwn)
		case l.Units > learn.MostLent:
			note = v.say(words.CountsLike, learn.MostLent)
		}
		return app.Li().Class("figure").Body(
			app.B().Body(app.Elem("bdi").Text(name)),
			app.Span().Class("number").Text(v.say(words.CountsUnits, l.Units)),
			when(model != "", func() app.UI { return v.button("button-plain", act, m).Aria("label", act+": "+name) }),
			app.If(note != "", app.Span().Class("quiet").Text(note)),
		)
	}))
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

// giving asks for the name of this bench; then it says what the file holds, and hands it over.
func (v *pen) giving(s state.State, l state.Learning) app.UI {
	var body []app.UI
	if l.Give == nil {
		typed, scope := v.typed(func(x string) state.Msg { return state.SetBench{Text: x} }, "bench")
		body = []app.UI{
			field("bench", v.say(words.CountsAsk), v.say(words.CountsAskHelp),
				app.Input().ID("bench").Class("input").Type("text").MaxLength(60).Value(v.value("bench", s.Bench)).AutoComplete(false).
					Aria("describedby", "bench-help").OnInput(typed, scope)),
			v.button("button-main", v.say(words.CountsGo), state.CountUnits{}).Disabled(s.BenchName() == ""),
		}
	} else {
		body = []app.UI{
			v.brought(words.CountsReady, l.Give.Benches),
			app.P().Text(v.say(words.CountsIn)),
			v.button("button-main", v.say(words.WaySave), state.TakeCounts{Way: state.WaySave}),
			app.If(s.CanShare, v.button("button-main", v.say(words.WayShare), state.TakeCounts{Way: state.WayShare})),
			v.button("button-plain", v.say(words.CountsOther), state.NameBench{}),
		}
	}
	return app.Div().Class("stacked").Body(append(body, v.button("button-plain", v.say(words.Close), state.LeaveLearnt{}))...)
}
