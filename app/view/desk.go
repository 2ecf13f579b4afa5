package view

import (
	"fmt"
	"time"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// A desk holds the snapshot that is shown and passes messages on. There is one a
// page; it is used on the page's own goroutine only.
type desk struct {
	shown state.State
	rev   int
	still bool               // takes no message: Show
	carry func(state.Effect) // carries out an effect; nil in tests
	hand  func(fn func())    // runs fn on the page's goroutine and draws anew
	zone  *time.Location
}

var at = &desk{zone: time.Local}

// send answers a message. It may be called from any goroutine.
func (d *desk) send(m state.Msg) {
	if d.hand == nil {
		d.take(m)
		return
	}
	d.hand(func() { d.take(m) })
}

func (d *desk) take(m state.Msg) {
	if d.still {
		return
	}
	next, effects := state.Update(d.shown, m)
	d.shown = next
	d.rev++
	for _, e := range effects {
		if d.carry != nil {
			d.carry(e)
		}
	}
}

// say returns the sentence of a key in the language of the page.
func say(k words.Key, args ...any) string { return speech().Say(k, args...) }

func speech() *words.Words { return words.In(at.shown.Lang) }

// link is the address of a route.
func link(r state.Route) string { return at.shown.Prefix + r.Path() }

// tap sends a message when an element is clicked. The second value is the scope
// that has to go with the handler.
func tap(m state.Msg) (app.EventHandler, string) {
	return func(app.Context, app.Event) { at.take(m) }, scope(m)
}

func scope(m any) string { return fmt.Sprintf("%T%+v", m, m) }

// typed sends the message that make makes of what an input field holds. scope
// tells fields apart that share the code of make.
func typed(make func(string) state.Msg, scope any) (app.EventHandler, string) {
	return func(ctx app.Context, _ app.Event) {
		at.take(make(ctx.JSSrc().Get("value").String()))
	}, fmt.Sprint(scope)
}

// toggled sends the message that make makes of whether a box is checked.
func toggled(make func(bool) state.Msg, scope any) (app.EventHandler, string) {
	return func(ctx app.Context, _ app.Event) {
		at.take(make(ctx.JSSrc().Get("checked").Bool()))
	}, fmt.Sprint(scope)
}

// onEnter sends a message when Enter is pressed in a field.
func onEnter(m state.Msg) (app.EventHandler, string) {
	return func(_ app.Context, e app.Event) {
		if e.Get("key").String() == "Enter" {
			at.take(m)
		}
	}, scope(m)
}
