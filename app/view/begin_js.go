//go:build js

package view

import (
	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/runner"
)

// begin ties the desk to this browser, once.
func (d *desk) begin(ctx app.Context) {
	if d.carry != nil {
		return
	}
	r := &runner.Runner{
		Storage: browser.NewIndexedDB(),
		Device:  browser.NewPage(),
		Send:    d.send,
		Go:      func(path string) { ctx.Navigate(prefix() + path) },
		Version: app.Getenv("GOAPP_VERSION"),
	}
	d.carry = r.Do
	r.Begin()
}
