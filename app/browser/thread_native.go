//go:build !js

package browser

// Beside starts the program once more in a thread of its own. There are none outside a
// browser.
func Beside(hear func([]byte), over func()) (post func([]byte), ok bool) { return nil, false }

// InThread reports whether this is the program in such a thread, and not the page.
func InThread() bool { return false }

// Listen hears what the page posts to the thread, in a thread.
func Listen(hear func([]byte)) {}

// Grown returns the file of what planners grew before there was a page, in a thread; nil if it cannot be had.
func Grown() []byte { return nil }

// Answer posts to the page, in a thread.
func Answer([]byte) {}

// Yield lets the browser have its turn.
func Yield() {}
