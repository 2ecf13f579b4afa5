package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// Unit is the screen of one unit: panes, one at a time on a phone, three beside
// each other on a wide screen.
type Unit struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (v *Unit) Render() app.UI {
	s := at.shown
	u := s.Unit
	if u == nil {
		return absent(s)
	}
	if u.Sheet != state.NoSheet {
		return app.Main().Class("main", "sheeted").Body(&Sheet{Rev: v.Rev})
	}
	pane := s.Route.Pane
	return app.Div().Class("unit", "unit-"+string(pane)).Body(
		app.Main().Class("panes").Body(
			app.Section().Class("pane", "pane-trail").Aria("label", say(words.PaneTrail)).Body(&Trail{Rev: v.Rev}),
			app.Section().Class("pane", "pane-step").Aria("label", say(words.PaneStep)).Body(&Step{Rev: v.Rev}),
			app.Section().Class("pane", "pane-odds").Aria("label", say(words.PaneOdds)).Body(&Odds{Rev: v.Rev}),
			app.Section().Class("pane", "pane-other").Aria("label", say(words.PaneOther)).Body(&Other{Rev: v.Rev}),
		),
	)
}

// tabs lead to the panes.
func tabs(s state.State) app.UI {
	return app.Nav().Class("tabs").Aria("label", say(words.PanesName)).Body(
		app.Range(state.Panes).Slice(func(i int) app.UI { return tab(s, state.Panes[i]) }),
	)
}

var paneNames = map[state.Pane]words.Key{
	state.PaneStep: words.PaneStep, state.PaneOdds: words.PaneOdds,
	state.PaneTrail: words.PaneTrail, state.PaneOther: words.PaneOther,
}

func tab(s state.State, p state.Pane) app.UI {
	a := app.A().Class("tab", "tab-"+string(p)).Href(link(state.Route{Screen: state.ScreenUnit, Unit: s.Route.Unit, Pane: p})).Body(
		icon(string(p)), app.Span().Text(say(paneNames[p])))
	if p == s.Route.Pane {
		a = a.Aria("current", "page")
	}
	return a
}
