//go:build browser

package browser_test

import (
	"testing"

	"pitwise/cmd/dev/browser"
)

// TestScreens walks the screens of the page itself at phone width, in light and dark, and
// fails on what axe-core finds, on what sticks out, is cut off or is small to touch. The
// stories, in flows, show the rest: every state, at three widths.
func TestScreens(t *testing.T) {
	s := browser.Serve(t)
	c := browser.Start(t)
	p := c.Open(s)
	look := func(name string) {
		t.Run(name, func(t *testing.T) {
			p.In(t)
			p.EachLook(name, []int{390}, browser.Looks, func() {
				p.Accessible()
				p.Fits()
			})
		})
	}
	p.Go("/")
	look("bench-first")
	p.Go("/settings")
	look("settings")
	p.Go("/new")
	look("intake")
	p.Go("/no/such/place")
	look("lost")
	p.Go("/")
	p.Tap("Try the sample unit")
	p.Until(`document.querySelector(".pane-step h2") && !document.querySelector(".pane-step .thinking, .pane-step .still")`)
	look("unit-step")
	unit := browser.Value[string](p, "location.pathname")
	for _, pane := range []string{"odds", "trail", "other", "report"} {
		p.Go(unit + "/" + pane)
		p.Until(heading)
		look("unit-" + pane)
	}
	p.Go("/")
	look("bench-one")
}
