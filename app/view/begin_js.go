//go:build js

package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/runner"
)

// begin ties the desk to this browser, once.
func begin(ctx app.Context) {
	if at.carry != nil || at.still {
		return
	}
	r := &runner.Runner{
		Storage: browser.NewIndexedDB(),
		Device:  browser.NewPage(),
		Send:    at.send,
		Go:      func(path string) { ctx.Navigate(prefix() + path) },
	}
	at.carry = r.Do
	r.Begin()
}
