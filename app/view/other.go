package view

import (
	"strconv"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/plan"
)

// other is everything else one may do.
func (v *pen) other(u *state.Unit, s state.State) app.UI {
	_, ended := u.Ended()
	works := u.Model != nil && u.Account != nil && !ended
	return app.Div().Class("other").Body(
		when(works, func() app.UI { return v.allSteps(u) }),
		when(works, func() app.UI { return v.stands(u) }),
		when(ended, func() app.UI { return v.closing(u, s.Deleting == u.Trail.ID) }), // there it is what one comes for
		when(u.Model != nil, func() app.UI { return v.questions(u) }),
		when(!ended, func() app.UI { return v.closing(u, s.Deleting == u.Trail.ID) }),
	)
}

// offersShown is how many steps on offer show before the rest is folded.
const offersShown = 12

// allSteps is every step on offer, the one with the least cost first, with a search.
func (v *pen) allSteps(u *state.Unit) app.UI {
	find, findScope := v.typed(func(text string) state.Msg { return state.FindOther{Text: text} }, "other")
	found := u.FindSteps(v.words.ID)
	// All that was looked for shows; without a search, what follows the steps is in reach.
	head, rest := found, []plan.Proposal(nil)
	if u.Find == "" && len(found) > offersShown {
		head, rest = found[:offersShown], found[offersShown:]
	}
	held := u.Held()
	return app.Section().Body(
		app.H2().Text(v.say(words.OtherTitle)),
		app.P().Class("quiet").Text(v.say(words.OtherHelp)),
		field("other-search", v.say(words.SearchSteps), "",
			app.Input().ID("other-search").Class("input").Type("search").Value(v.value("other-search", u.Find)).AutoComplete(false).OnInput(find, findScope),
		),
		app.Ul().Class("offers").Body(app.Range(head).Slice(func(i int) app.UI { return v.offer(u, head[i]) })),
		app.If(len(rest) > 0, app.Details().Class("more").Body(
			summary(v.say(words.OddsRest, len(rest))),
			app.Ul().Class("offers").Body(app.Range(rest).Slice(func(i int) app.UI { return v.offer(u, rest[i]) })),
		)),
		app.If(len(found) == 0, app.P().Class("quiet").Text(v.say(words.NothingFound))),
		app.If(len(held) > 0, app.Details().Class("more").Body(
			summary(v.say(words.HeldTitle, len(held))),
			app.Ul().Class("offers").Body(app.Range(held).Slice(func(i int) app.UI {
				h := held[i]
				return app.Li().Class("held").Body(
					app.Span().Class("offer-title").Text(v.stepTitle(u.Model, h.Step)),
					app.Span().Class("quiet").Text(v.words.Held(&u.Unit, h)),
					app.If(h.Skip.N > 0, v.button("button-plain", v.say(words.CanNow), state.TakeBack{N: h.Skip.N})),
				)
			})),
		)),
	)
}

func (v *pen) offer(u *state.Unit, p plan.Proposal) app.UI {
	w := v.words
	over := p.Total - u.Proposals[0].Total
	return app.Li().Body(v.act(app.Button().Type("button").Class("offer", "offer-"+string(p.Step.Kind)), state.Choose{Step: p.Step}).Body(
		app.Span().Class("offer-kind").Text(v.kindName(p.Step.Kind)),
		app.Span().Class("offer-words").Body(
			app.Span().Class("offer-title").Text(v.stepTitle(u.Model, p.Step)),
			app.Span().Class("offer-facts").Body(
				app.If(p.Minutes > 0, app.Span().Text(w.Minutes(p.Minutes))),
				app.If(p.Money > 0, app.Span().Text(w.Money(p.Money, u.Terms().Currency))),
				app.If(over > 0 && words.Counts(over, u.Terms().Currency), app.Span().Text(v.say(words.OverBest, w.About(over, u.Terms().Currency)))),
				app.If(!words.Counts(over, u.Terms().Currency), app.Span().Text(v.say(words.IsBest))),
			),
		),
	))
}

func (v *pen) kindName(k plan.StepKind) string {
	switch k {
	case plan.DoTest:
		return v.say(words.KindTest)
	case plan.DoRepair:
		return v.say(words.KindRepair)
	}
	return v.say(words.KindEnd)
}

// stands is how the unit stands and how to change that.
func (v *pen) stands(u *state.Unit) app.UI {
	m, w := u.Model, v.words
	here := u.Account.Setup
	moves := u.Moves()
	return app.Section().Body(
		app.H2().Text(v.say(words.StandsTitle)),
		app.P().Body(app.Text(v.say(words.StandsNow)+" "), app.B().Text(setupTitle(m, here))),
		app.Range(moves).Slice(func(i int) app.UI {
			step, into := m.Move(moves[i])
			to, name := m.Setups[into].ID, v.say(words.WayEnter, setupTitle(m, into))
			if moves[i].Leave {
				name = v.say(words.WayLeave, setupTitle(m, into))
			}
			cautions := u.CautionsOfMove(moves[i])
			unread := u.Unread(cautions)
			read := len(unread) == 0
			return app.Details().Class("more").Body(
				app.Summary().Body(app.Span().Text(name), app.Span().Class("quiet").Text(w.Minutes(step.Minutes))),
				when(read && len(cautions) > 0, func() app.UI { return v.cautionList(cautions) }),
				when(!read, func() app.UI {
					return app.Div().Class("block").Body(app.Section().Class("cautions").Body(v.caution(unread[0])),
						v.button("button-main", v.say(words.CautionsRead), state.Acknowledge{IDs: []model.CautionID{unread[0].ID}}))
				}),
				app.If(read, v.steps(u, "stands-"+string(to), step.Steps)),
				app.If(read, v.button("button-main", v.say(words.WayDone), state.Move{To: to}).Disabled(u.Saving)),
			)
		}),
	)
}

// closing is what ends a unit, or brings one that left back, and what takes its trail away.
func (v *pen) closing(u *state.Unit, deleting bool) app.UI {
	_, ended := u.Ended()
	archived := u.Archived
	put := v.say(words.PutAway)
	if archived {
		put = v.say(words.PutBack)
	}
	return app.Section().Body(
		app.H2().Text(v.say(words.ClosingTitle)),
		app.Div().Class("stack").Body(
			app.If(u.Model != nil && ended, v.button("button-plain", v.say(words.CameBack), state.OpenSheet{Sheet: state.SheetBack})),
			app.If(u.Model != nil && !ended, v.button("button-plain", v.say(words.TermsChange), state.OpenSheet{Sheet: state.SheetTerms})),
			app.If(!ended, v.waiting(u)),
			v.button("button-plain", v.say(words.AddNote), state.OpenSheet{Sheet: state.SheetNote}),
			v.button("button-plain", v.say(words.Export), state.OpenSheet{Sheet: state.SheetExport}),
			app.A().Class("button", "button-plain").Href(v.link(state.Route{Screen: state.ScreenReport, Unit: u.Trail.ID})).Text(v.say(words.ReportTitle)),
			app.If(u.Model != nil && !ended, v.button("button-plain", v.say(words.ReturnUnit), state.OpenSheet{Sheet: state.SheetReturn})),
			v.button("button-plain", put, state.SetArchived{ID: u.Trail.ID, On: !archived}),
			app.If(!deleting, v.button("button-plain", v.say(words.DeleteUnit), state.AskDelete{ID: u.Trail.ID})),
			app.If(deleting, app.Div().Class("alarm").Role("group").Body(
				app.P().Role("alert").Text(v.say(words.DeleteAsk)),
				app.Div().Class("row").Body(
					v.button("button-plain", v.say(words.DeleteYes), state.DeleteUnit{ID: u.Trail.ID}),
					v.button("button-plain", v.say(words.Cancel), state.AskDelete{}),
				),
			)),
		),
	)
}

// waiting ends what the unit waits for, or asks what that is.
func (v *pen) waiting(u *state.Unit) app.UI {
	if _, waits := u.Waiting(); waits && u.Model != nil {
		return v.button("button-plain", v.say(words.WaitEnd), state.EndWait{})
	}
	return v.button("button-plain", v.say(words.WaitGo), state.OpenSheet{Sheet: state.SheetWait})
}

// questions are what the owner may still be asked; an answer is welcome at any time.
func (v *pen) questions(u *state.Unit) app.UI {
	all := u.Questions()
	if len(all) == 0 {
		return app.If(false)
	}
	return app.Section().Body(
		app.H2().Text(v.say(words.QuestionsName)),
		app.P().Class("quiet").Text(v.say(words.QuestionsHelp)),
		app.Range(all).Slice(func(i int) app.UI {
			said := model.OutcomeID("")
			if all[i].Answer != nil {
				said = all[i].Answer.Outcome
			}
			return v.question(&u.Model.Tests[all[i].Test], said)
		}),
	)
}

// question is a question to the owner: its answers as chips, one tap each; the same tap again
// takes it back.
func (v *pen) question(t *model.Test, said model.OutcomeID) app.UI {
	return app.FieldSet().Class("question").Body(
		app.Legend().Text(titled(t.Words, string(t.ID))),
		app.Div().Class("chips").Body(app.Range(t.Outcomes).Slice(func(i int) app.UI {
			on := t.Outcomes[i].ID == said
			return v.chip(outcomeTitle(t, i), on, state.Answer{Test: t.ID, Outcome: t.Outcomes[i].ID})
		})),
	)
}

// chip is one of a few, on or off.
func (v *pen) chip(label string, on bool, m state.Msg) app.UI {
	return v.act(app.Button().Type("button").Class("button", "chip").Aria("pressed", strconv.FormatBool(on)), m).Body(app.Span().Text(label))
}
