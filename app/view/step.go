package view

import (
	"slices"
	"strconv"
	"strings"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/plan"
)

// step is what to do next.
func (v *pen) step(u *state.Unit) app.UI {
	p, ok := u.Current()
	// An ending is not put to anyone before it is certain.
	if ok && !u.Settled && !u.HasChosen && (p.Step.Kind == plan.SignOff || p.Step.Kind == plan.WriteOff) {
		ok = false
	}
	end, ended := u.Ended()
	return app.Div().Class("step").Body(
		when(u.Conflict.Kind != state.NoConflict, func() app.UI { return v.conflict(u) }),
		when(u.Conflict.Kind == state.NoConflict && u.Model != nil, func() app.UI { return v.doubt(u) }),
		app.If(ended, app.Section().Class("note-box").Body(
			app.P().Text(v.say(words.EndedAs, v.ending(end.As))),
			v.button("button-plain", v.say(words.OpenAgain), state.TakeBack{N: end.N}),
			app.A().Class("button", "button-plain").Href(v.link(state.Route{Screen: state.ScreenReport, Unit: u.Trail.ID})).Text(v.say(words.ReportTitle)),
		)),
		app.If(!ok && u.Conflict.Kind == state.NoConflict, app.P().Class("thinking").Role("status").Text(v.say(words.Thinking))),
		when(ok && !ended && u.Model != nil && u.Account != nil, func() app.UI { return v.proposal(u, p) }),
	)
}

// proposal is the step at hand, with all that belongs to it.
func (v *pen) proposal(u *state.Unit, p plan.Proposal) app.UI {
	w, m := v.words, u.Model
	cautions := u.Cautions(p)
	unread := u.Unread(cautions)
	eyebrow := v.say(words.NextStep)
	if !u.IsFirst() {
		eyebrow = v.say(words.YourChoice)
	}
	proof, due := u.Proof()
	proving := due && p.Step == proof
	return app.Article().Class("proposal").Body(
		app.P().Class("eyebrow").Body(
			app.Span().Text(eyebrow),
			app.If(proving, app.Span().Text(v.say(words.ProofRun))),
			app.If(u.InPlace && u.HasChosen, app.Span().Text(v.say(words.AsItStands))),
			app.If(!u.Settled, app.Span().Class("still").Role("status").Text(v.say(words.StillThinking))),
		),
		app.H2().Class("proposal-title").Text(v.stepTitle(m, p.Step)),
		app.P().Class("facts").Body(
			fact(w.Minutes(p.Minutes), v.say(words.OfWork)),
			app.If(p.Money > 0, fact(w.Money(p.Money, u.Trail.Terms.Currency), v.say(words.OfMoney))),
		),
		v.reason(u, p),
		v.hand(m, p),
		app.If(len(cautions) > 0, v.cautionBox(u, cautions)),
		when(len(unread) == 0, func() app.UI { return v.doing(u, p) }),
		app.If(len(unread) == 0 && (p.Step.Kind == plan.DoTest || p.Step.Kind == plan.DoRepair || len(u.Way(p)) > 0), v.timer(u)),
		app.Div().Class("aside-actions").Body(
			app.If(!u.IsFirst(), v.button("button-plain", v.say(words.BackToProposal), state.ChooseFirst{})),
			app.If(p.Step.Kind == plan.DoTest, v.button("button-plain", v.say(words.CannotNow), state.OpenSheet{Sheet: state.SheetSkip})),
			app.A().Class("button", "button-plain", "narrow-only").Href(v.link(state.Route{Screen: state.ScreenUnit, Unit: u.Trail.ID, Pane: state.PaneOther})).
				Text(v.say(words.SomethingElse)),
		),
	)
}

// hand lists what has to be at hand.
func (v *pen) hand(m *model.Model, p plan.Proposal) app.UI {
	var needs []model.ToolID
	switch p.Step.Kind {
	case plan.DoTest:
		needs = m.Tests[p.Step.Index].Needs
	case plan.DoRepair:
		needs = m.Repairs[p.Step.Index].Needs
	}
	if len(needs) == 0 {
		return app.If(false, app.Div())
	}
	titles := make([]string, len(needs))
	for i, id := range needs {
		titles[i] = toolTitle(m, id)
	}
	return app.P().Class("hand").Body(app.B().Text(v.say(words.AtHand)), app.Text(" "+v.words.List(titles...)))
}

// cautionBox shows cautions, and asks for those to be read that were not yet.
func (v *pen) cautionBox(u *state.Unit, cautions []model.Caution) app.UI {
	unread := u.Unread(cautions)
	var ids []model.CautionID
	for _, c := range unread {
		ids = append(ids, c.ID)
	}
	if len(ids) == 0 {
		titles := make([]string, len(cautions))
		for i, c := range cautions {
			titles[i] = titled(c.Words, string(c.ID))
		}
		return app.Details().Class("cautions", "cautions-read").Body(
			app.Summary().Body(icon("caution"), app.Span().Text(strings.Join(titles, " · "))),
			app.Range(cautions).Slice(func(i int) app.UI {
				return app.Div().Class("caution-words").Body(
					app.P().Body(app.B().Text(titles[i]), app.Text(" "+cautions[i].Text)),
					v.cautionSteps(cautions[i]),
				)
			}),
		)
	}
	return app.Section().Class("cautions").Aria("label", v.say(words.CautionsName)).Body(
		app.Range(cautions).Slice(func(i int) app.UI {
			c := cautions[i]
			return app.Details().Class("caution").Open(slices.Contains(ids, c.ID)).Body(
				app.Summary().Body(icon("caution"), app.Span().Text(titled(c.Words, string(c.ID)))),
				app.P().Text(c.Text),
				v.cautionSteps(c),
			)
		}),
		app.P().Class("quiet").Text(v.say(words.CautionsLocal)),
		v.button("button-main", v.say(words.CautionsRead), state.Acknowledge{IDs: ids}),
	)
}

// cautionSteps are what one does about a danger.
func (v *pen) cautionSteps(c model.Caution) app.UI {
	return app.If(len(c.Steps) > 0, app.Ul().Class("caution-steps").Body(app.Range(c.Steps).Slice(func(i int) app.UI {
		return app.Li().Text(c.Steps[i])
	})))
}

// doing is the doing itself: the way there, the steps, what was seen.
func (v *pen) doing(u *state.Unit, p plan.Proposal) app.UI {
	if len(u.Way(p)) > 0 {
		return app.Div().Body(v.way(u, p), app.P().Class("then").Text(v.say(words.ThenStep, v.stepTitle(u.Model, p.Step))))
	}
	switch p.Step.Kind {
	case plan.DoTest:
		t := &u.Model.Tests[p.Step.Index]
		return app.Div().Body(
			v.steps(u, "test-"+string(t.ID), t.Steps),
			app.If(t.Text != "", app.P().Class("quiet").Text(t.Text)),
			app.If(state.Soaks(u.Model, t), v.soak(u, t)),
			when(t.Reading != nil, func() app.UI { return v.entry(u, t) }),
			app.If(t.Reading == nil, v.outcomes(u, t, "button-outcome")),
			v.follows(u, p),
		)
	case plan.DoRepair:
		r := &u.Model.Repairs[p.Step.Index]
		return app.Div().Body(
			v.steps(u, "repair-"+string(r.ID), r.Steps),
			app.If(r.Text != "", app.P().Class("quiet").Text(r.Text)),
			v.button("button-main", v.say(words.RepairDone), state.Repaired{ID: r.ID}).Disabled(u.Saving),
		)
	case plan.SignOff:
		return v.button("button-main", v.say(words.SignOffGo), state.OpenSheet{Sheet: state.SheetSignOff})
	}
	return v.button("button-main", v.say(words.WriteOffGo), state.OpenSheet{Sheet: state.SheetWrite})
}

// way is the next setup step towards the proposal, with those that follow named.
func (v *pen) way(u *state.Unit, p plan.Proposal) app.UI {
	m, w := u.Model, v.words
	first := u.Way(p)[0]
	s := m.Setups[first.Setup]
	step, to, title := s.Enter, s.ID, v.say(words.FirstEnter, setupTitle(m, first.Setup))
	if first.Leave {
		step, to = s.Leave, m.Setups[s.Inside].ID
		title = v.say(words.FirstLeave, setupTitle(m, s.Inside))
	}
	if step.Title != "" {
		title = v.say(words.FirstStep, step.Title)
	}
	proof, due := u.Proof()
	var more []string
	for _, mv := range u.Way(p)[1:] {
		if mv.Leave {
			more = append(more, setupTitle(m, m.Setups[mv.Setup].Inside))
		} else {
			more = append(more, setupTitle(m, mv.Setup))
		}
	}
	return app.Section().Class("way").Body(
		app.H3().Text(title),
		app.P().Class("facts").Body(
			fact(w.Minutes(step.Minutes), v.say(words.OfWork)),
			app.If(step.Money > 0, fact(w.Money(step.Money, u.Trail.Terms.Currency), v.say(words.OfMoney))),
		),
		app.If(first.Leave, app.P().Class("quiet").Text(v.say(words.ReassemblyReminder))),
		app.If(first.Leave && due, v.button("button-plain", v.say(words.TryHere), state.TryHere{Step: proof})),
		v.steps(u, "way-"+string(s.ID), step.Steps),
		app.If(len(more) > 0, app.P().Class("quiet").Text(v.say(words.WayMore, w.List(more...)))),
		v.button("button-main", v.say(words.WayDone), state.Move{To: to}).Disabled(u.Saving),
	)
}

// steps are the steps of something, each with a box to tick.
func (v *pen) steps(u *state.Unit, of string, list []string) app.UI {
	return app.If(len(list) > 0, app.Ol().Class("steps").Body(app.Range(list).Slice(func(i int) app.UI {
		mark := of + "-" + strconv.Itoa(i)
		return app.Li().Body(v.check("step-check", "tick-"+mark, strconv.Itoa(i+1)+". "+list[i], slices.Contains(u.Marks.Ticked, mark),
			func(on bool) state.Msg { return state.Tick{Mark: mark, On: on} }, mark))
	})))
}

// outcomes are the large targets of what was seen.
func (v *pen) outcomes(u *state.Unit, t *model.Test, class string) app.UI {
	counts, fits := u.Marks.Soak.Fits(t)
	return app.Div().Class("outcomes").Role("group").Aria("label", v.say(words.WhatSeen)).Body(
		app.Range(t.Outcomes).Slice(func(i int) app.UI {
			o := t.Outcomes[i]
			counted := class
			if fits && i == counts {
				counted = class + " outcome-counted"
			}
			return v.act(app.Button().Type("button").Class("button", counted), state.SawOutcome{Test: t.ID, Outcome: o.ID}).Disabled(u.Saving).Body(
				app.Span().Class("outcome-title").Text(outcomeTitle(t, i)),
				app.If(o.Text != "", app.Span().Class("outcome-more").Text(o.Text)),
				app.If(fits && i == counts, app.Span().Class("outcome-count").Text(v.say(words.SoakMarked))),
			)
		}),
	)
}

// conflict says plainly why there are no odds, and that nothing is lost.
func (v *pen) conflict(u *state.Unit) app.UI {
	c := u.Conflict
	text := v.say(words.ConflictOther)
	switch c.Kind {
	case state.ConflictContradiction:
		text = v.say(words.ConflictContradiction, u.Number(c.N))
	case state.ConflictTooLarge:
		text = v.say(words.ConflictTooLarge)
	case state.ConflictBlurred:
		text = v.say(words.ConflictBlurred, u.Number(c.N))
	case state.ConflictModel:
		text = v.say(words.ConflictModel)
	}
	return app.Section().Class("alarm").Role("alert").Body(
		app.H2().Text(v.say(words.ConflictTitle)),
		app.P().Text(text),
		// The engine's own words are English; they are shown where ours say less.
		app.If(c.Kind == state.ConflictOther, app.P().Class("quiet").Lang("en").Text(c.Detail)),
		app.If(c.Kind == state.ConflictModel, app.P().Class("quiet").Text(c.Detail)),
		app.P().Text(v.say(words.NothingLost)),
		app.If(c.N > 0, v.button("button-main", v.say(words.TakeBackN, u.Number(c.N)), state.TakeBack{N: c.N})),
		v.button("button-plain", v.say(words.Export), state.OpenSheet{Sheet: state.SheetExport}),
	)
}

// doubt names the result that sits worst with the rest.
func (v *pen) doubt(u *state.Unit) app.UI {
	worst, ok := u.Doubtful()
	if !ok {
		return app.Div()
	}
	e := u.Trail.Events[worst.N-1]
	repeat := plan.Step{Kind: plan.DoTest}
	if t, ok := u.Model.Test(e.Test); ok {
		repeat.Index = t.Index
	}
	return app.Section().Class("doubt").Aria("label", v.say(words.DoubtTitle)).Body(
		app.P().Body(app.B().Text(v.say(words.DoubtTitle)), app.Text(" "+v.say(words.DoubtText, u.Number(worst.N), v.eventTitle(u.Model, u.Trail, e), v.words.Percent(worst.P)))),
		app.Div().Class("row").Body(
			app.If(offered(u, repeat), v.button("button-plain", v.say(words.RepeatIt), state.Choose{Step: repeat})),
			v.button("button-plain", v.say(words.TakeBackN, u.Number(worst.N)), state.TakeBack{N: worst.N}),
		),
	)
}

func offered(u *state.Unit, s plan.Step) bool {
	return slices.ContainsFunc(u.Proposals, func(p plan.Proposal) bool { return p.Step == s })
}
