package view

import (
	"errors"
	"strconv"
	"strings"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/model"
)

// intake takes a unit in.
func (v *pen) intake(s state.State) app.UI {
	d := s.Draft
	label, labelScope := v.typed(func(v string) state.Msg { return state.SetLabel{Text: v} }, "label")
	notes, notesScope := v.typed(func(v string) state.Msg { return state.SetNotes{Text: v} }, "notes")
	missing := d.Tried && strings.TrimSpace(d.Label) == ""
	return app.Main().Class("main", "intake").Body(
		app.Section().Class("block").Body(
			field("unit-label", v.say(words.LabelName), v.say(words.LabelHelp),
				app.Input().ID("unit-label").Class("input").Type("text").MaxLength(120).Value(v.value("unit-label", d.Label)).AutoComplete(false).
					Aria("describedby", "unit-label-help").Aria("invalid", strconv.FormatBool(missing)).OnInput(label, labelScope),
			),
			app.If(missing, app.P().Class("wrong").Text(v.say(words.LabelMissing))),
		),
		v.families(s),
		when(d.Model != nil, func() app.UI { return v.finding(d) }),
		app.If(d.Model == nil, app.P().Class("quiet").Role("status").Text(v.say(words.Loading))),
		v.photos(s.Album()),
		app.Details().Class("block", "more").Body(
			// What the last unit was worth stands here until somebody says what this one is.
			summary(v.say(words.MoreTerms)+": "+d.Terms[state.TermWorking]+" / "+d.Terms[state.TermAsIs]+" "+d.Currency),
			v.amounts(d.Model, d.TermsDraft),
			app.Div().Class("notes").Body(field("unit-notes", v.say(words.NotesName), "",
				app.Textarea().ID("unit-notes").Class("input").Rows(3).Attr("value", v.value("unit-notes", d.Notes)).OnInput(notes, notesScope))),
		),
	)
}

// intakeDock is what ends the intake.
func (v *pen) intakeDock(d state.Draft, busy bool) app.UI {
	missing := v.lacking(d)
	return app.Div().Class("dock").Body(
		app.If(d.Tried && len(missing) > 0, app.P().Class("wrong").Role("alert").Text(v.say(words.IntakeMissing, v.words.List(missing...)))),
		v.button("button-main", v.say(words.StartUnit), state.StartUnit{}).Disabled(d.Starting || busy),
	)
}

var termNames = [state.TermCount]words.Key{words.TermMinute, words.TermWorking, words.TermAsIs, words.TermComeback, words.TermExchange}

// lacking names the fields without which a unit cannot be started, also those that are
// out of sight.
func (v *pen) lacking(d state.Draft) []string {
	var names []string
	if strings.TrimSpace(d.Label) == "" {
		names = append(names, v.say(words.LabelName))
	}
	if d.Model == nil {
		names = append(names, v.say(words.FamilyName))
	}
	if d.Model != nil && d.Needs(d.Model.Intake) && d.Outcome() == "" {
		names = append(names, v.say(words.FindingName))
	}
	for _, t := range d.Wrong(v.words.Number, d.Model) {
		names = append(names, v.say(termNames[t]))
	}
	return names
}

// finding asks what the owner says, one tap each, and what is at hand. What is not known stays
// unanswered and costs nothing.
func (v *pen) finding(d state.Draft) app.UI {
	m := d.Model
	first := &m.Tests[m.Intake]
	return app.Div().Class("finding").Body(
		app.Section().Class("block").Body(
			app.H2().Text(v.say(words.FindingName)),
			app.If(first.Told, app.P().Class("field-help").Text(v.say(words.QuestionsHelp))),
			app.If(!first.Told && len(first.Steps) > 0, app.Ol().Class("plain-steps").Body(app.Range(first.Steps).Slice(func(i int) app.UI {
				return app.Li().Text(first.Steps[i])
			}))),
			app.Range(d.Questions()).Slice(func(i int) app.UI {
				t := &m.Tests[d.Questions()[i]]
				return v.question(t, d.Answers[t.ID])
			}),
			app.If(d.Tried && d.Needs(m.Intake) && d.Outcome() == "", app.P().Class("wrong").Text(v.say(words.FindingMissing))),
		),
		v.tools(m, d.TermsDraft),
	)
}

// tools asks what is at hand.
func (v *pen) tools(m *model.Model, d state.TermsDraft) app.UI {
	own := m.BenchTools()
	return app.If(len(own) > 0, app.FieldSet().Class("block").Body(
		app.Legend().Text(v.say(words.ToolsName)),
		app.P().Class("field-help").Text(v.say(words.ToolsHelp)),
		app.Div().Class("chips").Body(app.Range(own).Slice(func(i int) app.UI {
			t := own[i]
			return v.check("toggle", "tool-"+string(t.ID), toolTitle(m, t.ID), d.HasTool(t.ID),
				func(on bool) state.Msg { return state.SetTool{ID: t.ID, On: on} }, t.ID)
		})),
	))
}

// amounts asks what the person's time and the unit are worth.
func (v *pen) amounts(m *model.Model, d state.TermsDraft) app.UI {
	currency, currencyScope := v.typed(func(code string) state.Msg { return state.SetCurrency{Code: code} }, "currency")
	return app.Div().Class("terms").Body(
		app.P().Class("field-help").Text(v.say(words.TermsHelp)),
		field("currency", v.say(words.CurrencyName), "",
			app.Select().ID("currency").Class("input").OnChange(currency, currencyScope).Body(
				app.Range(words.Currencies).Slice(func(i int) app.UI {
					c := words.Currencies[i]
					return app.Option().Value(c).Text(c).Selected(c == d.Currency)
				}),
			),
		),
		v.amount(d, state.TermMinute, words.TermMinute, words.TermMinuteHelp),
		v.amount(d, state.TermWorking, words.TermWorking, words.TermWorkingHelp),
		v.amount(d, state.TermAsIs, words.TermAsIs, words.TermAsIsHelp),
		v.amount(d, state.TermComeback, words.TermComeback, words.TermComebackHelp),
		app.If(m != nil && d.Asks(state.TermExchange, m), v.amount(d, state.TermExchange, words.TermExchange, words.TermExchangeHelp)),
	)
}

func (v *pen) amount(d state.TermsDraft, t state.Term, name, help words.Key) app.UI {
	id := "term-" + strconv.Itoa(int(t))
	h, s := v.typed(func(v string) state.Msg { return state.SetTerm{Term: t, Text: v} }, id)
	x, err := v.words.Number(d.Terms[t])
	wrong := v.numberTrouble(err)
	if err == nil && x < 0 {
		wrong = v.say(words.NumberNegative)
	}
	return app.Div().Body(
		field(id, v.say(name), v.say(help),
			app.Span().Class("with-unit").Body(
				app.Input().ID(id).Class("input").Type("text").Attr("inputmode", "decimal").Value(v.value(id, d.Terms[t])).AutoComplete(false).
					Aria("describedby", id+"-help").Aria("invalid", strconv.FormatBool(wrong != "")).OnInput(h, s),
				app.Span().Class("unit").Text(d.Currency),
			),
		),
		app.If(wrong != "", app.P().Class("wrong").Text(wrong)),
	)
}

// numberTrouble says why a typed number does not read, "" if it does.
func (v *pen) numberTrouble(err error) string {
	switch {
	case err == nil:
		return ""
	case errors.Is(err, words.ErrAmbiguous):
		return v.say(words.NumberAmbiguous)
	}
	return v.say(words.NumberWrong)
}
