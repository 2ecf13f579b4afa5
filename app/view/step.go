package view

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// step is what to do next. Nothing is put to anyone before it is settled, and what is put stays
// until something is done.
func (v *pen) step(u *state.Unit, h state.Habits, speech state.Speech) app.UI {
	p, ok := u.Current()
	ok = ok && u.Settled && u.Model != nil && u.Account != nil
	_, ended := u.Ended()
	wait, waits := u.Waiting()
	waits = waits && !u.HasChosen // who goes on with something else is shown that
	works := !ended && !waits
	reads := ok && len(u.Unread(u.Cautions(p))) > 0 // a caution is read on its own
	return app.Div().Class("step").Body(
		when(u.Conflict.Kind != state.NoConflict, func() app.UI { return v.conflict(u) }),
		when(u.Conflict.Kind == state.NoConflict && u.Model != nil && works && !reads, func() app.UI { return v.doubt(u) }),
		when(ended, func() app.UI { return v.left(u) }),
		when(waits, func() app.UI { return v.waits(u, wait) }),
		when(!ok && works && u.Conflict.Kind == state.NoConflict, func() app.UI { return v.thinking(u) }),
		when(ok && works, func() app.UI { return v.proposal(u, p, h, speech) }),
	)
}

// waits is a unit that waits for something: nothing is asked of it until that is here.
func (v *pen) waits(u *state.Unit, wait trail.Event) app.UI {
	return app.Section().Class("note-box").Body(
		app.P().Text(v.say(words.EventWait, short(wait.For, labelShown))),
		app.If(u.Model != nil, v.button("button-main", v.say(words.WaitEnd), state.EndWait{})),
		v.onward(),
	)
}

// onward leads from a unit on which there is nothing to do to the next one.
func (v *pen) onward() app.UI {
	return app.Div().Class("stack").Body(
		app.A().Class("button", "button-plain").Href(v.link(state.Route{Screen: state.ScreenIntake})).Text(v.say(words.NextUnit)),
		app.A().Class("button", "button-plain").Href(v.link(state.Route{Screen: state.ScreenBench})).Text(v.say(words.BackToBench)),
	)
}

// thinking says what the page does while the next step is worked out, and what it suspects so far.
func (v *pen) thinking(u *state.Unit) app.UI {
	var lines []string
	if odds, ok := u.Now(); ok && u.Model != nil {
		for _, i := range odds.Ranked()[:min(3, len(u.Model.Modes))] {
			lines = append(lines, words.Fault(u.Model, i)+" "+v.words.Percent(odds.Modes[i]))
		}
	}
	return app.Section().Class("thinking").Body(
		app.P().Role("status").Text(v.say(words.Thinking)),
		app.If(len(lines) > 0, app.P().Class("quiet").Text(v.say(words.ThinkingSuspects))),
		app.If(len(lines) > 0, app.Ul().Class("quiet").Body(app.Range(lines).Slice(func(i int) app.UI { return app.Li().Text(lines[i]) }))),
	)
}

// left is a unit that has left the bench: the next one, the report, and the way back if it comes
// back.
func (v *pen) left(u *state.Unit) app.UI {
	end, _ := u.Ended()
	return app.Section().Class("note-box").Body(
		app.P().Text(v.say(words.EndedAs, v.ending(end.As))),
		app.A().Class("button", "button-main").Href(v.link(state.Route{Screen: state.ScreenIntake})).Text(v.say(words.NextUnit)),
		app.A().Class("button", "button-plain").Href(v.link(state.Route{Screen: state.ScreenBench})).Text(v.say(words.BackToBench)),
		app.A().Class("button", "button-plain").Href(v.link(state.Route{Screen: state.ScreenReport, Unit: u.Trail.ID})).Text(v.say(words.ReportTitle)),
		app.If(u.Model != nil, v.button("button-plain", v.say(words.CameBack), state.OpenSheet{Sheet: state.SheetBack})),
		v.button("button-plain", v.say(words.OpenAgain), state.TakeBack{N: end.N}),
	)
}

// A task is what is done now: a setup step towards the proposal, or the proposal itself.
type task struct {
	title   string
	minutes float64
	money   float64 // in the terms' currency
	steps   []string
	mark    string // of the boxes of its steps
	text    string
	then    string          // the proposal, if this is only on the way to it
	seen    []model.Outcome // what is told of the outcomes beside their titles
	needs   []model.ToolID
	why     []string
	again   string
}

// told reports whether there is anything to tell of how it is done.
func (t task) told() bool { return t.money > 0 || len(t.steps)+len(t.text)+len(t.seen) > 0 }

// taskOf is what a proposal asks for now.
func (v *pen) taskOf(u *state.Unit, p plan.Proposal) task {
	m := u.Model
	if way := u.Way(p); len(way) > 0 {
		work, to := m.Move(way[0])
		t := task{minutes: work.Minutes, money: u.Money(work.Money), steps: work.Steps, mark: "way-" + string(m.Setups[way[0].Setup].ID),
			then: v.stepTitle(m, p.Step), text: work.Text}
		switch {
		case work.Title != "":
			t.title = work.Title
		case way[0].Leave:
			t.title = v.say(words.WayLeave, setupTitle(m, to))
		default:
			t.title = v.say(words.WayEnter, setupTitle(m, to))
		}
		for _, mv := range way[1:] {
			_, to := m.Move(mv)
			t.why = append(t.why, v.say(words.WayMore, setupTitle(m, to)))
		}
		if way[0].Leave {
			t.why = append(t.why, v.say(words.ReassemblyReminder))
		}
		t.because(v, u, p)
		return t
	}
	work := u.Task(p.Step)
	t := task{title: v.stepTitle(m, p.Step), minutes: work.Minutes, money: u.Money(work.Money), needs: u.ToHave(work.Needs)}
	switch p.Step.Kind {
	case plan.DoTest:
		test := &m.Tests[p.Step.Index]
		t.steps, t.mark, t.text = test.Steps, "test-"+string(test.ID), test.Text
		for _, o := range test.Outcomes {
			if o.Text != "" {
				t.seen = append(t.seen, o)
			}
		}
	case plan.DoRepair:
		r := &m.Repairs[p.Step.Index]
		t.steps, t.mark, t.text = r.Steps, "repair-"+string(r.ID), r.Text
	}
	t.because(v, u, p)
	return t
}

// because adds why the proposal is put: on the way to it, too, as that is taken for its sake.
func (t *task) because(v *pen, u *state.Unit, p plan.Proposal) {
	for _, r := range u.Reasons(p) {
		s := v.words.Reason(&u.Unit, p.Step, r)
		switch {
		case s == "":
		case r.Kind == bench.ReasonAgain, r.Kind == bench.ReasonBack, r.Kind == bench.ReasonShut:
			t.again = s
		default:
			t.why = append(t.why, s)
		}
	}
}

// proposal is one screen: what to do, how long it takes, its worst caution in a line, and what
// was seen, in reach of a thumb. How and why stand behind a tap each.
func (v *pen) proposal(u *state.Unit, p plan.Proposal, h state.Habits, speech state.Speech) app.UI {
	cautions := u.Cautions(p)
	if unread := u.Unread(cautions); len(unread) > 0 {
		return v.readFirst(u, p, speech, unread[0], len(unread))
	}
	t := v.taskOf(u, p)
	way := u.Way(p)
	proof, due := u.Proof()
	var about []string
	if u.InPlace && u.HasChosen {
		about = append(about, v.say(words.AsItStands)) // who tries it first knows what for
	} else {
		if !u.IsFirst() && !u.OnTheWay {
			about = append(about, v.say(words.YourChoice))
		}
		if due && p.Step == proof && len(way) == 0 && !u.Unseen() {
			about = append(about, v.say(words.ProofRun))
		}
	}
	isTest := p.Step.Kind == plan.DoTest && len(way) == 0
	return app.Article().Class("proposal").Body(
		app.P().Class("eyebrow").Body(
			app.Span().Text(v.lead(t, about)),
		),
		app.H2().Class("proposal-title").Text(t.title),
		app.If(t.again != "", app.P().Class("again").Text(t.again)),
		app.If(t.then != "", app.P().Class("then").Text(v.say(words.ThenStep, t.then))),
		app.If(len(t.needs) > 0, app.P().Class("hand").Body(app.B().Text(v.say(words.AtHand)), app.Text(" "+v.words.Tools(u.Model, t.needs)))),
		app.Div().Class("folds").Body(
			when(len(cautions) > 0, func() app.UI { return v.cautionFold(cautions, h.Cautions) }),
			app.If(t.told(), v.fold(state.HabitHow, h.How, "", v.say(words.HowName))),
			app.If(len(t.why) > 0, v.fold(state.HabitWhy, h.Why, "", v.say(words.WhyName))),
			v.moreFold(u, p, h.More),
			when(speech.Can(v.words.ID), func() app.UI { return v.aloud(speech, v.tells(u, p, t, cautions)) }),
			v.stepPhoto(t.title),
		),
		when(h.Cautions && len(cautions) > 0, func() app.UI { return v.cautionList(cautions) }),
		when(h.How && t.told(), func() app.UI { return v.how(u, t) }),
		when(h.Why && len(t.why) > 0, func() app.UI {
			return app.Div().Class("fold-body", "reason").Body(app.Range(t.why).Slice(func(i int) app.UI { return app.P().Text(t.why[i]) }),
				when(isTest, func() app.UI { return v.follows(u, p) }))
		}),
		when(h.More, func() app.UI { return v.more(u, p, h, speech) }),
		v.deck(u, p),
	)
}

// lead is what stands above the title: what kind of step it is, and what it takes.
func (v *pen) lead(t task, about []string) string {
	parts := about
	if len(parts) == 0 {
		parts = []string{v.say(words.NextStep)}
	}
	if t.minutes > 0 {
		parts = append(parts, v.words.Minutes(t.minutes))
	}
	line := strings.Join(parts, " · ")
	first, size := utf8.DecodeRuneInString(line)
	return string(unicode.ToUpper(first)) + line[size:]
}

// moreFold is the tap for what else belongs to a step, with what runs behind it, so that nothing runs unseen.
func (v *pen) moreFold(u *state.Unit, p plan.Proposal, open bool) app.UI {
	name, k := v.say(words.MoreName), u.Marks.Soak
	switch {
	case timing(u):
		return v.fold(state.HabitMore, open, "fold-runs", name+" "+words.Clocked(u.Left))
	case k.Runs != "" && p.Step.Kind == plan.DoTest && u.Model.Tests[p.Step.Index].ID == k.Test:
		return v.fold(state.HabitMore, open, "fold-runs", fmt.Sprintf("%s %d/%d", name, k.Good(), len(k.Runs)))
	}
	return v.fold(state.HabitMore, open, "", name)
}

// fold is a tap that opens or closes something, and remembers it.
func (v *pen) fold(habit state.Habit, open bool, class, name string) app.UI {
	return v.act(app.Button().Type("button").Class("button", "fold", class).Aria("expanded", strconv.FormatBool(open)), state.SetHabit{Habit: habit, On: !open}).Body(
		app.If(habit == state.HabitCautions, icon("caution")), app.Span().Text(name))
}

// cautionFold is the most severe caution in a line, with all of them behind it.
func (v *pen) cautionFold(cautions []model.Caution, open bool) app.UI {
	return v.fold(state.HabitCautions, open, "fold-caution", v.cautionLine(cautions))
}

// cautionLine is the most severe caution, and how many there are besides.
func (v *pen) cautionLine(cautions []model.Caution) string {
	title := titled(cautions[0].Words, string(cautions[0].ID))
	if len(cautions) > 1 {
		return v.say(words.CautionsMore, title, len(cautions)-1)
	}
	return title
}

// cautionList are cautions that were read.
func (v *pen) cautionList(cautions []model.Caution) app.UI {
	return app.Div().Class("cautions", "cautions-read").Body(app.Range(cautions).Slice(func(i int) app.UI {
		return v.caution(cautions[i])
	}))
}

// caution is what to do and what not to do; why is behind a tap.
func (v *pen) caution(c model.Caution) app.UI {
	return app.Section().Class("caution").Body(
		app.H3().Body(icon("caution"), app.Span().Text(titled(c.Words, string(c.ID)))),
		app.P().Class("caution-text").Text(c.Text),
		app.If(len(c.Steps) > 0, app.Ul().Class("caution-steps").Body(app.Range(c.Steps).Slice(func(i int) app.UI { return app.Li().Text(c.Steps[i]) }))),
		app.If(c.Why != "", app.Details().Class("more").Body(summary(v.say(words.WhyName)), app.P().Text(c.Why))),
	)
}

// readFirst is a caution that was not read yet on this unit, on its own: nothing of the step is
// shown before.
func (v *pen) readFirst(u *state.Unit, p plan.Proposal, speech state.Speech, c model.Caution, left int) app.UI {
	t := v.taskOf(u, p)
	return app.Article().Class("proposal").Body(
		app.P().Class("eyebrow").Text(v.say(words.CautionBefore, left)),
		app.H2().Class("proposal-title").Text(t.title),
		app.If(t.then != "", app.P().Class("then").Text(v.say(words.ThenStep, t.then))),
		app.Section().Class("cautions").Aria("label", v.say(words.CautionsName)).Body(v.caution(c)),
		app.P().Class("quiet").Text(v.say(words.CautionsLocal)),
		app.Div().Class("deck", "deck-read").Body(
			when(speech.Can(v.words.ID), func() app.UI { return v.aloud(speech, append(tellsCaution(c), v.say(words.CautionsLocal))) }),
			v.button("button-main", v.say(words.CautionsRead), state.Acknowledge{IDs: []model.CautionID{c.ID}})),
	)
}

// how is how to do it: its steps, each with a box, and what the outcomes look like.
func (v *pen) how(u *state.Unit, t task) app.UI {
	return app.Div().Class("fold-body").Body(
		app.If(t.money > 0, app.P().Body(app.B().Text(v.words.Money(t.money, u.Terms().Currency)), app.Text(" "+v.say(words.OfMoney)))),
		v.steps(u, t.mark, t.steps),
		app.If(t.text != "", app.P().Class("quiet").Text(t.text)),
		app.If(len(t.seen) > 0, app.Ul().Class("seen").Body(app.Range(t.seen).Slice(func(i int) app.UI {
			o := t.seen[i]
			return app.Li().Body(app.B().Text(titled(o.Words, string(o.ID))), app.Text(" "+o.Text))
		}))),
	)
}

// more is what else belongs to a step: another one, that it cannot be done, a timer, a count.
func (v *pen) more(u *state.Unit, p plan.Proposal, h state.Habits, speech state.Speech) app.UI {
	isTest := p.Step.Kind == plan.DoTest && len(u.Way(p)) == 0
	return app.Div().Class("fold-body").Body(
		app.Div().Class("stack").Body(
			app.If(!u.IsFirst(), v.button("button-plain", v.say(words.BackToProposal), state.ChooseFirst{})),
			app.If(p.Step.Kind == plan.DoTest, v.button("button-plain", v.say(words.CannotNow), state.OpenSheet{Sheet: state.SheetSkip})),
			app.A().Class("button", "button-plain", "narrow-only").Href(v.link(state.Route{Screen: state.ScreenUnit, Unit: u.Trail.ID, Pane: state.PaneOther})).
				Text(v.say(words.SomethingElse)),
			v.button("button-plain", v.say(words.WaitGo), state.OpenSheet{Sheet: state.SheetWait}),
			v.check("toggle", "far", v.say(words.FarName), h.Far, func(on bool) state.Msg { return state.SetHabit{Habit: state.HabitFar, On: on} }, "far"),
		),
		when(isTest && state.Soaks(u.Model, &u.Model.Tests[p.Step.Index]), func() app.UI { return v.soak(u, &u.Model.Tests[p.Step.Index]) }),
		v.timer(u),
		app.If(!speech.Can(v.words.ID), app.P().Class("quiet").Text(v.say(words.NoVoice))),
	)
}

// deck is what records, at the lower edge, in reach of a thumb.
func (v *pen) deck(u *state.Unit, p plan.Proposal) app.UI {
	if way := u.Way(p); len(way) > 0 {
		_, to := u.Model.Move(way[0])
		proof, due := u.Proof()
		return app.Div().Class("deck", "way").Body(
			app.If(way[0].Leave && due && !u.Started() && u.Starts() && offered(u, proof), v.button("button-plain", v.say(words.TryHere), state.TryHere{Step: proof})),
			v.button("button-main", v.say(words.WayDone), state.Move{To: u.Model.Setups[to].ID}).Disabled(u.Saving),
		)
	}
	switch p.Step.Kind {
	case plan.DoTest:
		t := &u.Model.Tests[p.Step.Index]
		if t.Reading != nil {
			return app.Div().Class("deck").Body(v.entry(u, t))
		}
		return app.Div().Class("deck").Body(v.outcomes(u, t))
	case plan.DoRepair:
		r := &u.Model.Repairs[p.Step.Index]
		return app.Div().Class("deck").Body(v.button("button-main", v.say(words.RepairDone), state.Repaired{ID: r.ID}).Disabled(u.Saving))
	case plan.SignOff:
		return app.Div().Class("deck").Body(v.button("button-main", v.say(words.SignOffGo), state.OpenSheet{Sheet: state.SheetSignOff}))
	}
	return app.Div().Class("deck").Body(v.wants(u), v.button("button-main", v.say(words.WriteOffGo), state.OpenSheet{Sheet: state.SheetWrite}))
}

// wants is what writing off hangs on: a tool that is not at hand, and the way to say that it is.
func (v *pen) wants(u *state.Unit) app.UI {
	all := u.Wants()
	if len(all) == 0 {
		return app.If(false)
	}
	first := all[0]
	repair := plan.Step{Kind: plan.DoRepair, Index: first.Repair}
	return app.Div().Class("note-box").Body(
		app.P().Text(v.say(words.ReasonWants, v.words.Tools(u.Model, first.Lacks), v.stepTitle(u.Model, repair), modeTitle(u.Model, first.Mode), v.words.Percent(first.P))),
		v.button("button-plain", v.say(words.TermsChange), state.OpenSheet{Sheet: state.SheetTerms}),
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

// besides is the length of an outcome's title, in letters, up to which two stand beside each other;
// of many they always do, for a column of them is higher than a small phone.
const (
	besides = 30
	many    = 4
)

// outcomes are the large targets of what was seen, and last that it was none of these.
func (v *pen) outcomes(u *state.Unit, t *model.Test) app.UI {
	counts, fits := u.Marks.Soak.Fits(t)
	class := "outcomes-two"
	if len(t.Outcomes) > many {
		class += " outcomes-many"
	}
	for i := range t.Outcomes {
		if utf8.RuneCountInString(outcomeTitle(t, i)) > besides && len(t.Outcomes) < many {
			class = "outcomes-one"
		}
	}
	return app.Div().Class("outcomes", class).Role("group").Aria("label", v.say(words.WhatSeen)).Body(
		app.Range(t.Outcomes).Slice(func(i int) app.UI {
			counted := ""
			if fits && i == counts {
				counted = "outcome-counted"
			}
			return v.act(app.Button().Type("button").Class("button", "button-outcome", counted), state.SawOutcome{Test: t.ID, Outcome: t.Outcomes[i].ID}).Disabled(u.Saving).Body(
				app.Span().Class("outcome-title").Text(outcomeTitle(t, i)),
				app.If(fits && i == counts, app.Span().Class("outcome-count").Text(v.say(words.SoakMarked))),
			)
		}),
		v.button("button-plain button-none", v.say(words.NoneOfThese), state.OpenSheet{Sheet: state.SheetNone}),
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
	return app.Details().Class("doubt").Body(
		summary(v.say(words.DoubtTitle)),
		app.P().Text(v.say(words.DoubtText, u.Number(worst.N), v.eventTitle(u.Model, u.Trail, e), v.words.Percent(worst.P))),
		app.Div().Class("row").Body(
			app.If(offered(u, repeat), v.button("button-plain", v.say(words.RepeatIt), state.Choose{Step: repeat})),
			v.button("button-plain", v.say(words.TakeBackN, u.Number(worst.N)), state.TakeBack{N: worst.N}),
		),
	)
}

func offered(u *state.Unit, s plan.Step) bool {
	return slices.ContainsFunc(u.Proposals, func(p plan.Proposal) bool { return p.Step == s })
}
