package view

import (
	"math"
	"strconv"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/belief"
	"pitwise/engine/model"
)

// entry takes a reading: a number with its unit, what is expected, and what the
// number would say before it is stored.
func (v *pen) entry(u *state.Unit, t *model.Test) app.UI {
	h, s := v.typed(func(text string) state.Msg { return state.SetEntry{Text: text} }, t.ID)
	enter, enterScope := v.onEnter(state.SendEntry{})
	x, err := v.words.Number(u.Entry)
	wrong := ""
	if u.Entry != "" {
		wrong = v.numberTrouble(err)
	}
	return app.Div().Class("entry").Body(
		app.Div().Class("field").Body(
			app.Label().Class("field-name").For("entry").Text(v.say(words.EntryName)),
			// What a number would say stands where what is expected stood, so that nothing moves while one types.
			app.Div().Class("entry-help").Body(
				app.P().Class("field-help").ID("entry-help").Text(v.band(t)),
				app.P().ID("entry-says").Class("says").Aria("live", "polite").Body(
					app.If(wrong != "", app.Span().Class("wrong").Text(wrong)),
					app.If(u.Entry != "" && err == nil && !u.AskBack, app.Span().Text(v.says(t, x))),
					app.If(u.AskBack, app.Span().Class("wrong").Text(v.say(words.EntryFar, v.words.Quantity(x, t.Reading.Unit)))),
				),
			),
			app.Div().Class("with-unit").Body(
				app.Input().ID("entry").Class("input", "input-large").Type("text").Attr("inputmode", "decimal").Attr("enterkeyhint", "done").
					AutoComplete(false).Value(v.value("entry", u.Entry)).Aria("describedby", "entry-help entry-says").Aria("invalid", strconv.FormatBool(wrong != "")).
					OnInput(h, s).OnKeyDown(enter, enterScope),
				app.Span().Class("unit").Text(t.Reading.Unit),
				// Beside the field, so that a keyboard does not cover it.
				v.button("button-main", v.say(words.EntrySend), state.SendEntry{}).Disabled(u.Saving || err != nil),
			),
		),
		app.Details().Class("more").Body(
			summary(v.say(words.EntryNamed)),
			v.outcomes(u, t),
		),
	)
}

// band says which readings count as the best outcome.
func (v *pen) band(t *model.Test) string {
	w := v.words
	o := t.Outcomes[0]
	unit := t.Reading.Unit
	text := ""
	switch low, high := !math.IsInf(o.From, 0), !math.IsInf(o.To, 0); {
	case low && high:
		text = v.say(words.BandBetween, w.Quantity(o.From, ""), w.Quantity(o.To, unit))
	case low:
		text = v.say(words.BandFrom, w.Quantity(o.From, unit))
	case high:
		text = v.say(words.BandBelow, w.Quantity(o.To, unit))
	}
	if n := t.Reading.Nominal; n != nil {
		text += " " + v.say(words.BandNominal, w.Quantity(*n, unit))
	}
	return text
}

// says tells what a number would say, by the engine's weights.
func (v *pen) says(t *model.Test, x float64) string {
	w := v.words
	weights := belief.Weights(t, x)
	best := 0
	for i := range weights {
		if weights[i] > weights[best] {
			best = i
		}
	}
	quantity := w.Quantity(x, t.Reading.Unit)
	if weights[best] > 0.9995 {
		return v.say(words.SaysPlainly, quantity, outcomeTitle(t, best))
	}
	next := -1
	for i := range weights {
		if i != best && (next < 0 || weights[i] > weights[next]) {
			next = i
		}
	}
	return v.say(words.SaysEither, quantity, outcomeTitle(t, best), w.Percent(weights[best]), outcomeTitle(t, next), w.Percent(weights[next]))
}
