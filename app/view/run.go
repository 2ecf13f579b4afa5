package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/runner"
	"pitwise/app/state"
)

// Register sets the routes of the page: every address is the same page, which
// shows the screen that the address names.
func Register() {
	d := newDesk()
	app.RouteWithRegexpFunc(".*", func() app.Composer { return &Page{desk: d} })
}

// RegisterAt is Register for a page that begins in a state, whatever the address, and whose
// effects are answered by a function: for looking at screens in states that are hard to reach.
// It returns what sends the page a message.
func RegisterAt(s state.State, answer func(state.Effect) []state.Msg) func(state.Msg) {
	d := newDesk()
	d.shown, d.staged = s, true
	d.carry = func(e state.Effect) {
		for _, m := range answer(e) {
			d.take(m)
		}
	}
	app.RouteWithRegexpFunc(".*", func() app.Composer { return &Page{desk: d} })
	return d.send
}

// Run starts the page, or works for it where the program runs beside the page. It does not
// return in a browser, and does nothing elsewhere.
func Run() {
	if browser.InThread() {
		runner.ServeEngine()
	}
	app.RunWhenOnBrowser()
}

// prefix is the path under which the app's own paths stand.
func prefix() string { return browser.Root() }
