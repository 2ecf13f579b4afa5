package state

import (
	"regexp"
	"strings"
	"sync"
)

// A Route is where in the app the person is; it is the address of the page.
type Route struct {
	Screen Screen
	Unit   string // of ScreenUnit
	Pane   Pane   // of ScreenUnit; on a wide screen all panes show at once

	Model string  // of ScreenFigures: id
	About Subject // of ScreenFigures; "" for the list of subjects
	Of    string  // id of the subject
}

// A Screen is one of the app's full pages.
type Screen string

const (
	ScreenBench    Screen = "bench"
	ScreenIntake   Screen = "new"
	ScreenUnit     Screen = "unit"
	ScreenReport   Screen = "report"
	ScreenSettings Screen = "settings"
	ScreenBook     Screen = "book"    // what the whole bench came to, and what to order
	ScreenNumbers  Screen = "numbers" // what was learnt from the bench's own units
	ScreenWorth    Screen = "worth"   // what tools are worth
	ScreenFigures  Screen = "figures" // the numbers of a model, in plain words
	ScreenMove     Screen = "move"    // from one device to another
	ScreenLost     Screen = "lost"    // an address that leads nowhere
)

// A Pane is one part of a unit's screen.
type Pane string

const (
	PaneStep  Pane = "step"  // what to do next
	PaneOdds  Pane = "odds"  // what may be wrong
	PaneTrail Pane = "trail" // what was done
	PaneOther Pane = "other" // everything else one may do
)

// Panes lists the panes in the order of the tab bar.
var Panes = []Pane{PaneStep, PaneOdds, PaneTrail, PaneOther}

var unitPath = pattern(`^/unit/([0-9A-Za-z][0-9A-Za-z-]{0,63})(?:/([a-z]+))?$`)

var figuresPath = pattern(`^/figures/([0-9a-z-]{1,64})(?:/(mode|test|repair)/([0-9a-z.-]{1,130}))?$`)

// pattern compiles a regular expression when it is first wanted.
func pattern(text string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(text) })
}

// ParseRoute reads a path below the app's root. An unknown path is ScreenLost.
func ParseRoute(path string) Route {
	path = "/" + strings.Trim(path, "/")
	switch path {
	case "/", "/index.html":
		return Route{Screen: ScreenBench}
	case "/new":
		return Route{Screen: ScreenIntake}
	case "/settings":
		return Route{Screen: ScreenSettings}
	case "/book":
		return Route{Screen: ScreenBook}
	case "/move":
		return Route{Screen: ScreenMove}
	case "/numbers":
		return Route{Screen: ScreenNumbers}
	case "/worth":
		return Route{Screen: ScreenWorth}
	}
	if m := figuresPath().FindStringSubmatch(path); m != nil {
		return Route{Screen: ScreenFigures, Model: m[1], About: Subject(m[2]), Of: m[3]}
	}
	m := unitPath().FindStringSubmatch(path)
	if m == nil {
		return Route{Screen: ScreenLost}
	}
	switch {
	case m[2] == "":
		return Route{Screen: ScreenUnit, Unit: m[1], Pane: PaneStep}
	case m[2] == string(ScreenReport):
		return Route{Screen: ScreenReport, Unit: m[1]}
	}
	for _, p := range Panes {
		if m[2] == string(p) {
			return Route{Screen: ScreenUnit, Unit: m[1], Pane: p}
		}
	}
	return Route{Screen: ScreenLost}
}

// Path is the address of the route below the app's root. ParseRoute reads it back.
func (r Route) Path() string {
	switch r.Screen {
	case ScreenIntake:
		return "/new"
	case ScreenSettings:
		return "/settings"
	case ScreenBook:
		return "/book"
	case ScreenMove:
		return "/move"
	case ScreenNumbers:
		return "/numbers"
	case ScreenWorth:
		return "/worth"
	case ScreenFigures:
		if r.About == "" {
			return "/figures/" + r.Model
		}
		return "/figures/" + r.Model + "/" + string(r.About) + "/" + r.Of
	case ScreenReport:
		return "/unit/" + r.Unit + "/" + string(ScreenReport)
	case ScreenUnit:
		if r.Pane == PaneStep || r.Pane == "" {
			return "/unit/" + r.Unit
		}
		return "/unit/" + r.Unit + "/" + string(r.Pane)
	}
	return "/"
}
