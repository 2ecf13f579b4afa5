package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/state"
)

// Register sets the routes of the page: every address is the same page, which
// shows the screen that the address names.
func Register() { app.RouteWithRegexp(".*", &Page{}) }

// Run starts the page. It does not return in a browser, and does nothing elsewhere.
func Run() { app.RunWhenOnBrowser() }

// prefix is the path under which the app's own paths stand.
func prefix() string { return browser.Root() }

// Show makes the page show a state and stay so, whatever is tapped: for looking at
// screens in states that are hard to reach.
func Show(s state.State) {
	at.shown, at.still = s, true
	at.rev++
}
