package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/catalog"
	"pitwise/engine/learn"
	"pitwise/engine/model"
)

// movedShown is how many numbers that move are listed; the rest is counted.
const movedShown = 8

// taughtShown is how many numbers of those that the latest unit moved are listed.
const taughtShown = 3

// numbers is where a bench learns from its own units: for each family the way to learn, what
// would change, the yes and the no, and the way back.
func (v *pen) numbers(s state.State) app.UI {
	return app.Main().Class("main", "settings").Body(
		app.P().Text(v.say(words.NumbersHelp)),
		app.Range(s.Models).Slice(func(i int) app.UI { return v.familyNumbers(s, s.Models[i]) }),
		v.otherBenches(),
	)
}

func (v *pen) familyNumbers(s state.State, e catalog.Entry) app.UI {
	l := s.Learning
	if l.Model != e.ID {
		l = state.Learning{}
	}
	learnt, lent := s.LearntModels(e.ID), s.Lenders(e.ID)
	return app.Section().Class("block").Body(
		app.H2().Text(catalog.Title(e.ID, e.Title, s.Lang)),
		app.Range(learnt).Slice(func(i int) app.UI {
			return app.Div().Class("note-box").Body(
				app.P().Text(v.say(words.NumbersLearnt, short(learnt[i].Revision, labelShown))),
				v.button("button-plain", v.say(words.NumbersBack), state.ForgetModel{SHA256: learnt[i].SHA256}),
			)
		}),
		app.If(l.Failed == state.LearnNone, app.P().Role("status").Text(v.say(words.NumbersNone))),
		app.If(l.Failed == state.LearnOther, app.P().Role("status").Text(v.say(words.NumbersFailed))),
		when(l.Account != nil, func() app.UI { return v.wouldMove(s, l) }),
		when(l.Trial != nil, func() app.UI { return v.trial(l.Trial) }),
		when(l.Busy, func() app.UI {
			status := v.say(words.NumbersBusy, l.Done)
			switch {
			case l.Giving:
				status = v.say(words.CountsBusy, l.Done)
			case l.Judging:
				status = v.say(words.JudgeBusy)
				if l.Of > 0 {
					status += " " + v.say(words.JudgePart, l.Done, l.Of)
				}
			case l.Of > 0:
				status = v.say(words.NumbersDrawn, v.words.Decimal(100*float64(l.Done)/float64(l.Of), 0))
			}
			return app.Div().Class("learning").Body(
				app.P().Role("status").Text(status),
				v.button("button-plain", v.say(words.NumbersStop), state.LeaveLearnt{}),
			)
		}),
		when(l.Giving && !l.Busy, func() app.UI { return v.giving(s, l) }),
		app.If(!l.Busy && l.Account == nil && !l.Giving, app.Div().Class("row").Body(
			v.button("button-plain", v.say(words.NumbersLearn), state.LearnFrom{Model: e.ID}),
			v.button("button-plain", v.say(words.JudgeAsk), state.JudgeUnits{Model: e.ID}),
			app.A().Class("button", "button-plain").Href(v.link(state.Route{Screen: state.ScreenFigures, Model: e.ID})).Body(app.Span().Text(v.say(words.FiguresOpen))),
			v.button("button-plain", v.say(words.CountsGive), state.GiveCounts{Model: e.ID}),
		)),
		app.If(len(lent) > 0, app.Div().Class("stacked").Body(app.H3().Text(v.say(words.CountsName)), v.lenders(e.ID, lent))),
	)
}

// trial says how often the leading suspects were right, where there are units enough to tell.
func (v *pen) trial(t *learn.Trial) app.UI {
	switch {
	case t.Units == 0:
		return app.P().Role("status").Text(v.say(words.JudgeNone))
	case t.Units < learn.Enough:
		return app.P().Role("status").Text(v.say(words.JudgeFew, t.Units, learn.Enough))
	}
	verdict := func(l learn.Lead) string {
		switch {
		case !l.Off():
			return v.say(words.JudgeFits)
		case l.Was < l.Said:
			return v.say(words.JudgeSure)
		}
		return v.say(words.JudgeShy)
	}
	said := func(key words.Key, l learn.Lead, more ...any) app.UI {
		args := append([]any{v.words.Percent(l.Said), v.words.Decimal(100*l.Was, 0)}, more...)
		return app.P().Text(v.say(key, args...) + " " + verdict(l))
	}
	return app.Div().Class("note-box").Role("status").Body(
		said(words.JudgeShipped, t.ShippedLead, t.Units),
		said(words.JudgeLearnt, t.LearntLead),
	)
}

// wouldMove is what would change, and the yes and the no to it.
func (v *pen) wouldMove(s state.State, l state.Learning) app.UI {
	m := catalog.Speak(l.Base, s.Lang)
	all := l.Account.Moved
	shown := all[:min(len(all), movedShown)]
	taught := l.Taught[:min(len(l.Taught), taughtShown)]
	return app.Div().Class("stacked").Body(
		when(len(l.Account.Benches) > 0, func() app.UI { return v.brought(words.NumbersLent, l.Account.Benches) }),
		app.P().Role("status").Text(v.say(words.NumbersUnits, l.Account.Units)),
		app.If(len(all) == 0, app.P().Text(v.say(words.NumbersSame))),
		v.figures(m, shown),
		app.If(len(all) > len(shown), app.P().Class("quiet").Text(v.say(words.NumbersMore, len(all)-len(shown)))),
		app.If(l.Account.Wrong.Seen >= 5, app.P().Class("quiet").Text(v.say(words.NumbersWrong, v.words.OfHundred(l.Account.Wrong.P)))),
		app.Div().Class("row").Body(
			app.If(len(all) > 0, v.button("button-main", v.say(words.NumbersTake), state.TakeLearnt{})),
			v.button("button-plain", v.say(words.NumbersLeave), state.LeaveLearnt{}),
		),
		app.If(len(taught) > 0, app.H3().Text(v.say(words.NumbersTaught, short(l.Latest, labelShown)))),
		v.figures(m, taught),
	)
}

// figures lists numbers that moved, each with what it is about over it.
func (v *pen) figures(m *model.Model, all []learn.Figure) app.UI {
	return app.Ul().Class("follows", "follows-wide").Body(app.Range(all).Slice(func(i int) app.UI {
		f := all[i]
		return app.Li().Body(
			app.B().Text(v.figure(m, f)),
			app.Span().Class("number").Text(v.say(words.NumbersWas, v.words.OfHundred(f.P, f.Shipped), v.words.OfHundred(f.Shipped, f.P))),
			bar("bar-follow", f.P),
			when(f.Interval != nil, func() app.UI {
				return app.Span().Class("quiet").Text(v.say(words.NumbersSpan, v.words.OfHundred(f.Interval.Low), v.words.OfHundred(f.Interval.High)))
			}),
		)
	}))
}

// figure says what a number is about in the model's own titles.
func (v *pen) figure(m *model.Model, f learn.Figure) string {
	mode := ""
	if x, ok := m.Mode(f.Mode); ok {
		mode = modeTitle(m, x.Index)
	}
	test, outcome := "", ""
	if x, ok := m.Test(f.Test); ok {
		test = x.Title
		if o, ok := x.Outcome(f.Outcome); ok {
			outcome = outcomeTitle(x, o)
		}
	}
	switch f.Kind {
	case learn.Prior:
		return v.say(words.NumbersHave, mode)
	case learn.Healthy:
		return v.say(words.NumbersHealthy, test, outcome)
	case learn.Link:
		return v.say(words.NumbersShow, test, mode, outcome)
	}
	if x, ok := m.Repair(f.Repair); ok {
		if f.Kind == learn.Fix {
			return v.say(words.NumbersFix, x.Title, mode)
		}
		return v.say(words.NumbersRisk, x.Title, mode)
	}
	setup := ""
	if x, ok := m.Setup(f.Setup); ok {
		setup = x.Title
	}
	return v.say(words.NumbersStepRisk, setup, mode)
}
