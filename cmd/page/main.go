//go:build js && wasm

// Command page is the page itself: it is compiled to WebAssembly and runs in
// the browser, where its first view takes the place of the first screen of
// web/index.html. It links nothing that serves.
package main

import (
	"runtime/debug"

	"pitwise/app/view"
)

func main() {
	// What WebAssembly once took it never gives back, and phones have little: garbage is gathered at half as much as
	// is in use, not as much.
	debug.SetGCPercent(50)
	view.Register()
	view.Run()
}
