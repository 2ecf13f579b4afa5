package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// unit is the screen of one unit: panes, one at a time on a phone, three beside
// each other on a wide screen.
func (v *pen) unit(s state.State) app.UI {
	u := s.Unit
	if u == nil {
		return v.absent(s)
	}
	if u.Sheet != state.NoSheet {
		return app.Main().Class("main", "sheeted").Body(v.sheet(s))
	}
	pane := s.Route.Pane
	return app.Div().Class("unit", "unit-"+string(pane)).Body(
		app.Main().Class("panes").Body(
			app.Section().Class("pane", "pane-trail").Aria("label", v.say(words.PaneTrail)).Body(v.trail(u, s.Album())),
			app.Section().Class("pane", "pane-step").Aria("label", v.say(words.PaneStep)).Body(v.step(u, s.Habits, s.Speech)),
			app.Section().Class("pane", "pane-odds").Aria("label", v.say(words.PaneOdds)).Body(v.odds(u)),
			app.Section().Class("pane", "pane-other").Aria("label", v.say(words.PaneOther)).Body(v.other(u, s)),
		),
	)
}

// tabs lead to the panes.
func (v *pen) tabs(s state.State) app.UI {
	return app.Nav().Class("tabs").Aria("label", v.say(words.PanesName)).Body(
		app.Range(state.Panes).Slice(func(i int) app.UI { return v.tab(s, state.Panes[i]) }),
	)
}

var paneNames = map[state.Pane]words.Key{
	state.PaneStep: words.PaneStep, state.PaneOdds: words.PaneOdds,
	state.PaneTrail: words.PaneTrail, state.PaneOther: words.PaneOther,
}

func (v *pen) tab(s state.State, p state.Pane) app.UI {
	a := app.A().Class("tab", "tab-"+string(p)).Href(v.link(state.Route{Screen: state.ScreenUnit, Unit: s.Route.Unit, Pane: p})).Body(
		icon(string(p)), app.Span().Text(v.say(paneNames[p])))
	if p == s.Route.Pane {
		a = a.Aria("current", "page")
	}
	return a
}
