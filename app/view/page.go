package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/app/words"
)

// Page is the whole page, on every route: the one component that has a life. What it draws are
// plain functions of the snapshot.
type Page struct {
	app.Compo
	desk *desk
}

// OnMount ties the page to the desk: from now on messages from anywhere are
// answered on the page's goroutine.
func (p *Page) OnMount(ctx app.Context) {
	p.desk.hand = func(fn func()) { ctx.Dispatch(func(app.Context) { fn() }) }
	if !p.desk.guarded {
		p.desk.guarded = true
		browser.Yield() // the browser has its turn between the steps of the start
		browser.Guard()
		browser.Yield()
	}
	p.desk.begin(ctx)
}

// OnNav follows the address.
func (p *Page) OnNav(ctx app.Context) {
	path := ctx.Page().URL().Path
	if prefix := prefix(); len(path) >= len(prefix) && path[:len(prefix)] == prefix {
		path = path[len(prefix):]
	}
	p.desk.follow(path)
}

// Render implements app.Composer.
func (p *Page) Render() app.UI { return p.desk.pen().page(p.desk.shown) }

// page draws the whole of a snapshot.
func (v *pen) page(s state.State) app.UI {
	screen := s.Route.Screen
	if !s.Ready {
		return app.Div().Class("page").Body(
			app.Main().Class("waiting").Body(
				app.H1().ID("heading").TabIndex(-1).Text(v.say(words.AppName)),
				app.P().Role("status").Text(v.say(words.Opening)),
			),
		)
	}
	var body app.UI
	switch screen {
	case state.ScreenBench:
		body = v.bench(s)
	case state.ScreenIntake:
		body = v.intake(s)
	case state.ScreenUnit:
		body = v.unit(s)
	case state.ScreenReport:
		body = v.report(s)
	case state.ScreenSettings:
		body = v.settings(s)
	case state.ScreenBook:
		body = v.book(s)
	case state.ScreenNumbers:
		body = v.numbers(s)
	case state.ScreenWorth:
		body = v.worth(s)
	case state.ScreenFigures:
		body = v.figuresPage(s)
	case state.ScreenMove:
		body = v.move(s)
	default:
		body = v.lost()
	}
	if s.Refused != nil {
		body = v.defects(s.Refused)
	}
	far := ""
	if s.Habits.Far {
		far = "page-far"
	}
	return app.Div().Class("page", "page-"+string(screen), far).Body(
		v.head(s),
		v.banners(s),
		when(working(s), func() app.UI { return v.notice(s) }),
		body,
		v.foot(s),
	)
}

// working reports whether the screen is one on which results are tapped: there a sentence that
// comes and goes has a place that nothing else wants.
func working(s state.State) bool {
	return s.Route.Screen == state.ScreenUnit && s.Unit != nil && s.Unit.Sheet == state.NoSheet && s.Refused == nil
}

// head is the bar at the top: the way back, the heading, the settings.
func (v *pen) head(s state.State) app.UI {
	back := s.Route.Screen != state.ScreenBench
	to, name := state.Route{Screen: state.ScreenBench}, v.say(words.BackToBench)
	if s.Route.Screen == state.ScreenReport {
		to = state.Route{Screen: state.ScreenUnit, Unit: s.Route.Unit, Pane: state.PaneOther}
		name = v.say(words.UnitTitle)
	}
	if s.Route.Screen == state.ScreenFigures {
		to, name = state.Route{Screen: state.ScreenNumbers}, v.say(words.NumbersName)
	}
	title, long := v.heading(s), ""
	if len(title) > 40 {
		long = "head-long"
	}
	return app.Header().Class("head").Body(
		app.If(back, app.A().Class("head-link", "head-back").Href(v.link(to)).Aria("label", name).Body(
			icon("back"))),
		app.H1().ID("heading").Class("head-title", long).TabIndex(-1).Text(title),
		app.If(s.Route.Screen != state.ScreenSettings,
			app.A().Class("head-link").Href(v.link(state.Route{Screen: state.ScreenSettings})).Aria("label", v.say(words.Settings)).Body(
				icon("settings"))),
	)
}

func (v *pen) heading(s state.State) string {
	if s.Refused != nil {
		return v.say(words.RefusedTitle)
	}
	switch s.Route.Screen {
	case state.ScreenBench:
		return v.say(words.BenchTitle)
	case state.ScreenIntake:
		return v.say(words.IntakeTitle)
	case state.ScreenSettings:
		return v.say(words.Settings)
	case state.ScreenBook:
		return v.say(words.BookName)
	case state.ScreenNumbers:
		return v.say(words.NumbersName)
	case state.ScreenWorth:
		return v.say(words.WorthName)
	case state.ScreenFigures:
		return v.say(words.FiguresName)
	case state.ScreenMove:
		return v.say(words.MoveTitle)
	case state.ScreenUnit, state.ScreenReport:
		if s.Unit != nil {
			return short(s.Unit.Trail.Unit.Label, labelShown)
		}
		return v.say(words.UnitTitle)
	}
	return v.say(words.LostTitle)
}

// foot is the bar at the bottom, within reach of a thumb: what just happened, and
// what one does here.
func (v *pen) foot(s state.State) app.UI {
	var dock app.UI
	switch {
	case s.Refused != nil:
		dock = v.defectsDock(s.Refused)
	case s.Unit != nil && s.Unit.Sheet != state.NoSheet:
		dock = v.sheetDock(s.Unit)
	case s.Route.Screen == state.ScreenUnit && s.Unit != nil:
		dock = v.tabs(s)
	case s.Route.Screen == state.ScreenReport && s.Unit != nil:
		dock = v.reportDock()
	case s.Route.Screen == state.ScreenIntake:
		dock = v.intakeDock(s.Draft, s.Intake.Busy > 0)
	case s.Route.Screen == state.ScreenBench:
		dock = v.benchDock(s)
	default:
		dock = app.Div()
	}
	return app.Footer().Class("foot").Body(
		app.Div().Class("foot-inner").Body(when(!working(s), func() app.UI { return v.notice(s) }), dock),
	)
}

// lost is the screen of an address that leads nowhere.
func (v *pen) lost() app.UI {
	return app.Main().Class("main").Body(
		app.P().Text(v.say(words.LostText)),
		v.toBench(),
	)
}

// toBench is the way on where nothing else is left to do.
func (v *pen) toBench() app.UI {
	return app.A().Class("button", "button-main").Href(v.link(state.Route{Screen: state.ScreenBench})).Text(v.say(words.BackToBench))
}
