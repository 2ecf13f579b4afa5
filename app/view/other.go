package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/plan"
)

// Other is everything else one may do.
type Other struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Other) Render() app.UI {
	u := at.shown.Unit
	if u == nil {
		return app.Div()
	}
	return app.Div().Class("other").Body(
		app.If(u.Model != nil && u.Account != nil, &Steps{Rev: v.Rev}),
		app.If(u.Model != nil && u.Account != nil, &Stands{Rev: v.Rev}),
		&Closing{Rev: v.Rev},
	)
}

// offersShown is how many steps on offer show before the rest is folded.
const offersShown = 12

// Steps is every step on offer, the one with the least cost first, with a search.
type Steps struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Steps) Render() app.UI {
	u := at.shown.Unit
	if u == nil || u.Model == nil {
		return app.Div()
	}
	find, findScope := typed(func(text string) state.Msg { return state.FindOther{Text: text} }, "other")
	var found []plan.Proposal
	for _, p := range u.Proposals {
		if state.Matches(u.Find, stepTitle(u.Model, p.Step)) {
			found = append(found, p)
		}
	}
	// All that was looked for shows; without a search, what follows the steps is in reach.
	head, rest := found, []plan.Proposal(nil)
	if u.Find == "" && len(found) > offersShown {
		head, rest = found[:offersShown], found[offersShown:]
	}
	held := u.Held()
	return app.Section().Body(
		app.H2().Text(say(words.OtherTitle)),
		app.P().Class("quiet").Text(say(words.OtherHelp)),
		field("other-search", say(words.SearchSteps), "",
			app.Input().ID("other-search").Class("input").Type("search").Value(value("other-search", u.Find)).AutoComplete(false).OnInput(find, findScope),
		),
		app.Ul().Class("offers").Body(app.Range(head).Slice(func(i int) app.UI { return offer(u, head[i]) })),
		app.If(len(rest) > 0, app.Details().Class("more").Body(
			app.Summary().Text(say(words.OddsRest, len(rest))),
			app.Ul().Class("offers").Body(app.Range(rest).Slice(func(i int) app.UI { return offer(u, rest[i]) })),
		)),
		app.If(len(found) == 0, app.P().Class("quiet").Text(say(words.NothingFound))),
		app.If(len(held) > 0, app.Details().Class("more").Body(
			app.Summary().Text(say(words.HeldTitle, len(held))),
			app.Ul().Class("offers").Body(app.Range(held).Slice(func(i int) app.UI {
				h := held[i]
				return app.Li().Class("held").Body(
					app.Span().Class("offer-title").Text(stepTitle(u.Model, h.Step)),
					app.Span().Class("quiet").Text(speech().Held(&u.Unit, h)),
					app.If(h.Skip.N > 0, button("button-plain", say(words.CanNow), state.TakeBack{N: h.Skip.N})),
				)
			})),
		)),
	)
}

func offer(u *state.Unit, p plan.Proposal) app.UI {
	w := speech()
	h, s := tap(state.Choose{Step: p.Step})
	over := p.Total - u.Proposals[0].Total
	return app.Li().Body(app.Button().Type("button").Class("offer", "offer-"+string(p.Step.Kind)).OnClick(h, s).Body(
		app.Span().Class("offer-kind").Text(kindName(p.Step.Kind)),
		app.Span().Class("offer-title").Text(stepTitle(u.Model, p.Step)),
		app.Span().Class("offer-facts").Body(
			app.Span().Text(w.Minutes(p.Minutes)),
			app.If(p.Money > 0, app.Span().Text(w.Money(p.Money, u.Trail.Terms.Currency))),
			app.If(over > 0.005, app.Span().Text(say(words.OverBest, w.Money(over, u.Trail.Terms.Currency)))),
			app.If(over <= 0.005, app.Span().Text(say(words.IsBest))),
		),
	))
}

func kindName(k plan.StepKind) string {
	switch k {
	case plan.DoTest:
		return say(words.KindTest)
	case plan.DoRepair:
		return say(words.KindRepair)
	}
	return say(words.KindEnd)
}

// Stands is how the unit stands and how to change that.
type Stands struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Stands) Render() app.UI {
	u := at.shown.Unit
	if u == nil || u.Model == nil || u.Account == nil {
		return app.Div()
	}
	m, w := u.Model, speech()
	here := u.Account.Setup
	moves := u.Moves()
	return app.Section().Body(
		app.H2().Text(say(words.StandsTitle)),
		app.P().Body(app.Text(say(words.StandsNow)+" "), app.B().Text(setupTitle(m, here))),
		app.Range(moves).Slice(func(i int) app.UI {
			step, into := bench.MoveOf(m, moves[i])
			to, name := m.Setups[into].ID, say(words.WayEnter, setupTitle(m, into))
			if moves[i].Leave {
				name = say(words.WayLeave, setupTitle(m, into))
			}
			cautions := u.CautionsOfMove(moves[i])
			read := len(u.Unread(cautions)) == 0
			return app.Details().Class("more").Body(
				app.Summary().Body(app.Span().Text(name), app.Span().Class("quiet").Text(w.Minutes(step.Minutes))),
				app.If(len(cautions) > 0, cautionBox(u, cautions)),
				app.If(read, steps("stands-"+string(to), step.Steps)),
				app.If(read, button("button-main", say(words.WayDone), state.Move{To: to}).Disabled(u.Saving)),
			)
		}),
	)
}

// Closing is what ends a unit, and what takes its trail away.
type Closing struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Closing) Render() app.UI {
	u := at.shown.Unit
	if u == nil {
		return app.Div()
	}
	archived := u.Archived
	put := say(words.PutAway)
	if archived {
		put = say(words.PutBack)
	}
	return app.Section().Body(
		app.H2().Text(say(words.ClosingTitle)),
		app.Div().Class("stack").Body(
			button("button-plain", say(words.AddNote), state.OpenSheet{Sheet: state.SheetNote}),
			button("button-plain", say(words.Export), state.OpenSheet{Sheet: state.SheetExport}),
			app.A().Class("button", "button-plain").Href(link(state.Route{Screen: state.ScreenReport, Unit: u.Trail.ID})).Text(say(words.ReportTitle)),
			app.If(u.Model != nil, button("button-plain", say(words.ReturnUnit), state.OpenSheet{Sheet: state.SheetReturn})),
			button("button-plain", put, state.SetArchived{ID: u.Trail.ID, On: !archived}),
		),
	)
}
