//go:build browser

package flows_test

import (
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pitwise/cmd/dev/browser"
)

// twice is how long fingers take to tap twice, quick and slow (common practice, no source), and
// the worst time there is.
var twice = []time.Duration{120 * time.Millisecond, 350 * time.Millisecond, browser.AtTheWorst}

// TestATapTwiceRecordsOnce walks a unit with a finger that taps everything twice: no second
// tap may record anything or put something else on the screen, whatever has come to lie under
// the finger by then.
func TestATapTwiceRecordsOnce(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	for _, gap := range twice {
		fillIn(p, "Shelf 7")
		p.TapTwice("Start", gap)
		settled(p)
		onStep(t, p, "Start", gap)
		for i := range 5 {
			n := steps(p)
			const unread = `document.querySelector(".pane-step section.cautions h3")`
			for browser.Value[bool](p, "!!"+unread) {
				first := browser.Value[string](p, unread+".innerText")
				p.TapTwice("I have read this", gap)
				p.Until(unread + "?.innerText !== " + strconv.Quote(first))
				onStep(t, p, "I have read this", gap)
				assert.Equal(t, n, steps(p), "the second tap recorded a result (%d, after %v)", i, gap)
			}
			button := browser.Value[string](p, `document.querySelector(".pane-step .deck .outcome-title, .pane-step .deck .button").innerText`)
			p.TapTwice(button, gap)
			p.Until(`document.querySelectorAll(".event").length > ` + strconv.Itoa(n))
			settled(p)
			onStep(t, p, button, gap)
			assert.Equal(t, n+1, steps(p), "tapping %q twice (%d, after %v)", button, i, gap)
		}
		p.Tap("Other")
		p.TapTwice("Add a note", gap)
		p.See("What should be remembered?")
		time.Sleep(300 * time.Millisecond)
		assert.True(t, browser.Value[bool](p, `document.querySelector("#sheet-text") !== null`), "the second tap closed what the first opened (after %v)", gap)
		p.Tap("Cancel")
		p.Tap("Back to the bench")
	}
}

// onStep sees to it that the screen stays with the unit's step for a while.
func onStep(t *testing.T, p *browser.Page, button string, gap time.Duration) {
	t.Helper()
	time.Sleep(300 * time.Millisecond)
	assert.True(t, browser.Value[bool](p, `document.querySelector(".unit-step") !== null`), "tapping %q twice (after %v) left the step:\n%s", button, gap, p.Text())
}
