package view

import (
	"math"
	"slices"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/plan"
)

// evidence is what speaks for and against the modes of the chosen place.
func (v *pen) evidence(u *state.Unit) app.UI {
	m := u.Model
	odds := u.Account.Lines[len(u.Account.Lines)-1].Odds
	var modes []int
	title := u.Place
	for _, pl := range places(m, odds) {
		if pl.id != u.Place {
			continue
		}
		title = v.placeTitle(m, pl)
		for _, c := range pl.components {
			for i := range m.Components[c].ModeCount {
				modes = append(modes, m.Components[c].FirstMode+i)
			}
		}
	}
	tests := v.bearing(u, modes)
	return app.Section().Class("evidence").Aria("label", title).Body(
		app.H3().Text(title),
		app.Range(modes).Slice(func(i int) app.UI {
			mode := modes[i]
			told := v.evidenceOf(u, mode)
			return app.Div().Class("evidence-mode").Body(
				app.Ul().Class("suspects").Body(v.suspect(u, odds, mode)),
				app.If(len(told) == 0, app.P().Class("quiet").Text(v.say(words.EvidenceNone))),
				app.Ul().Class("evidence-list").Body(app.Range(told).Slice(func(j int) app.UI { return app.Li().Text(told[j]) })),
			)
		}),
		app.If(len(tests) > 0, app.Details().Class("more").Body(
			summary(v.say(words.EvidenceTests)),
			app.Ul().Class("offers").Body(app.Range(tests).Slice(func(i int) app.UI { return v.offer(u, tests[i]) })),
		)),
	)
}

// evidenceOf lists the results that moved a mode by a deciban or more.
func (v *pen) evidenceOf(u *state.Unit, mode int) []string {
	var out []string
	for _, l := range u.Account.Lines {
		if l.Decibans == nil || math.IsNaN(l.Decibans[mode]) || math.Abs(l.Decibans[mode]) < 1 {
			continue
		}
		db := l.Decibans[mode]
		key := words.EvidenceFor
		if db < 0 {
			key = words.EvidenceAgainst
		}
		out = append(out, v.say(key, u.Number(l.N), v.eventTitle(u.Model, u.Trail, u.Trail.Events[l.N-1])))
	}
	return out
}

// bearing returns the proposals whose test tells something of one of the modes; none of a unit that has left
// the bench.
func (v *pen) bearing(u *state.Unit, modes []int) []plan.Proposal {
	var out []plan.Proposal
	if _, ended := u.Ended(); ended {
		return nil
	}
	for _, p := range u.Proposals {
		if p.Step.Kind != plan.DoTest {
			continue
		}
		for _, g := range u.Model.Tests[p.Step.Index].Given {
			if slices.Contains(modes, g.Mode) {
				out = append(out, p)
				break
			}
		}
	}
	return out
}
