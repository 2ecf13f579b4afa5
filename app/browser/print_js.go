//go:build js && wasm

package browser

import "syscall/js"

// Print implements Device. The dialog stops the page, so the tap is answered first.
func (p *Page) Print() {
	go func() {
		p.Yield()
		js.Global().Call("print")
	}()
}
