// Package browser drives the page in real browsers, the way a person would: a phone
// of 390×844 points with touch, names as a screen reader says them, and a server
// that can really go away.
//
// # Engines
//
// A Page is driven through two small interfaces, program and tab (engine.go), which
// Chromium, Firefox and WebKit fulfil: by the DevTools protocol, by WebDriver BiDi,
// and by WebDriver. Start takes Chromium, StartIn the engine asked for. Steps that no
// phone's person takes (Media, Slow, Evict, Print, Answer) are Chromium's alone.
// WebKit tells no test what a page asked the network for, so there the proxy that
// catches the whole browser is the witness; its errors are those that the engine
// writes; and it takes no script before a page's own.
//
// # A test
//
//	//go:build browser
//
//	func TestStartsAUnit(t *testing.T) {
//		s := browser.Serve(t)          // the page for this source, on a free port
//		c := browser.Start(t)          // Chromium with a fresh profile; StartIn for another
//		p := c.Open(s)                 // a tab
//		p.Go("/")                      // waits until the program shows its first view
//		p.Tap("New unit")              // by accessible name, with a finger
//		p.Type("Label", "Shelf 3")
//		p.See("Shelf 3")               // waits until the text can be seen
//		p.Screenshot("new-unit")       // into testdata/screens, which git ignores, with PITWISE_SCREENS=1
//	}
//
// Tests carry the build tag browser, so that "go test ./..." needs no Chromium.
// "go run ./cmd/dev test" runs them; so does
//
//	go test -tags browser ./cmd/dev/... -run TestStartsAUnit
//
// # What is checked without asking
//
// A test fails at its end if a page wrote an error to its console (which
// includes every breach of the Content-Security-Policy), threw an exception, or
// if anything in the browser asked for another origin than the server's. A test
// that means to cause an error says so beforehand with Page.Allow.
//
// # Waiting
//
// Every step waits up to Patience for what it needs and then fails with what
// there was instead. There is nothing to sleep for.
//
// # Taking things away
//
//	s.Stop()      the server is gone: no listener, no connection
//	s.Start()     it is back on the same port
//	s.Show(dir)   it serves another build from now on
//	c.Kill()      kill -9; every tab is dead
//	c.Restart()   a new process on the same profile
package browser
