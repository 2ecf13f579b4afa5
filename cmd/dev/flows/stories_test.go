//go:build browser

package flows_test

import (
	"cmp"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/cmd/dev/browser"
	"pitwise/cmd/dev/stories"
)

// serveStories serves the page's stories in place of the page, and what of them takes a page long.
func serveStories(t *testing.T) *browser.Server {
	s := browser.ServeProgram(t, "./cmd/dev/stories/page")
	s.Beside(stories.AskedAt, stories.Serve)
	return s
}

// telling gives the page tell(STORY), which shows another story, with nothing left of the one before, once it stands. What
// was worked out for one story serves the next, so that no story waits for the program and a library to grow.
const telling = `void (window.tell = async (story) => {
	const drawn = () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
	pitwiseTell("");
	while (!document.querySelector("main.waiting")) await drawn();
	scrollTo(0, 0);
	pitwiseTell(story);
	while (document.querySelector("main.waiting")) await drawn();
	await drawn();
})`

// tell shows another story on a page that has telling.
func tell(p *browser.Page, story string) { p.Eval("tell(" + strconv.Quote(story) + ")") }

// engine is the one that the screens are walked in: Chromium, or what PITWISE_ENGINE names.
func engine() browser.Engine {
	return browser.Engine(cmp.Or(os.Getenv("PITWISE_ENGINE"), string(browser.Chromium)))
}

// TestEveryStoryFitsAndIsAccessible walks every screen in every state: at one of three widths
// and in light or dark in turn, and every second with the text twice as large; with PITWISE_WALK=all each
// at each width in both, and twice as large. In another engine, which PITWISE_ENGINE names, axe looks at them
// once, and they are measured at each width.
func TestEveryStoryFitsAndIsAccessible(t *testing.T) {
	t.Parallel()
	s := serveStories(t)
	p := browser.StartIn(t, engine()).Open(s)
	p.Go("/")
	p.Eval(telling)
	for i, story := range stories.All {
		t.Run(story.Name, func(t *testing.T) {
			p.In(t)
			tell(p, story.Name)
			widths, looks := []int{320, 390, 1280}, browser.Looks
			if engine() != browser.Chromium {
				p.Accessible()
				for _, width := range widths {
					p.Size(width, 844)
					p.Until("innerWidth === " + strconv.Itoa(width))
					p.Fits()
				}
			} else {
				if os.Getenv("PITWISE_WALK") != "all" {
					widths, looks = widths[i%3:i%3+1], looks[i/3%2:i/3%2+1]
				}
				p.EachLook("story-"+story.Name, widths, looks, func() {
					p.Accessible()
					p.Fits()
				})
			}
			if i%2 > 0 && os.Getenv("PITWISE_WALK") != "all" && engine() == browser.Chromium {
				p.Size(390, 844)
				return
			}
			p.Size(360, 844) // letters of other engines are wider than Chromium's, and some have a scroll bar
			if engine() != browser.Chromium {
				p.Until("innerWidth === 360")
			}
			p.Eval(`void (document.documentElement.style.fontSize = "200%")`)
			p.Fits()
			if engine() == browser.Chromium {
				p.Screenshot("story-" + story.Name + "-200")
			}
			p.Eval(`void (document.documentElement.style.fontSize = "")`)
			p.Size(390, 844)
		})
	}
	assert.Zero(t, browser.Value[int](p, "pitwiseAlone()"), "the page worked out what the server has")
}
