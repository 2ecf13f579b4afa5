package view

import (
	"math"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/trail"
)

// leading is how many suspects show before the rest is folded.
const leading = 6

// Odds is what may be wrong, in the engine's numbers.
type Odds struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Odds) Render() app.UI {
	u := at.shown.Unit
	if u == nil || u.Account == nil || u.Model == nil {
		return app.Div().Class("odds").Body(app.P().Class("quiet").Text(say(words.Thinking)))
	}
	odds := u.Account.Lines[len(u.Account.Lines)-1].Odds
	order := odds.Ranked()
	head, rest := order, []int(nil)
	if len(order) > leading {
		head, rest = order[:leading], order[leading:]
	}
	return app.Div().Class("odds").Body(
		app.H2().Text(say(words.OddsTitle)),
		app.If(u.Conflict.Kind != state.NoConflict, app.P().Class("wrong").Text(say(words.OddsBefore, u.Conflict.N))),
		app.P().Class("moved").Text(moved(u)),
		app.Ul().Class("suspects").Body(
			app.Range(head).Slice(func(i int) app.UI { return suspect(u, odds, head[i]) }),
		),
		app.If(len(rest) > 0, app.Details().Class("more").Body(
			app.Summary().Text(say(words.OddsRest, len(rest))),
			app.Ul().Class("suspects").Body(app.Range(rest).Slice(func(i int) app.UI { return suspect(u, odds, rest[i]) })),
		)),
		app.H3().Text(say(words.FaultsTitle)),
		app.Ul().Class("suspects", "faults").Body(app.Range(odds.Faults).Slice(func(i int) app.UI {
			return app.Li().Class("suspect").Body(
				app.Span().Class("suspect-name").Text(say(words.Faults, i)),
				app.Span().Class("number").Text(speech().Percent(odds.Faults[i])),
				bar("bar-faults", odds.Faults[i]),
			)
		})),
		&Chart{Rev: v.Rev},
		&Picture{Rev: v.Rev},
	)
}

func suspect(u *state.Unit, o trail.Odds, mode int) app.UI {
	return app.Li().Class("suspect").Body(
		app.Span().Class("suspect-name").Body(
			app.Text(modeTitle(u.Model, mode)),
			app.Span().Class("suspect-part").Text(partTitle(u.Model, mode)),
		),
		app.Span().Class("number").Text(speech().Percent(o.Modes[mode])),
		bar("bar-suspect", o.Modes[mode]),
	)
}

// moved says in one sentence what the last live event did to the odds.
func moved(u *state.Unit) string {
	lines := u.Account.Lines
	w := speech()
	for i := len(lines) - 1; i > 0; i-- {
		k := lines[i].Kind
		if !lines[i].Live || k != trail.Result && k != trail.Repair && k != trail.Setup {
			continue
		}
		before, after := lines[i-1].Odds, lines[i].Odds
		best, by := -1, 0.0
		for mode := range after.Modes {
			if d := math.Abs(after.Modes[mode] - before.Modes[mode]); d > by {
				best, by = mode, d
			}
		}
		if best < 0 || by < 0.0005 {
			return say(words.MovedNothing, lines[i].N)
		}
		key := words.MovedUp
		if after.Modes[best] < before.Modes[best] {
			key = words.MovedDown
		}
		return say(key, lines[i].N, modeTitle(u.Model, best), w.Percent(before.Modes[best]), w.Percent(after.Modes[best]))
	}
	return say(words.MovedStart)
}
