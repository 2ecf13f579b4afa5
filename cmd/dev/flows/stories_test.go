//go:build browser

package flows_test

import (
	"cmp"
	"os"
	"testing"

	"pitwise/cmd/dev/browser"
	"pitwise/cmd/dev/stories"
)

// serveStories serves the page's stories in place of the page.
func serveStories(t *testing.T) *browser.Server {
	return browser.ServeProgram(t, "./cmd/dev/stories/page")
}

// engine is the one that the screens are walked in: Chromium, or what PITWISE_ENGINE names.
func engine() browser.Engine {
	return browser.Engine(cmp.Or(os.Getenv("PITWISE_ENGINE"), string(browser.Chromium)))
}

// TestEveryStoryFitsAndIsAccessible walks every screen in every state: at one of three widths
// and in light or dark in turn, with PITWISE_WALK=all at each width in both; and then with
// the text twice as large. In another engine, which PITWISE_ENGINE names, axe looks at
// them, and they are measured at 390 px alone.
func TestEveryStoryFitsAndIsAccessible(t *testing.T) {
	t.Parallel()
	s := serveStories(t)
	p := browser.StartIn(t, engine()).Open(s)
	for i, story := range stories.All {
		t.Run(story.Name, func(t *testing.T) {
			p.In(t)
			p.Go("/?story=" + story.Name)
			p.Until(`document.getElementById("heading") !== null`)
			if engine() != browser.Chromium {
				p.Accessible()
				p.Size(390, 844)
				p.Until(`innerWidth === 390`)
				p.Fits()
				return
			}
			widths, looks := []int{320, 390, 1280}, browser.Looks
			if os.Getenv("PITWISE_WALK") != "all" {
				widths, looks = widths[i%3:i%3+1], looks[i/3%2:i/3%2+1]
			}
			p.EachLook("story-"+story.Name, widths, looks, func() {
				p.Accessible()
				p.Fits()
			})
			p.Size(360, 844) // letters of other engines are wider than Chromium's, and some have a scroll bar
			p.Eval(`void (document.documentElement.style.fontSize = "200%")`)
			p.Fits()
			p.Screenshot("story-" + story.Name + "-200")
		})
	}
}
