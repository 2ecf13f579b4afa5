package view

import (
	"errors"
	"strconv"
	"strings"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// Intake takes a unit in.
type Intake struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (in *Intake) Render() app.UI {
	s := at.shown
	d := s.Draft
	label, labelScope := typed(func(v string) state.Msg { return state.SetLabel{Text: v} }, "label")
	notes, notesScope := typed(func(v string) state.Msg { return state.SetNotes{Text: v} }, "notes")
	missing := d.Tried && strings.TrimSpace(d.Label) == ""
	return app.Main().Class("main", "intake").Body(
		app.Section().Class("block").Body(
			field("unit-label", say(words.LabelName), say(words.LabelHelp),
				app.Input().ID("unit-label").Class("input").Type("text").MaxLength(120).Value(value("unit-label", d.Label)).AutoComplete(false).
					Aria("describedby", "unit-label-help").Aria("invalid", strconv.FormatBool(missing)).OnInput(label, labelScope),
			),
			app.If(missing, app.P().Class("wrong").Text(say(words.LabelMissing))),
		),
		&Families{Rev: in.Rev},
		app.If(d.Model != nil, &Finding{Rev: in.Rev}),
		app.If(d.Model == nil, app.P().Class("quiet").Role("status").Text(say(words.Loading))),
		&Photos{Rev: in.Rev},
		app.Details().Class("block", "more").Body(
			app.Summary().Body(app.Span().Text(say(words.MoreTerms))),
			&Terms{Rev: in.Rev},
			app.Div().Class("notes").Body(field("unit-notes", say(words.NotesName), "",
				app.Textarea().ID("unit-notes").Class("input").Rows(3).Attr("value", value("unit-notes", d.Notes)).OnInput(notes, notesScope))),
		),
	)
}

// intakeDock is what ends the intake.
func intakeDock(d state.Draft) app.UI {
	missing := lacking(d)
	return app.Div().Class("dock").Body(
		app.If(d.Tried && len(missing) > 0, app.P().Class("wrong").Role("alert").Text(say(words.IntakeMissing, speech().List(missing...)))),
		button("button-main", say(words.StartUnit), state.StartUnit{}).Disabled(d.Starting || at.shown.Intake.Busy > 0),
	)
}

// lacking names the fields without which a unit cannot be started, also those that are
// out of sight.
func lacking(d state.Draft) []string {
	var names []string
	if strings.TrimSpace(d.Label) == "" {
		names = append(names, say(words.LabelName))
	}
	if d.Model == nil {
		names = append(names, say(words.FamilyName))
	}
	if d.Model != nil && d.Needs(d.Model.Intake) && d.Outcome() == "" {
		names = append(names, say(words.FindingName))
	}
	for _, t := range d.Wrong(speech().Number, d.Model) {
		names = append(names, say([state.TermCount]words.Key{words.TermMinute, words.TermWorking, words.TermAsIs, words.TermComeback, words.TermExchange}[t]))
	}
	return names
}

// Finding asks what the unit does now and what is at hand.
type Finding struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (f *Finding) Render() app.UI {
	d := at.shown.Draft
	m := d.Model
	if m == nil {
		return app.Div()
	}
	test := &m.Tests[m.Intake]
	return app.Div().Class("finding").Body(
		app.FieldSet().Class("block").Body(
			app.Legend().Text(say(words.FindingName)),
			app.P().Class("field-help").Text(testTitle(m, m.Intake)),
			app.If(len(test.Steps) > 0, app.Ol().Class("plain-steps").Body(app.Range(test.Steps).Slice(func(i int) app.UI {
				return app.Li().Text(test.Steps[i])
			}))),
			app.Div().Class("choices").Body(app.Range(test.Outcomes).Slice(func(i int) app.UI {
				o := test.Outcomes[i]
				return choice("finding", "finding-"+string(o.ID), outcomeTitle(test, i), o.Text, o.ID == d.Outcome(), state.Answer{Test: test.ID, Outcome: o.ID})
			})),
			app.If(d.Tried && d.Outcome() == "", app.P().Class("wrong").Text(say(words.FindingMissing))),
		),
		app.If(len(m.Tools) > 0, app.FieldSet().Class("block").Body(
			app.Legend().Text(say(words.ToolsName)),
			app.P().Class("field-help").Text(say(words.ToolsHelp)),
			app.Div().Class("toggles").Body(app.Range(m.Tools).Slice(func(i int) app.UI {
				t := m.Tools[i]
				return check("toggle", "tool-"+string(t.ID), toolTitle(m, t.ID), d.HasTool(t.ID),
					func(on bool) state.Msg { return state.SetTool{ID: t.ID, On: on} }, t.ID)
			})),
		)),
	)
}

// Terms asks what the person's time and the unit are worth.
type Terms struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (t *Terms) Render() app.UI {
	d := at.shown.Draft
	currency, currencyScope := typed(func(v string) state.Msg { return state.SetCurrency{Code: v} }, "currency")
	return app.Div().Class("terms").Body(
		app.P().Class("field-help").Text(say(words.TermsHelp)),
		field("currency", say(words.CurrencyName), "",
			app.Select().ID("currency").Class("input").OnChange(currency, currencyScope).Body(
				app.Range(words.Currencies).Slice(func(i int) app.UI {
					c := words.Currencies[i]
					return app.Option().Value(c).Text(c).Selected(c == d.Currency)
				}),
			),
		),
		amount(d, state.TermMinute, words.TermMinute, words.TermMinuteHelp),
		amount(d, state.TermWorking, words.TermWorking, words.TermWorkingHelp),
		amount(d, state.TermAsIs, words.TermAsIs, words.TermAsIsHelp),
		amount(d, state.TermComeback, words.TermComeback, words.TermComebackHelp),
		app.If(d.Asks(state.TermExchange, d.Model), amount(d, state.TermExchange, words.TermExchange, words.TermExchangeHelp)),
	)
}

func amount(d state.Draft, t state.Term, name, help words.Key) app.UI {
	id := "term-" + strconv.Itoa(int(t))
	h, s := typed(func(v string) state.Msg { return state.SetTerm{Term: t, Text: v} }, id)
	x, err := speech().Number(d.Terms[t])
	wrong := numberTrouble(err)
	if err == nil && x < 0 {
		wrong = say(words.NumberNegative)
	}
	return app.Div().Body(
		field(id, say(name), say(help),
			app.Span().Class("with-unit").Body(
				app.Input().ID(id).Class("input").Type("text").Attr("inputmode", "decimal").Value(value(id, d.Terms[t])).AutoComplete(false).
					Aria("describedby", id+"-help").Aria("invalid", strconv.FormatBool(wrong != "")).OnInput(h, s),
				app.Span().Class("unit").Text(d.Currency),
			),
		),
		app.If(wrong != "", app.P().Class("wrong").Text(wrong)),
	)
}

// numberTrouble says why a typed number does not read, "" if it does.
func numberTrouble(err error) string {
	switch {
	case err == nil:
		return ""
	case errors.Is(err, words.ErrAmbiguous):
		return say(words.NumberAmbiguous)
	}
	return say(words.NumberWrong)
}
