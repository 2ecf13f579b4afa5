package view

import (
	"time"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/state"
	"pitwise/app/words"
)

// A desk holds the snapshot that is shown and passes messages on. It is used on the page's own
// goroutine only, but for send.
type desk struct {
	shown state.State
	carry func(state.Effect) // carries out an effect; nil until the page is mounted
	hand  func(fn func())    // runs fn on the page's goroutine and draws anew

	zone   *time.Location
	fields map[string]*typing // by id

	staged  bool            // it began in a state, whatever the address
	heard   func(state.Msg) // is told of every message of the person's; nil if nobody asks
	guarded bool            // browser.Guard watches the page
}

func newDesk() *desk { return &desk{zone: time.Local, fields: map[string]*typing{}} }

// send answers a message. It may be called from any goroutine.
func (d *desk) send(m state.Msg) {
	if d.hand == nil {
		d.take(m)
		return
	}
	d.hand(func() { d.take(m) })
}

func (d *desk) take(m state.Msg) {
	next, effects := state.Update(d.shown, m)
	d.shown = next
	for _, e := range effects {
		if d.carry != nil {
			d.carry(e)
		}
	}
}

// said takes a message of the person's.
func (d *desk) said(m state.Msg) {
	if d.heard != nil {
		d.heard(m)
	}
	d.take(m)
}

// follow goes where the address says, but for the first one of a page that began in a state of its own.
func (d *desk) follow(path string) {
	if d.staged {
		d.staged = false
		return
	}
	d.said(state.Navigated{Path: path})
}

// pen is what the snapshot is drawn with.
func (d *desk) pen() *pen {
	return &pen{words: words.In(d.shown.Lang), zone: d.zone, prefix: d.shown.Prefix, send: d.said, fields: d.fields}
}

// Draw draws a state, for looking at it outside of a browser. Nothing in it answers.
func Draw(s state.State) app.UI {
	v := &pen{words: words.In(s.Lang), zone: time.Local, prefix: s.Prefix, send: func(state.Msg) {}, fields: map[string]*typing{}}
	return v.page(s)
}
