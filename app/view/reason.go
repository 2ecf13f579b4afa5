package view

import (
	"cmp"
	"slices"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/model"
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

func reasons(u *state.Unit, p plan.Proposal) []string {
	m, w, r := u.Model, speech(), p.Reason
	money := func(x float64) string { return w.Money(x, u.Trail.Terms.Currency) }
	var lines []string
	switch p.Step.Kind {
	case plan.DoTest:
		t := &m.Tests[p.Step.Index]
		if t.Why != "" {
			lines = append(lines, t.Why)
		}
		if a, b := r.Separates[0], r.Separates[1]; a >= 0 && b >= 0 && a != b {
			lines = append(lines, say(words.ReasonSeparates, modeTitle(m, a), modeTitle(m, b)))
		}
	case plan.DoRepair:
		rep := &m.Repairs[p.Step.Index]
		if rep.Why != "" {
			lines = append(lines, rep.Why)
		}
		odds := u.Account.Final.Modes(nil)
		// What it most probably mends now, and a second thing only if that is not far behind.
		gain := func(c model.Chance) float64 { return odds[c.Mode] * c.P }
		fixes := slices.Clone(rep.Change.Fixes)
		slices.SortStableFunc(fixes, func(a, b model.Chance) int { return cmp.Compare(gain(b), gain(a)) })
		for _, c := range fixes[:min(len(fixes), 2)] {
			if gain(c) < gain(fixes[0])/5 {
				break
			}
			lines = append(lines, say(words.ReasonFixes, modeTitle(m, c.Mode), w.Percent(odds[c.Mode]), w.Percent(c.P)))
		}
	case plan.SignOff:
		lines = append(lines,
			say(words.ReasonLeft, w.Percent(p.Left)),
			say(words.ReasonEither, money(r.SignOff), money(r.WriteOff)))
		if r.Proof > 0 {
			lines = append(lines, say(words.ReasonProof, money(r.Proof)))
		}
	case plan.WriteOff:
		lines = append(lines, say(words.ReasonEither, money(r.SignOff), money(r.WriteOff)))
	}
	switch {
	case r.Other == p.Step:
	case r.Saves > 0:
		lines = append(lines, say(words.ReasonSaves, money(r.Saves), stepTitle(m, r.Other)))
	case r.Saves < 0:
		lines = append(lines, say(words.ReasonCosts, money(-r.Saves), stepTitle(m, r.Other)))
	}
	return lines
}

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
