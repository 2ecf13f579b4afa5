//go:build browser

package flows_test

import (
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pitwise/cmd/dev/browser"
)

// twice is how long fingers take to tap twice, quick and slow. Common practice, no source.
var twice = []time.Duration{120 * time.Millisecond, 350 * time.Millisecond}

// TestATapTwiceRecordsOnce walks a unit with a finger that taps everything twice: no second
// tap may record anything, whatever has come to lie under the finger by then.
func TestATapTwiceRecordsOnce(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	takeIn(p, "Shelf 7")
	for i, gap := range append(twice, twice...) {
		n := steps(p)
		const unread = `document.querySelector(".pane-step section.cautions h3")`
		for browser.Value[bool](p, "!!"+unread) {
			first := browser.Value[string](p, unread+".innerText")
			p.TapTwice("I have read this", gap)
			p.Until(unread + "?.innerText !== " + strconv.Quote(first))
			time.Sleep(300 * time.Millisecond)
			assert.Equal(t, n, steps(p), "the second tap recorded a result (%d, after %v)", i, gap)
		}
		button := browser.Value[string](p, `document.querySelector(".pane-step [data-records] .outcome-title, .pane-step [data-records]").innerText`)
		p.TapTwice(button, gap)
		settled(p)
		p.Until(`document.querySelectorAll(".event").length > ` + strconv.Itoa(n))
		time.Sleep(300 * time.Millisecond)
		assert.Equal(t, n+1, steps(p), "tapping %q twice (%d, after %v)", button, i, gap)
	}
}
