package view

import (
	"strconv"
	"strings"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/catalog"
	"pitwise/engine/learn"
	"pitwise/engine/model"
)

// A sheaf is figures that share a sentence, of which each gives one number.
type sheaf struct {
	title   string
	figures []learn.Figure
	name    func(learn.Figure) string
}

// figuresPage is the numbers of a model in plain words: a list of what they are about, or those of one of these.
func (v *pen) figuresPage(s state.State) app.UI {
	f := s.Figures
	main := app.Main().Class("main", "settings", "figures")
	switch {
	case f.Failed:
		return main.Body(app.P().Role("status").Text(v.say(words.FiguresFailed)))
	case f.Now == nil:
		return main.Body(app.P().Class("quiet").Role("status").Text(v.say(words.Thinking)))
	case f.Edit != nil:
		return main.Body(v.editFigure(s))
	}
	m := catalog.Speak(f.Now, s.Lang)
	if s.Route.About == "" {
		return main.Body(v.subjects(s, m)...)
	}
	sheaves := v.sheaves(m, s.Figures, s.Route)
	if sheaves == nil {
		return main.Body(app.P().Text(v.say(words.FiguresNone)))
	}
	return main.Body(
		app.P().Body(app.A().Class("button", "button-plain").Href(v.link(state.Route{Screen: state.ScreenFigures, Model: f.Model})).Body(app.Span().Text(v.say(words.FiguresName)))),
		app.H2().Text(v.subjectTitle(m, s.Route)),
		app.Range(sheaves).Slice(func(i int) app.UI { return v.sheaf(m, sheaves[i]) }),
		v.cites(m, sheaves),
	)
}

// subjects is what there are numbers about, and the way back from numbers of one's own.
func (v *pen) subjects(s state.State, m *model.Model) []app.UI {
	f := s.Figures
	of := func(about state.Subject, n int, name func(i int) (id, title, more string)) app.UI {
		return app.Ul().Class("subjects").Body(app.Range(make([]struct{}, n)).Slice(func(i int) app.UI {
			id, title, more := name(i)
			return app.Li().Body(app.A().Class("subject").Href(v.link(state.Route{Screen: state.ScreenFigures, Model: f.Model, About: about, Of: id})).Body(
				app.Span().Text(title),
				app.If(more != "", app.Span().Class("quiet").Text(more)),
			))
		}))
	}
	return []app.UI{
		app.P().Text(v.say(words.FiguresHelp)),
		when(f.SHA256 != "", func() app.UI {
			return app.Div().Class("note-box").Body(
				app.P().Text(v.say(words.FiguresInUse, short(m.Revision, labelShown))),
				v.button("button-plain", v.say(words.FiguresBack), state.ForgetModel{SHA256: f.SHA256}),
			)
		}),
		app.H2().Text(v.say(words.FiguresModes)),
		of(state.SubjectMode, len(m.Modes), func(i int) (string, string, string) {
			return string(m.Modes[i].ID), modeTitle(m, i), partTitle(m, i)
		}),
		app.H2().Text(v.say(words.FiguresTests)),
		of(state.SubjectTest, len(m.Tests), func(i int) (string, string, string) {
			return string(m.Tests[i].ID), titled(m.Tests[i].Words, string(m.Tests[i].ID)), ""
		}),
		app.H2().Text(v.say(words.FiguresRepairs)),
		of(state.SubjectRepair, len(m.Repairs), func(i int) (string, string, string) {
			return string(m.Repairs[i].ID), titled(m.Repairs[i].Words, string(m.Repairs[i].ID)), ""
		}),
	}
}

func (v *pen) subjectTitle(m *model.Model, r state.Route) string {
	switch r.About {
	case state.SubjectMode:
		return words.FaultOf(m, model.ModeID(r.Of))
	case state.SubjectTest:
		if t, ok := m.Test(model.TestID(r.Of)); ok {
			return titled(t.Words, r.Of)
		}
	case state.SubjectRepair:
		if x, ok := m.Repair(model.RepairID(r.Of)); ok {
			return titled(x.Words, r.Of)
		}
	}
	return r.Of
}

// sheaves returns the figures of a subject, in sentences; nil if the model does not have it.
func (v *pen) sheaves(m *model.Model, f state.Figures, r state.Route) []sheaf {
	all := learn.FiguresOf(f.Now, f.Shipped, func(x learn.Figure) bool {
		switch r.About {
		case state.SubjectMode:
			return string(x.Mode) == r.Of
		case state.SubjectTest:
			return string(x.Test) == r.Of
		}
		return string(x.Repair) == r.Of
	})
	var out []sheaf
	for _, x := range all {
		spanned(&x, f.Spans)
		title, name := v.sentence(m, x, r.About)
		if n := len(out); n > 0 && out[n-1].title == title {
			out[n-1].figures = append(out[n-1].figures, x)
			continue
		}
		out = append(out, sheaf{title, []learn.Figure{x}, name})
	}
	return out
}

// spanned gives a number that was learnt the interval that learning told.
func spanned(x *learn.Figure, spans []learn.Figure) {
	for _, s := range spans {
		if s.Kind == x.Kind && s.Test == x.Test && s.Outcome == x.Outcome && s.Mode == x.Mode && s.Repair == x.Repair && s.Setup == x.Setup && s.Leave == x.Leave && x.Learnt {
			x.Interval = s.Interval
		}
	}
}

// sentence returns the sentence that a figure ends, and what it says of it.
func (v *pen) sentence(m *model.Model, x learn.Figure, about state.Subject) (string, func(learn.Figure) string) {
	fault := func(f learn.Figure) string { return words.FaultOf(m, f.Mode) }
	outcome := func(f learn.Figure) string {
		t, _ := m.Test(f.Test)
		o, _ := t.Outcome(f.Outcome)
		return outcomeTitle(t, o)
	}
	test := ""
	if t, ok := m.Test(x.Test); ok {
		test = titled(t.Words, string(t.ID))
	}
	by := func(f learn.Figure) string {
		if about == state.SubjectRepair {
			return fault(f)
		}
		if r, ok := m.Repair(f.Repair); ok {
			return titled(r.Words, string(r.ID))
		}
		setup, _ := m.Setup(f.Setup)
		return v.say(words.FiguresSetup, titled(setup.Words, string(setup.ID)))
	}
	switch x.Kind {
	case learn.Prior:
		return v.say(words.FiguresPrior), fault
	case learn.Healthy:
		return v.say(words.FiguresHealthy), outcome
	case learn.Link:
		if about == state.SubjectMode {
			return v.words.Is(test, v.say(words.FiguresLink)), outcome
		}
		return v.words.Is(fault(x), v.say(words.FiguresWith)), outcome
	case learn.Fix:
		return v.say(words.FiguresFix), by
	}
	return v.say(words.FiguresRisk), by
}

// sheaf draws figures that share a sentence. There are many of faults in tests, so that these are folded.
func (v *pen) sheaf(m *model.Model, b sheaf) app.UI {
	if b.figures[0].Kind == learn.Link {
		return app.Details().Class("more").Body(
			app.Summary().Body(app.Span().Class("sheaf-name").Text(b.title)),
			v.figureList(m, b),
		)
	}
	return app.Section().Class("sheaf").Body(app.H3().Text(b.title), v.figureList(m, b))
}

func (v *pen) figureList(m *model.Model, b sheaf) app.UI {
	return app.Ul().Class("figure-list").Body(app.Range(b.figures).Slice(func(i int) app.UI {
		x := b.figures[i]
		plain := x
		plain.Interval = nil // a scope is told by what it holds
		return app.Li().Class("figure").Body(
			app.B().Text(b.name(x)),
			app.Span().Class("number").Text(v.words.OfHundred(x.P)),
			v.button("button-plain", v.say(words.FiguresChange), state.EditFigure{Figure: plain}).Aria("label", v.say(words.FiguresChange)+": "+b.name(x)),
			bar("bar-follow", x.P),
			when(x.Interval != nil && x.P > 0 && x.P < 1, func() app.UI {
				return app.Span().Class("quiet").Text(v.say(words.NumbersSpan, v.words.OfHundred(x.Interval.Low), v.words.OfHundred(x.Interval.High)))
			}),
			app.Span().Class("quiet", "origin").Text(v.origin(m, x)),
		)
	}))
}

// origin says how a number is known, or what it was before.
func (v *pen) origin(m *model.Model, x learn.Figure) string {
	if why, own := learn.WhyOwn(m, x); own {
		return v.say(words.FiguresMine, v.words.OfHundred(x.Shipped), short(why, labelShown))
	}
	switch {
	case !x.Learnt:
		return v.say(words.FiguresShipped, v.say(gradeNames[x.Grade]))
	case learn.From(m):
		return v.say(words.FiguresLearnt, v.words.OfHundred(x.Shipped))
	}
	return v.say(words.FiguresMoved, v.words.OfHundred(x.Shipped))
}

// cites lists the sources of what is shown.
func (v *pen) cites(m *model.Model, all []sheaf) app.UI {
	var cites []string
	seen := map[model.SourceID]bool{}
	for _, b := range all {
		for _, x := range b.figures {
			if s, ok := m.Source(x.Source); ok && !seen[x.Source] {
				seen[x.Source] = true
				cites = append(cites, v.say(words.EventResult, v.say(gradeNames[s.Kind]), short(s.Cite, noteShown)))
			}
		}
	}
	return app.If(len(cites) > 0, app.Details().Class("more").Body(
		summary(v.say(words.FiguresSource)),
		app.Ul().Class("seen").Body(app.Range(cites).Slice(func(i int) app.UI { return app.Li().Text(cites[i]) })),
	))
}

// editFigure asks for a number of one's own and why.
func (v *pen) editFigure(s state.State) app.UI {
	f := s.Figures
	m := catalog.Speak(f.Now, s.Lang)
	_, ok := f.Share(v.words)
	typed, typedScope := v.typed(func(x string) state.Msg { return state.SetFigure{Text: x} }, "figure")
	reason, reasonScope := v.typed(func(x string) state.Msg { return state.SetReason{Text: x} }, "reason")
	ready := ok && strings.TrimSpace(f.Reason) != "" && !f.Busy
	return app.Section().Class("block").Body(
		app.H2().Text(v.say(words.FiguresOwn)),
		app.P().Text(v.figure(m, *f.Edit)),
		app.P().Class("quiet").Text(v.say(words.NumbersWas, v.words.OfHundred(f.Edit.P, f.Edit.Shipped), v.words.OfHundred(f.Edit.Shipped, f.Edit.P))),
		field("figure-p", v.say(words.FiguresTyped), v.say(words.FiguresTypedHelp),
			app.Input().ID("figure-p").Class("input").Type("text").Attr("inputmode", "decimal").MaxLength(12).Value(v.value("figure-p", f.Text)).AutoComplete(false).
				Aria("describedby", "figure-p-help").Aria("invalid", strconv.FormatBool(f.Text != "" && !ok)).OnInput(typed, typedScope)),
		field("figure-why", v.say(words.FiguresReason), v.say(words.FiguresReasonHelp),
			app.Input().ID("figure-why").Class("input").Type("text").MaxLength(200).Value(v.value("figure-why", f.Reason)).AutoComplete(false).
				Aria("describedby", "figure-why-help").OnInput(reason, reasonScope)),
		app.If(f.Wrong != "", app.P().Class("wrong").Role("alert").Text(v.say(words.FiguresWrong, short(f.Wrong, noteShown)))),
		app.If(f.Busy, app.P().Role("status").Text(v.say(words.FiguresBusy))),
		app.Div().Class("row").Body(
			v.button("button-main", v.say(words.FiguresKeep), state.KeepFigure{}).Disabled(!ready),
			v.button("button-plain", v.say(words.FiguresLeave), state.EditFigure{}),
		),
	)
}
