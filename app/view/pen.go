package view

import (
	"fmt"
	"time"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// A pen is what views draw with: a language, a zone, and where messages go. What is drawn
// comes beside it, as arguments.
type pen struct {
	words  *words.Words
	zone   *time.Location
	prefix string // the app's root path
	send   func(state.Msg)

	fields map[string]*typing // by id, from drawing to drawing
}

// when draws only if there is something to draw.
func when(ok bool, draw func() app.UI) app.UI {
	if !ok {
		return app.If(false)
	}
	return draw()
}

// say returns the sentence of a key.
func (v *pen) say(k words.Key, args ...any) string { return v.words.Say(k, args...) }

// link is the address of a route.
func (v *pen) link(r state.Route) string { return v.prefix + r.Path() }

// tap sends a message when an element is clicked. The second value is the scope
// that has to go with the handler.
func (v *pen) tap(m state.Msg) (app.EventHandler, string) {
	return func(app.Context, app.Event) { v.send(m) }, scope(m)
}

func scope(m any) string { return fmt.Sprintf("%T%+v", m, m) }

// typed sends the message that make makes of what an input field holds. scope
// tells fields apart that share the code of make.
func (v *pen) typed(make func(string) state.Msg, scope any) (app.EventHandler, string) {
	return func(ctx app.Context, _ app.Event) {
		text := ctx.JSSrc().Get("value").String()
		if f := v.fields[ctx.JSSrc().Get("id").String()]; f != nil {
			f.typed = text
		}
		v.send(make(text))
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
func (v *pen) value(id, text string) string {
	f, known := v.fields[id]
	var element app.Value
	if known { // where nothing was drawn there may be no document either; see rehearse
		element = app.Window().GetElementByID(id)
	}
	switch {
	case !known || !element.Truthy():
		f = &typing{drawn: text}
		v.fields[id] = f
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
func (v *pen) toggled(make func(bool) state.Msg, scope any) (app.EventHandler, string) {
	return func(ctx app.Context, _ app.Event) {
		v.send(make(ctx.JSSrc().Get("checked").Bool()))
	}, fmt.Sprint(scope)
}

// onEnter sends a message when Enter is pressed in a field.
func (v *pen) onEnter(m state.Msg) (app.EventHandler, string) {
	return func(_ app.Context, e app.Event) {
		if e.Get("key").String() == "Enter" {
			v.send(m)
		}
	}, scope(m)
}
