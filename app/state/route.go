package state

import (
	"slices"
	"strings"
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
	if rest, ok := strings.CutPrefix(path, "/unit/"); ok {
		return parseUnit(rest)
	}
	if rest, ok := strings.CutPrefix(path, "/figures/"); ok {
		return parseFigures(rest)
	}
	return Route{Screen: ScreenLost}
}

const (
	capitals = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
	smalls   = "abcdefghijklmnopqrstuvwxyz"
	digits   = "0123456789"
)

// parseUnit reads the id of a unit, alone or with one of its panes or its report.
func parseUnit(path string) Route {
	unit, pane, more := strings.Cut(path, "/")
	switch {
	case !isName(unit, 64, digits+capitals+smalls+"-") || unit[0] == '-':
	case !more:
		return Route{Screen: ScreenUnit, Unit: unit, Pane: PaneStep}
	case pane == string(ScreenReport):
		return Route{Screen: ScreenReport, Unit: unit}
	case slices.Contains(Panes, Pane(pane)):
		return Route{Screen: ScreenUnit, Unit: unit, Pane: Pane(pane)}
	}
	return Route{Screen: ScreenLost}
}

// parseFigures reads the id of a model, alone or with a subject and the id of one.
func parseFigures(path string) Route {
	model, subject, more := strings.Cut(path, "/")
	about, of, _ := strings.Cut(subject, "/")
	switch {
	case !isName(model, 64, digits+smalls+"-"):
	case !more:
		return Route{Screen: ScreenFigures, Model: model}
	case slices.Contains(subjects, Subject(about)) && isName(of, 130, digits+smalls+".-"):
		return Route{Screen: ScreenFigures, Model: model, About: Subject(about), Of: of}
	}
	return Route{Screen: ScreenLost}
}

// isName reports whether s is of 1 to most letters, which are bytes of the alphabet.
func isName(s string, most int, alphabet string) bool {
	return s != "" && len(s) <= most && strings.TrimLeft(s, alphabet) == ""
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
