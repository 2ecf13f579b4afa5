//go:build browser

package browser_test

import (
	"testing"

	"pitwise/cmd/dev/browser"
)

// TestScreens walks the screens at three widths, in light and dark, and fails on
// what axe-core finds, on what sticks out, is cut off or is small to touch.
func TestScreens(t *testing.T) {
	s := browser.Serve(t)
	c := browser.Start(t)
	p := c.Open(s)
	widths := []int{320, 390, 1280}
	look := func(name string) {
		t.Run(name, func(t *testing.T) {
			p.In(t)
			p.EachLook(name, widths, func() {
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
