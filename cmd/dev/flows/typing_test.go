//go:build browser

package flows_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/cmd/dev/browser"
)

// typeFast types letter by letter with pauses that fall before, between and after what
// the page draws, and returns what the field holds in the end.
func typeFast(p *browser.Page, id, text string) string {
	return browser.Value[string](p, fmt.Sprintf(`(async () => {
		const e = document.getElementById(%q);
		e.focus();
		let n = 1;
		for (const c of %q) {
			e.setRangeText(c, e.value.length, e.value.length, "end");
			e.dispatchEvent(new Event("input", {bubbles: true}));
			n = n * 48271 %% 2147483647;
			await new Promise((go) => setTimeout(go, n %% 23));
		}
		await new Promise((go) => setTimeout(go, 300));
		return e.value;
	})()`, id, text))
}

// TestNoLetterIsLost: the page draws while a person types on, on a slow device; what was
// typed meanwhile stays.
func TestNoLetterIsLost(t *testing.T) {
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	p.Tap("Take a unit in")
	p.See("What it does now")
	p.Slow(6)
	text := strings.Repeat("the quick brown fox ", 6)
	assert.Equal(t, text, typeFast(p, "unit-label", text))
	p.Slow(1)
	p.Tap("Spins, then gives up")
	p.Tap("Start")
	settled(p)
	p.See(strings.TrimSpace(text))

	p.Tap("Other")
	p.Slow(6)
	assert.Equal(t, "start a disc known to be good", typeFast(p, "other-search", "start a disc known to be good"))
	p.Until(`document.querySelectorAll(".offer").length <= 4`)
	p.Slow(1)

	t.Run("what the page empties is empty, also a second time", func(t *testing.T) {
		p.In(t)
		for range 2 {
			p.Tap("Add a note")
			p.Until(`document.getElementById("sheet-text") !== null`)
			assert.Equal(t, "", browser.Value[string](p, `document.getElementById("sheet-text").value`))
			assert.Equal(t, "a note", typeFast(p, "sheet-text", "a note"))
			p.Tap("Cancel")
			p.Until(`document.getElementById("sheet-text") === null`)
		}
	})
}
