package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/app/words"
)

// Page is the whole page, on every route.
type Page struct {
	app.Compo
}

// OnMount ties the page to the desk: from now on messages from anywhere are
// answered on the page's goroutine.
func (p *Page) OnMount(ctx app.Context) {
	at.hand = func(fn func()) { ctx.Dispatch(func(app.Context) { fn() }) }
	if !at.guarded {
		at.guarded = true
		browser.Guard()
	}
	begin(ctx)
}

// OnNav follows the address.
func (p *Page) OnNav(ctx app.Context) {
	path := ctx.Page().URL().Path
	if prefix := prefix(); len(path) >= len(prefix) && path[:len(prefix)] == prefix {
		path = path[len(prefix):]
	}
	at.take(state.Navigated{Path: path})
}

// Render implements app.Composer.
func (p *Page) Render() app.UI {
	s := at.shown
	screen := s.Route.Screen
	if !s.Ready {
		return app.Div().Class("page").Body(
			app.Main().Class("waiting").Body(
				app.H1().ID("heading").TabIndex(-1).Text(say(words.AppName)),
				app.P().Role("status").Text(say(words.Opening)),
			),
		)
	}
	var body app.UI
	switch screen {
	case state.ScreenBench:
		body = &Bench{Rev: at.rev}
	case state.ScreenIntake:
		body = &Intake{Rev: at.rev}
	case state.ScreenUnit:
		body = &Unit{Rev: at.rev}
	case state.ScreenReport:
		body = &Report{Rev: at.rev}
	case state.ScreenSettings:
		body = &Settings{Rev: at.rev}
	default:
		body = &Lost{Rev: at.rev}
	}
	if s.Refused != nil {
		body = &Defects{Rev: at.rev}
	}
	return app.Div().Class("page", "page-"+string(screen)).Body(
		&Head{Rev: at.rev},
		app.If(working(s), &Notice{Rev: at.rev}),
		&Banners{Rev: at.rev},
		body,
		&Foot{Rev: at.rev},
	)
}

// working reports whether the screen is one on which results are tapped: there a sentence that
// comes and goes has a place that nothing else wants.
func working(s state.State) bool {
	return s.Route.Screen == state.ScreenUnit && s.Unit != nil && s.Unit.Sheet == state.NoSheet && s.Refused == nil
}

// Head is the bar at the top: the way back, the heading, the settings.
type Head struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (h *Head) Render() app.UI {
	s := at.shown
	back := s.Route.Screen != state.ScreenBench
	to := state.Route{Screen: state.ScreenBench}
	if s.Route.Screen == state.ScreenReport {
		to = state.Route{Screen: state.ScreenUnit, Unit: s.Route.Unit, Pane: state.PaneOther}
	}
	title, long := heading(s), ""
	if len(title) > 40 {
		long = "head-long"
	}
	return app.Header().Class("head").Body(
		app.If(back, app.A().Class("head-link", "head-back").Href(link(to)).Aria("label", say(words.BackToBench)).Body(
			icon("back"))),
		app.H1().ID("heading").Class("head-title", long).TabIndex(-1).Text(title),
		app.If(s.Route.Screen != state.ScreenSettings,
			app.A().Class("head-link").Href(link(state.Route{Screen: state.ScreenSettings})).Aria("label", say(words.Settings)).Body(
				icon("settings"))),
	)
}

func heading(s state.State) string {
	if s.Refused != nil {
		return say(words.RefusedTitle)
	}
	switch s.Route.Screen {
	case state.ScreenBench:
		return say(words.BenchTitle)
	case state.ScreenIntake:
		return say(words.IntakeTitle)
	case state.ScreenSettings:
		return say(words.Settings)
	case state.ScreenUnit, state.ScreenReport:
		if s.Unit != nil {
			return short(s.Unit.Trail.Unit.Label, labelShown)
		}
		return say(words.UnitTitle)
	}
	return say(words.LostTitle)
}

// Foot is the bar at the bottom, within reach of a thumb: what just happened, and
// what one does here.
type Foot struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (f *Foot) Render() app.UI {
	s := at.shown
	var dock app.UI
	switch {
	case s.Refused != nil:
		dock = defectsDock()
	case s.Unit != nil && s.Unit.Sheet != state.NoSheet:
		dock = sheetDock(s.Unit)
	case s.Route.Screen == state.ScreenUnit && s.Unit != nil:
		dock = tabs(s)
	case s.Route.Screen == state.ScreenReport && s.Unit != nil:
		dock = reportDock()
	case s.Route.Screen == state.ScreenIntake:
		dock = intakeDock(s.Draft)
	case s.Route.Screen == state.ScreenBench:
		dock = benchDock(s)
	default:
		dock = app.Div()
	}
	return app.Footer().Class("foot").Body(
		app.Div().Class("foot-inner").Body(app.If(!working(s), &Notice{Rev: f.Rev}), dock),
	)
}

// Lost is the screen of an address that leads nowhere.
type Lost struct {
	app.Compo
	Rev int
}

// Render implements app.Composer.
func (l *Lost) Render() app.UI {
	return app.Main().Class("main").Body(
		app.P().Text(say(words.LostText)),
		app.A().Class("button", "button-main").Href(link(state.Route{Screen: state.ScreenBench})).Text(say(words.BackToBench)),
	)
}
