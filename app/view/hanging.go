package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/plan"
)

var gradeNames = map[model.SourceKind]words.Key{
	model.Published: words.GradePublished, model.Practice: words.GradePractice, model.Memory: words.GradeMemory,
}

// hangsShown is how many numbers, and results, are listed.
const hangsShown = 4

// hanging is what the leading suspect and the proposed step hang on, once it is asked for.
func (v *pen) hanging(u *state.Unit) app.UI {
	h := u.Hanging
	switch {
	case u.Conflict.Kind != state.NoConflict:
		return app.If(false)
	case h.Busy:
		return app.P().Class("quiet").Role("status").Text(v.say(words.HangsBusy))
	case h.Failed:
		return app.P().Class("quiet").Role("status").Text(v.say(words.HangsFailed))
	case h.Lead == nil:
		return v.button("button-plain", v.say(words.HangsAsk), state.AskHangs{})
	}
	m := u.Model
	fault := func(id model.ModeID) string { return words.FaultOf(m, id) }
	lead, step := words.HangsLead, words.HangsStep
	if len(h.Lead.Numbers) == 0 {
		lead = words.HangsLeadFirm
	}
	if len(h.Step.Numbers) == 0 {
		step = words.HangsStepFirm
	}
	turns := h.Lead.Turns[:min(len(h.Lead.Turns), hangsShown)]
	return app.Section().Class("hangs").Body(
		app.H3().Text(v.say(words.HangsAsk)),
		app.P().Text(v.say(lead, fault(h.Lead.Leader))),
		v.hangs(m, h.Lead.Numbers, func(x learn.Hang) string { return fault(x.Other) }),
		when(h.Step.Step.Kind != "", func() app.UI { return app.P().Text(v.say(step, v.insteadTitle(m, h.Step.Step))) }),
		v.hangs(m, h.Step.Numbers, func(x learn.Hang) string { return v.insteadTitle(m, *x.Instead) }),
		app.If(len(turns) > 0, app.P().Text(v.say(words.HangsTurns))),
		app.Ul().Class("follows").Body(app.Range(turns).Slice(func(i int) app.UI {
			x := turns[i]
			name := string(x.Test)
			if t, ok := m.Test(x.Test); ok {
				if o, ok := t.Outcome(x.Outcome); ok {
					name = v.words.Is(titled(t.Words, string(t.ID)), outcomeTitle(t, o))
				}
			}
			return app.Li().Body(
				app.B().Text(name),
				app.Span().Class("number").Text(v.words.Percent(x.P)),
				app.Span().Class("quiet").Text(v.say(words.HangsTurned, fault(x.Leader), v.words.Percent(x.Odds))),
			)
		})),
		app.P().Class("quiet").Text(v.say(words.HangsHelp)),
	)
}

// hangs lists numbers, each with where it would have to be, how well it is known, and who takes over.
func (v *pen) hangs(m *model.Model, all []learn.Hang, then func(learn.Hang) string) app.UI {
	all = all[:min(len(all), hangsShown)]
	return app.Ul().Class("follows", "follows-wide").Body(app.Range(all).Slice(func(i int) app.UI {
		x := all[i]
		f := learn.Figure{Kind: x.Kind, Test: x.Test, Outcome: x.Outcome, Mode: x.Mode, Repair: x.Repair, Setup: x.Setup, Leave: x.Leave}
		grade := v.say(gradeNames[x.Grade])
		if _, own := learn.WhyOwn(m, f); own {
			grade = v.say(words.FiguresOwn)
		}
		return app.Li().Body(
			app.B().Text(v.figure(m, f)),
			app.Span().Class("number").Text(v.say(words.HangsNumber, v.words.OfHundred(x.At, x.Now), v.words.OfHundred(x.Now, x.At), grade)),
			app.Span().Class("quiet").Text(v.say(words.HangsThen, then(x))),
		)
	}))
}

// insteadTitle says what a step is.
func (v *pen) insteadTitle(m *model.Model, x learn.Instead) string {
	s := plan.Step{Kind: x.Kind}
	switch x.Kind {
	case plan.DoTest:
		t, ok := m.Test(model.TestID(x.ID))
		if !ok {
			return x.ID
		}
		s.Index = t.Index
	case plan.DoRepair:
		r, ok := m.Repair(model.RepairID(x.ID))
		if !ok {
			return x.ID
		}
		s.Index = r.Index
	}
	return v.stepTitle(m, s)
}

// whose says whose numbers a unit is worked out with, where they are not as shipped.
func (v *pen) whose(m *model.Model) app.UI {
	var key words.Key
	switch {
	case learn.Owned(m):
		key = words.MineHere
	case learn.From(m):
		key = words.LearntHere
	default:
		return app.If(false)
	}
	return app.P().Class("note-box").Text(v.say(key))
}
