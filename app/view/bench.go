package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/app/words"
)

// searchFrom is how many units there are before the list gets a search field.
const searchFrom = 6

// bench is the list of units.
func (v *pen) bench(s state.State) app.UI {
	shown := s.Shown()
	away, none := s.Count.Away, s.Empty()
	nothing := words.NothingFound
	if s.Search == "" && s.Only == "" {
		nothing = words.AllAway
	}
	find, findScope := v.typed(func(v string) state.Msg { return state.SearchBench{Text: v} }, "bench")
	return app.Main().Class("main", "bench").Body(
		app.If(none, app.Section().Class("welcome").Body(
			app.P().Class("lead").Text(v.say(words.WelcomeLead)),
			app.Ol().Class("welcome-list").Body(
				app.Li().Text(v.say(words.WelcomeOne)),
				app.Li().Text(v.say(words.WelcomeTwo)),
				app.Li().Text(v.say(words.WelcomeThree)),
			),
			app.P().Class("quiet").Text(v.say(words.WelcomePrivate)),
			app.P().Class("quiet").Text(v.say(words.SafetyShort)),
		)),
		app.If(s.Count.Units > 0, app.A().Class("button", "button-plain").Href(v.link(state.Route{Screen: state.ScreenBook})).Body(
			icon("odds"), app.Span().Text(v.say(words.BookName)))),
		app.If(s.Count.Units >= searchFrom, field("bench-search", v.say(words.SearchUnits), "",
			app.Input().ID("bench-search").Type("search").Class("input").Value(v.value("bench-search", s.Search)).AutoComplete(false).OnInput(find, findScope),
		)),
		when(s.Count.Units >= searchFrom || s.Only != "", func() app.UI { return v.filters(s.Only) }),
		app.If(!none, app.Ul().Class("cards").Body(
			app.Range(shown).Slice(func(i int) app.UI { return app.Li().Body(v.card(shown[i])) }),
		)),
		app.If(s.Count.Listed > len(s.Cards) && len(shown) > 0, v.button("button-plain", v.say(words.MoreUnits, s.Count.Listed-len(s.Cards)), state.MoreCards{})),
		app.If(s.Count.Summing > 0, app.P().Class("quiet").Role("status").Text(v.say(words.SummingUp, s.Count.Summing))),
		app.If(!none && s.Count.Listed == 0 && s.Count.Summing == 0 && len(shown) == 0, app.P().Class("quiet").Text(v.say(nothing))),
		app.If(s.Unbacked(), app.Section().Class("note-box").Aria("label", v.say(words.BackUpName)).Body(
			app.P().Text(v.say(words.BackUpNow)),
			app.If(s.Storage.Forgets, app.P().Text(v.say(words.StorageForgets))),
			v.backUps(s),
		)),
		app.If(s.Offline, app.P().Class("quiet").Role("status").Text(v.say(words.OfflineNow))),
		app.If(away > 0, v.check("archived", "show-archived", v.say(words.ShowArchived, away), s.Archived,
			func(on bool) state.Msg { return state.ShowArchived{On: on} }, "archived")),
	)
}

// stands are where units stand, in the order of the filters.
var stands = []state.Status{"", state.StatusOpen, state.StatusWaiting, state.StatusSignedOff, state.StatusWrittenOff, state.StatusReturned}

// filters show the units that stand somewhere.
func (v *pen) filters(only state.Status) app.UI {
	return app.Div().Class("chips", "filters").Role("group").Aria("label", v.say(words.FiltersName)).Body(app.Range(stands).Slice(func(i int) app.UI {
		name := v.say(words.FilterAll)
		if stands[i] != "" {
			name = v.status(stands[i])
		}
		return v.chip(name, stands[i] == only, state.FilterBench{Status: stands[i]})
	}))
}

// benchDock is what one does at the bench.
func (v *pen) benchDock(s state.State) app.UI {
	return app.Div().Class("dock").Body(
		app.A().Class("button", "button-main").Href(v.link(state.Route{Screen: state.ScreenIntake})).Body(
			icon("add"), app.Span().Text(v.say(words.TakeIn))),
		app.If(!hasSample(s), v.button("button-plain", v.say(words.TrySample), state.CreateSample{})),
		v.fileButton(v.say(words.ReadIn)),
	)
}

// fileButton is a file field that looks like a button.
func (v *pen) fileButton(label string) app.UI {
	h, s := v.tap(state.PickImport{})
	return app.Label().Class("button", "button-plain", "button-file").For(browser.FileField).Body(
		app.Input().ID(browser.FileField).Type("file").Accept(".json,.txt,application/json,text/plain").OnChange(h, s),
		app.Span().Text(label),
	)
}

func hasSample(s state.State) bool { return s.Count.Sample }

// card is one unit in the list.
func (v *pen) card(c state.Card) app.UI {
	w := v.words
	return app.A().Class("card", "card-"+string(c.Status)).Href(v.link(state.Route{Screen: state.ScreenUnit, Unit: c.ID})).Body(
		app.Span().Class("card-label").Text(short(c.Label, labelShown)),
		app.If(c.Status != "", app.Span().Class("card-status").Text(v.status(c.Status))),
		app.If(c.Waits != "", app.Span().Class("card-waits").Text(v.say(words.CardWaits, short(c.Waits, labelShown)))),
		// Of a unit whose head cannot be read nothing is known.
		app.If(c.Status != "", app.Span().Class("card-facts").Body(
			app.If(c.Model != "", app.Span().Text(c.Model)),
			app.Span().Text(w.Minutes(c.Minutes)),
			app.Span().Text(w.Money(c.Money, c.Currency)),
			app.Span().Text(v.say(words.Steps, c.Steps)),
			app.Span().Text(w.Day(c.Changed, v.zone)),
		)),
		app.If(c.Damaged, app.Span().Class("card-damaged").Text(v.say(words.CardDamaged))),
	)
}

func (v *pen) status(s state.Status) string {
	switch s {
	case state.StatusSignedOff:
		return v.say(words.StatusSignedOff)
	case state.StatusWrittenOff:
		return v.say(words.StatusWrittenOff)
	case state.StatusReturned:
		return v.say(words.StatusReturned)
	case state.StatusWaiting:
		return v.say(words.StatusWaiting)
	}
	return v.say(words.StatusOpen)
}
