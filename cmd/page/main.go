//go:build js && wasm

// Command page is the page itself: it is compiled to WebAssembly and runs in
// the browser, where its first view takes the place of the first screen of
// web/index.html. It links nothing that serves.
package main

import "pitwise/app/view"

func main() {
	view.Register()
	view.Run()
}
