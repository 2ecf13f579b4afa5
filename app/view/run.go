package view

import (
	"fmt"
	"sync"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/app/words"
)

// Register sets the routes of the page: every address is the same page, which
// shows the screen that the address names.
func Register() {
	d := newDesk()
	turn := sync.OnceFunc(browser.Yield)
	app.RouteWithRegexpFunc(".*", func() app.Composer {
		turn() // go-app has made itself ready
		return &Page{desk: d}
	})
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
		rehearse()
		runner.ServeEngine()
	}
	browser.Yield() // the browser answers what was tapped before the page is drawn
	app.RunWhenOnBrowser()
}

// rehearse draws the first screen for nobody: what the browser compiles for it in the thread it
// need not compile while the page waits, and is busy.
func rehearse() {
	var s state.State
	s, _ = state.Update(s, state.Navigated{Path: "/"})
	s, _ = state.Update(s, state.Started{Lang: words.Best()})
	Draw(s)
}

// prefix is the path under which the app's own paths stand.
func prefix() string { return browser.Root() }
