package view

import (
	"fmt"
	"time"

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

// A Stage is the page in states of one's choosing, whose effects are answered by a function: for
// looking at screens that are hard to reach.
type Stage struct{ desk *desk }

// Answers says what comes of an effect, at once.
type Answers func(state.Effect) []state.Msg

// RegisterAt is Register for a page that begins in a state, whatever the address.
func RegisterAt(s state.State, answer Answers) Stage {
	t := Stage{newDesk()}
	t.desk.staged = true
	t.set(s, answer)
	app.RouteWithRegexpFunc(".*", func() app.Composer { return &Page{desk: t.desk} })
	return t
}

func (t Stage) set(s state.State, answer Answers) {
	t.desk.shown = s
	t.desk.carry = func(e state.Effect) {
		for _, m := range answer(e) {
			t.desk.take(m)
		}
	}
}

// Put shows another state.
func (t Stage) Put(s state.State, answer Answers) { t.desk.hand(func() { t.set(s, answer) }) }

// Send sends the page a message.
func (t Stage) Send(m state.Msg) { t.desk.send(m) }

// Hear tells f the kind of every message that comes of a tap.
func (t Stage) Hear(f func(kind string)) {
	t.desk.heard = func(m state.Msg) { f(fmt.Sprintf("%T", m)) }
}

// Run starts the page, or works for it where the program runs beside the page. It does not
// return in a browser, and does nothing elsewhere.
func Run() {
	if browser.InThread() {
		runner.ServeEngine()
	}
	time.Sleep(time.Millisecond) // the browser answers what was tapped before the page is drawn
	app.RunWhenOnBrowser()
}

// prefix is the path under which the app's own paths stand.
func prefix() string { return browser.Root() }
