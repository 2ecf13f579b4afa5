package view

import (
	"math"

	"slices"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/catalog"
	"pitwise/engine/worth"
)

// worth is what owning each tool saves on this bench: which one to buy next.
func (v *pen) worth(s state.State) app.UI {
	return app.Main().Class("main", "settings").Body(
		app.P().Text(v.say(words.WorthHelp)),
		app.Range(s.Models).Slice(func(i int) app.UI { return v.familyWorth(s, s.Models[i]) }),
	)
}

func (v *pen) familyWorth(s state.State, e catalog.Entry) app.UI {
	w := s.Weighing
	if w.Model != e.ID {
		w = state.Weighing{}
	}
	return app.Section().Class("block").Body(
		app.H2().Text(catalog.Title(e.ID, e.Title, s.Lang)),
		app.If(w.Failed, app.P().Role("status").Text(v.say(words.WorthFailed))),
		when(w.Units > 0 && w.Base != nil, func() app.UI { return v.savings(s, w) }),
		when(w.Busy, func() app.UI {
			return app.Div().Class("worth-busy").Body(
				app.P().Role("status").Text(v.say(words.WorthBusy, w.Done, w.All)),
				bar("bar-follow", float64(w.Done)/float64(max(w.All, 1))),
				v.button("button-plain", v.say(words.NumbersStop), state.StopWeighing{}),
			)
		}),
		app.If(!w.Busy, v.button("button-plain", v.say(words.WorthAsk), state.WeighTools{Model: e.ID})),
	)
}

// savings lists what each tool saves, the most first.
func (v *pen) savings(s state.State, w state.Weighing) app.UI {
	m := catalog.Speak(w.Base, s.Lang)
	owned := slices.ContainsFunc(w.Tools, func(t worth.Tool) bool { return slices.Contains(w.Terms.Tools, t.ID) })
	title := words.WorthAway
	if owned {
		title = words.WorthAll
	}
	most := 0.0
	for _, t := range w.Tools {
		most = max(most, t.Saves)
	}
	return app.Div().Class("savings").Body(
		app.P().Text(v.say(title)),
		app.P().Class("quiet").Text(v.say(words.WorthUnits, w.Units)),
		app.Ul().Class("follows", "follows-wide").Body(app.Range(w.Tools).Slice(func(i int) app.UI {
			t := w.Tools[i]
			key := words.WorthSaves
			if t.Saves < 2*t.StandardError || t.Saves <= 0 {
				key = words.WorthUnclear
			}
			mended, of := words.WorthMended, int(math.Round(100*t.Mended))
			if of < 0 {
				mended, of = words.WorthFewer, -of
			}
			return app.Li().Body(
				app.B().Text(toolTitle(m, t.ID)),
				app.Span().Class("number").Text(v.say(key, v.words.Money(t.Saves, w.Terms.Currency), v.words.Money(t.StandardError, w.Terms.Currency))),
				bar("bar-follow", max(t.Saves, 0)/max(most, 1e-9)),
				app.Span().Class("quiet").Text(v.say(mended, of)),
			)
		})),
	)
}
