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

// odds is what may be wrong, in the engine's numbers.
func (v *pen) odds(u *state.Unit) app.UI {
	if u.Conflict.Kind != state.NoConflict && u.Account == nil {
		return app.Div().Class("odds").Body(app.P().Class("quiet").Text(v.say(words.ConflictTitle)))
	}
	if u.Account == nil || u.Model == nil {
		return app.Div().Class("odds").Body(app.P().Class("quiet").Text(v.say(words.Thinking)))
	}
	odds := u.Account.Lines[len(u.Account.Lines)-1].Odds
	order := odds.Ranked()
	head, rest := order, []int(nil)
	if len(order) > leading {
		head, rest = order[:leading], order[leading:]
	}
	return app.Div().Class("odds").Body(
		app.H2().Text(v.say(words.OddsTitle)),
		v.whose(u.Model),
		app.If(u.Conflict.Kind != state.NoConflict, app.P().Class("wrong").Text(v.say(words.OddsBefore, u.Number(u.Conflict.N)))),
		app.P().Class("moved").Text(v.moved(u)),
		app.Ul().Class("suspects").Body(
			app.Range(head).Slice(func(i int) app.UI { return v.suspect(u, odds, head[i]) }),
		),
		app.If(len(rest) > 0, app.Details().Class("more").Body(
			summary(v.say(words.OddsRest, len(rest))),
			app.Ul().Class("suspects").Body(app.Range(rest).Slice(func(i int) app.UI { return v.suspect(u, odds, rest[i]) })),
		)),
		v.hanging(u),
		app.H3().Text(v.say(words.FaultsTitle)),
		app.Ul().Class("suspects", "faults").Body(app.Range(odds.Faults).Slice(func(i int) app.UI {
			return app.Li().Class("suspect").Body(
				app.Span().Class("suspect-name").Text(v.say(words.Faults, i)),
				app.Span().Class("number").Text(v.words.Percent(odds.Faults[i])),
				bar("bar-faults", odds.Faults[i]),
			)
		})),
		v.chart(u),
		v.picture(u),
	)
}

func (v *pen) suspect(u *state.Unit, o trail.Odds, mode int) app.UI {
	return app.Li().Class("suspect").Body(
		app.Span().Class("suspect-name").Body(
			app.Text(modeTitle(u.Model, mode)),
			app.Span().Class("suspect-part").Text(partTitle(u.Model, mode)),
		),
		app.Span().Class("number").Text(v.words.Percent(o.Modes[mode])),
		bar("bar-suspect", o.Modes[mode]),
	)
}

// moved says in one sentence what the last live event did to the odds.
func (v *pen) moved(u *state.Unit) string {
	lines := u.Account.Lines
	w := v.words
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
			return v.say(words.MovedNothing, u.Number(lines[i].N))
		}
		key := words.MovedUp
		if after.Modes[best] < before.Modes[best] {
			key = words.MovedDown
		}
		return v.say(key, u.Number(lines[i].N), modeTitle(u.Model, best), w.Percent(before.Modes[best]), w.Percent(after.Modes[best]))
	}
	return v.say(words.MovedStart)
}
