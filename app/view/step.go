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

// Step is what to do next.
type Step struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Step) Render() app.UI {
	u := at.shown.Unit
	if u == nil {
		return app.Div()
	}
	p, ok := u.Current()
	// An ending is not put to anyone before it is certain.
	if ok && !u.Settled && !u.HasChosen && (p.Step.Kind == plan.SignOff || p.Step.Kind == plan.WriteOff) {
		ok = false
	}
	end, ended := u.Ended()
	return app.Div().Class("step").Body(
		app.If(u.Conflict.Kind != state.NoConflict, &Conflict{Rev: v.Rev}),
		app.If(u.Conflict.Kind == state.NoConflict, &Doubt{Rev: v.Rev}),
		app.If(ended, app.Section().Class("note-box").Body(
			app.P().Text(say(words.EndedAs, ending(end.As))),
			button("button-plain", say(words.OpenAgain), state.TakeBack{N: end.N}),
			app.A().Class("button", "button-plain").Href(link(state.Route{Screen: state.ScreenReport, Unit: u.Trail.ID})).Text(say(words.ReportTitle)),
		)),
		app.If(!ok && u.Conflict.Kind == state.NoConflict, app.P().Class("thinking").Role("status").Text(say(words.Thinking))),
		app.If(ok && !ended, &Proposal{Rev: v.Rev}),
	)
}

// current is the unit on the screen and its step at hand; false if there is none.
func current() (*state.Unit, plan.Proposal, bool) {
	u := at.shown.Unit
	if u == nil || u.Model == nil {
		return u, plan.Proposal{}, false
	}
	p, ok := u.Current()
	return u, p, ok
}

// Proposal is the step at hand, with all that belongs to it.
type Proposal struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Proposal) Render() app.UI {
	u, p, ok := current()
	if !ok {
		return app.Div()
	}
	w, m := speech(), u.Model
	cautions := u.Cautions(p)
	unread := u.Unread(cautions)
	eyebrow := say(words.NextStep)
	if !u.IsFirst() {
		eyebrow = say(words.YourChoice)
	}
	proof, due := u.Proof()
	proving := due && p.Step == proof
	return app.Article().Class("proposal").Body(
		app.P().Class("eyebrow").Body(
			app.Span().Text(eyebrow),
			app.If(proving, app.Span().Text(say(words.ProofRun))),
			app.If(u.InPlace && u.HasChosen, app.Span().Text(say(words.AsItStands))),
			app.If(!u.Settled, app.Span().Class("still").Role("status").Text(say(words.StillThinking))),
		),
		app.H2().Class("proposal-title").Text(stepTitle(m, p.Step)),
		app.P().Class("facts").Body(
			fact(w.Minutes(p.Minutes), say(words.OfWork)),
			app.If(p.Money > 0, fact(w.Money(p.Money, u.Trail.Terms.Currency), say(words.OfMoney))),
		),
		&Reason{Rev: v.Rev},
		hand(m, p),
		app.If(len(cautions) > 0, &Cautions{Rev: v.Rev}),
		app.If(len(unread) == 0, &Doing{Rev: v.Rev}),
		app.If(len(unread) == 0 && (p.Step.Kind == plan.DoTest || p.Step.Kind == plan.DoRepair || len(u.Way(p)) > 0), &Timer{Rev: v.Rev}),
		app.Div().Class("aside-actions").Body(
			app.If(!u.IsFirst(), button("button-plain", say(words.BackToProposal), state.ChooseFirst{})),
			app.If(p.Step.Kind == plan.DoTest, button("button-plain", say(words.CannotNow), state.OpenSheet{Sheet: state.SheetSkip})),
			app.A().Class("button", "button-plain", "narrow-only").Href(link(state.Route{Screen: state.ScreenUnit, Unit: u.Trail.ID, Pane: state.PaneOther})).
				Text(say(words.SomethingElse)),
		),
	)
}

// hand lists what has to be at hand.
func hand(m *model.Model, p plan.Proposal) app.UI {
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
	return app.P().Class("hand").Body(app.B().Text(say(words.AtHand)), app.Text(" "+speech().List(titles...)))
}

// Cautions are the dangers of the step, before its steps. Until they were read on
// this unit, nothing below them is shown.
type Cautions struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Cautions) Render() app.UI {
	u, p, ok := current()
	if !ok {
		return app.Div()
	}
	return cautionBox(u, u.Cautions(p))
}

// cautionBox shows cautions, and asks for those to be read that were not yet.
func cautionBox(u *state.Unit, cautions []model.Caution) app.UI {
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
					cautionSteps(cautions[i]),
				)
			}),
		)
	}
	return app.Section().Class("cautions").Aria("label", say(words.CautionsName)).Body(
		app.Range(cautions).Slice(func(i int) app.UI {
			c := cautions[i]
			return app.Details().Class("caution").Open(slices.Contains(ids, c.ID)).Body(
				app.Summary().Body(icon("caution"), app.Span().Text(titled(c.Words, string(c.ID)))),
				app.P().Text(c.Text),
				cautionSteps(c),
			)
		}),
		app.P().Class("quiet").Text(say(words.CautionsLocal)),
		button("button-main", say(words.CautionsRead), state.Acknowledge{IDs: ids}),
	)
}

// cautionSteps are what one does about a danger.
func cautionSteps(c model.Caution) app.UI {
	return app.If(len(c.Steps) > 0, app.Ul().Class("caution-steps").Body(app.Range(c.Steps).Slice(func(i int) app.UI {
		return app.Li().Text(c.Steps[i])
	})))
}

// Doing is the doing itself: the way there, the steps, what was seen.
type Doing struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Doing) Render() app.UI {
	u, p, ok := current()
	if !ok {
		return app.Div()
	}
	if len(u.Way(p)) > 0 {
		return app.Div().Body(way(u, p), app.P().Class("then").Text(say(words.ThenStep, stepTitle(u.Model, p.Step))))
	}
	switch p.Step.Kind {
	case plan.DoTest:
		t := &u.Model.Tests[p.Step.Index]
		return app.Div().Body(
			steps("test-"+string(t.ID), t.Steps),
			app.If(t.Text != "", app.P().Class("quiet").Text(t.Text)),
			app.If(state.Soaks(u.Model, t), &Soak{Rev: v.Rev}),
			app.If(t.Reading != nil, &Entry{Rev: v.Rev}),
			app.If(t.Reading == nil, outcomes(u, t, "button-outcome")),
			&Follows{Rev: v.Rev},
		)
	case plan.DoRepair:
		r := &u.Model.Repairs[p.Step.Index]
		return app.Div().Body(
			steps("repair-"+string(r.ID), r.Steps),
			app.If(r.Text != "", app.P().Class("quiet").Text(r.Text)),
			button("button-main", say(words.RepairDone), state.Repaired{ID: r.ID}).Disabled(u.Saving),
		)
	case plan.SignOff:
		return button("button-main", say(words.SignOffGo), state.OpenSheet{Sheet: state.SheetSignOff})
	}
	return button("button-main", say(words.WriteOffGo), state.OpenSheet{Sheet: state.SheetWrite})
}

// way is the next setup step towards the proposal, with those that follow named.
func way(u *state.Unit, p plan.Proposal) app.UI {
	m, w := u.Model, speech()
	first := u.Way(p)[0]
	s := m.Setups[first.Setup]
	step, to, title := s.Enter, s.ID, say(words.FirstEnter, setupTitle(m, first.Setup))
	if first.Leave {
		step, to = s.Leave, m.Setups[s.Inside].ID
		title = say(words.FirstLeave, setupTitle(m, s.Inside))
	}
	if step.Title != "" {
		title = say(words.FirstStep, step.Title)
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
			fact(w.Minutes(step.Minutes), say(words.OfWork)),
			app.If(step.Money > 0, fact(w.Money(step.Money, u.Trail.Terms.Currency), say(words.OfMoney))),
		),
		app.If(first.Leave, app.P().Class("quiet").Text(say(words.ReassemblyReminder))),
		app.If(first.Leave && due, button("button-plain", say(words.TryHere), state.TryHere{Step: proof})),
		steps("way-"+string(s.ID), step.Steps),
		app.If(len(more) > 0, app.P().Class("quiet").Text(say(words.WayMore, w.List(more...)))),
		button("button-main", say(words.WayDone), state.Move{To: to}).Disabled(u.Saving),
	)
}

// steps are the steps of something, each with a box to tick.
func steps(of string, list []string) app.UI {
	u := at.shown.Unit
	return app.If(len(list) > 0, app.Ol().Class("steps").Body(app.Range(list).Slice(func(i int) app.UI {
		mark := of + "-" + strconv.Itoa(i)
		return app.Li().Body(check("step-check", "tick-"+mark, strconv.Itoa(i+1)+". "+list[i], slices.Contains(u.Marks.Ticked, mark),
			func(on bool) state.Msg { return state.Tick{Mark: mark, On: on} }, mark))
	})))
}

// outcomes are the large targets of what was seen.
func outcomes(u *state.Unit, t *model.Test, class string) app.UI {
	counts, fits := u.Marks.Soak.Fits(t)
	return app.Div().Class("outcomes").Role("group").Aria("label", say(words.WhatSeen)).Body(
		app.Range(t.Outcomes).Slice(func(i int) app.UI {
			o := t.Outcomes[i]
			counted := class
			if fits && i == counts {
				counted = class + " outcome-counted"
			}
			return act(app.Button().Type("button").Class("button", counted), state.SawOutcome{Test: t.ID, Outcome: o.ID}).Disabled(u.Saving).Body(
				app.Span().Class("outcome-title").Text(outcomeTitle(t, i)),
				app.If(o.Text != "", app.Span().Class("outcome-more").Text(o.Text)),
				app.If(fits && i == counts, app.Span().Class("outcome-count").Text(say(words.SoakMarked))),
			)
		}),
	)
}

// Conflict says plainly why there are no odds, and that nothing is lost.
type Conflict struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Conflict) Render() app.UI {
	u := at.shown.Unit
	if u == nil {
		return app.Div()
	}
	c := u.Conflict
	text := say(words.ConflictOther)
	switch c.Kind {
	case state.ConflictContradiction:
		text = say(words.ConflictContradiction, c.N)
	case state.ConflictTooLarge:
		text = say(words.ConflictTooLarge)
	case state.ConflictBlurred:
		text = say(words.ConflictBlurred, c.N)
	case state.ConflictModel:
		text = say(words.ConflictModel)
	}
	return app.Section().Class("alarm").Role("alert").Body(
		app.H2().Text(say(words.ConflictTitle)),
		app.P().Text(text),
		// The engine's own words are English; they are shown where ours say less.
		app.If(c.Kind == state.ConflictOther, app.P().Class("quiet").Lang("en").Text(c.Detail)),
		app.If(c.Kind == state.ConflictModel, app.P().Class("quiet").Text(c.Detail)),
		app.P().Text(say(words.NothingLost)),
		app.If(c.N > 0, button("button-main", say(words.TakeBackN, c.N), state.TakeBack{N: c.N})),
		button("button-plain", say(words.Export), state.OpenSheet{Sheet: state.SheetExport}),
	)
}

// Doubt names the result that sits worst with the rest.
type Doubt struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Doubt) Render() app.UI {
	u := at.shown.Unit
	if u == nil || u.Model == nil {
		return app.Div()
	}
	worst, ok := u.Doubtful()
	if !ok {
		return app.Div()
	}
	e := u.Trail.Events[worst.N-1]
	repeat := plan.Step{Kind: plan.DoTest}
	if t, ok := u.Model.Test(e.Test); ok {
		repeat.Index = t.Index
	}
	return app.Section().Class("doubt").Aria("label", say(words.DoubtTitle)).Body(
		app.P().Body(app.B().Text(say(words.DoubtTitle)), app.Text(" "+say(words.DoubtText, worst.N, eventTitle(u.Model, u.Trail, e), speech().Percent(worst.P)))),
		app.Div().Class("row").Body(
			app.If(offered(u, repeat), button("button-plain", say(words.RepeatIt), state.Choose{Step: repeat})),
			button("button-plain", say(words.TakeBackN, worst.N), state.TakeBack{N: worst.N}),
		),
	)
}

func offered(u *state.Unit, s plan.Step) bool {
	return slices.ContainsFunc(u.Proposals, func(p plan.Proposal) bool { return p.Step == s })
}
