package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/plan"
)

// Reason says why this step, in the engine's numbers.
type Reason struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Reason) Render() app.UI {
	u, p, ok := current()
	if !ok {
		return app.Div()
	}
	lines := reasons(u, p)
	return app.Div().Class("reason").Body(app.Range(lines).Slice(func(i int) app.UI { return app.P().Text(lines[i]) }))
}

func reasons(u *state.Unit, p plan.Proposal) []string { return speech().Reasons(&u.Unit, p) }

// Follows is what each result would lead to.
type Follows struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Follows) Render() app.UI {
	u, p, ok := current()
	if !ok || len(p.Outcomes) == 0 {
		return app.Div()
	}
	w, m := speech(), u.Model
	t := &m.Tests[p.Step.Index]
	return app.Details().Class("more").Body(
		app.Summary().Text(say(words.FollowsName)),
		app.P().Class("quiet").Text(say(words.FollowsBits, w.Decimal(p.Bits, 2))),
		app.Ul().Class("follows").Body(app.Range(p.Outcomes).Slice(func(i int) app.UI {
			f := p.Outcomes[i]
			suspect := say(words.FollowsSound, w.Percent(f.Odds))
			if f.Suspect >= 0 {
				suspect = say(words.FollowsSuspect, modeTitle(m, f.Suspect), w.Percent(f.Odds))
			}
			return app.Li().Body(
				app.B().Text(outcomeTitle(t, f.Outcome)),
				app.Span().Class("number").Text(w.Percent(f.P)),
				bar("bar-follow", f.P),
				app.Span().Class("quiet").Text(suspect),
				app.Span().Class("quiet").Text(say(words.FollowsNext, stepTitle(m, f.Next))),
			)
		})),
	)
}
