//go:build js && wasm

// Command page is the page itself: it is compiled to WebAssembly and runs in
// the browser, where it takes the place of the first screen of web/index.html.
package main

import "github.com/maxence-charriere/go-app/v9/pkg/app"

type placeholder struct{ app.Compo }

func (p *placeholder) Render() app.UI {
	return app.Main().Body(app.H1().Text("Pitwise"))
}

func main() {
	app.RouteWithRegexp(".*", &placeholder{})
	app.RunWhenOnBrowser()
}
