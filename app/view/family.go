package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/catalog"
)

// families is the list of drives at intake: the shipped ones, then those that the
// person brought in, and the way to bring one in.
func (v *pen) families(s state.State) app.UI {
	chosen := s.Draft.ModelID
	return app.FieldSet().Class("block").Body(
		app.Legend().Text(v.say(words.FamilyName)),
		app.Div().Class("choices").Body(app.Range(s.Models).Slice(func(i int) app.UI {
			e := s.Models[i]
			return app.Div().Class("family").Body(
				familyPicture(e.ID),
				v.choice("family", "family-"+e.ID, catalog.Title(e.ID, e.Title, s.Lang), "", e.ID == chosen, state.PickModel{ID: e.ID}),
			)
		})),
		// Always there, or what follows would be made anew, and close, with the first of them.
		app.Div().Class("choices").Hidden(len(s.Own) == 0).Body(app.Range(s.Own).Slice(func(i int) app.UI {
			return v.ownFamily(s, s.Own[i])
		})),
		app.Details().Class("more").Body(
			summary(v.say(words.FamilyOther)),
			app.Div().Class("block").Body(
				app.P().Class("field-help").Text(v.say(words.BringModelHelp)),
				v.fileButton(v.say(words.BringModel)),
			),
		),
	)
}

// checksumShown is how many digits tell two texts of one revision apart on the list.
const checksumShown = 8

// ownFamily is one's own model on the list, with the way to take it off again.
func (v *pen) ownFamily(s state.State, m state.OwnModel) app.UI {
	title, revision := short(m.Title, labelShown), short(m.Revision, labelShown)
	facts := v.say(words.OwnFacts, revision, v.words.Day(m.Added, v.zone))
	if s.Apart(m) {
		facts = v.say(words.OwnFactsSum, revision, v.words.Day(m.Added, v.zone), short(m.SHA256, checksumShown))
	}
	return app.Div().Class("own-family").Body(
		v.choice("family", "family-"+m.SHA256, title, facts, m.SHA256 == s.Draft.ModelID, state.PickModel{ID: m.SHA256}),
		v.act(app.Button().Type("button").Class("button", "button-icon").Aria("label", v.say(words.DropModel, title)), state.AskDrop{SHA256: m.SHA256}).Body(icon("close")),
		app.If(s.Dropping == m.SHA256, app.Div().Class("note-box").Role("group").Body(
			app.P().Role("status").Text(v.say(words.DropModelAsk, title, revision)),
			app.Div().Class("row").Body(
				v.button("button-plain", v.say(words.DropModelConfirm), state.ForgetModel{SHA256: m.SHA256}),
				v.button("button-plain", v.say(words.Cancel), state.AskDrop{}),
			),
		)),
	)
}
