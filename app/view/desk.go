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

	guarded bool // browser.Guard watches the page

	fields map[string]*typing // by id
}

var at = &desk{zone: time.Local, fields: map[string]*typing{}}

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

// records reports whether a message records something, or takes something away: what sends it
// is marked for browser.Guard.
func records(m state.Msg) bool {
	switch m.(type) {
	case state.SawOutcome, state.SendEntry, state.Move, state.Repaired, state.TakeBack, state.ConfirmSheet, state.Acknowledge, state.CountRun,
		state.StartUnit, state.Archive, state.DropModel, state.RemovePhoto, state.TakeUpdate, state.EndSoak:
		return true
	}
	return false
}

func scope(m any) string { return fmt.Sprintf("%T%+v", m, m) }

// typed sends the message that make makes of what an input field holds. scope
// tells fields apart that share the code of make.
func typed(make func(string) state.Msg, scope any) (app.EventHandler, string) {
	return func(ctx app.Context, _ app.Event) {
		text := ctx.JSSrc().Get("value").String()
		if f := at.fields[ctx.JSSrc().Get("id").String()]; f != nil {
			f.typed = text
		}
		at.take(make(text))
	}, fmt.Sprint(scope)
}

// A typing is a field that a person types in.
type typing struct {
	drawn string // the value that was last drawn
	typed string // what the page last heard of
}

// value is the value to draw for a field that is to show text. Text that was typed is
// not drawn again: by the time it would be, the field may hold more, and the newest
// letters would be lost.
func value(id, text string) string {
	f, known := at.fields[id]
	element := app.Window().GetElementByID(id)
	switch {
	case !known || !element.Truthy():
		f = &typing{drawn: text}
		at.fields[id] = f
	case text == f.typed:
		return f.drawn
	case text == f.drawn:
		element.Set("value", text) // the same value as before is not drawn
	default:
		f.drawn = text
	}
	f.typed = text
	return f.drawn
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
