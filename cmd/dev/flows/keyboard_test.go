//go:build browser

package flows_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

// focus is where the keyboard is: its name as it is read out, and what is wrong with
// how it shows.
type focus struct{ Name, Wrong string }

// focused tells what has the focus. WCAG 2.2: the focus is to be seen (2.4.7) and not
// wholly behind something else (2.4.11). A page that is just drawn anew has half a second for it.
func focused(p *browser.Page) focus {
	return browser.Value[focus](p, `(async () => {
		const look = () => {
			const e = document.activeElement;
			if (!e || e === document.body) return {Name: "", Wrong: ""};
			const label = e.labels && e.labels.length ? e.labels[0].innerText : "";
			const name = (e.getAttribute("aria-label") || label || e.innerText || "").trim().replace(/\s+/g, " ");
			const boxes = [e, ...(e.labels || [])];
			const shows = boxes.some((b) => {
				const s = getComputedStyle(b);
				return (s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2) || s.boxShadow !== "none";
			});
			const free = boxes.some((b) => [...b.getClientRects()].some((r) => {
				if (r.width < 1 || r.height < 1) return false;
				for (const [u, v] of [[.5, .5], [.1, .2], [.9, .2], [.1, .8], [.9, .8]]) {
					const top = document.elementFromPoint(r.left + r.width * u, r.top + r.height * v);
					if (top && (b.contains(top) || top.contains(b))) return true;
				}
				return false;
			}));
			return {Name: name, Wrong: (shows ? "" : "the focus does not show; ") + (free ? "" : "it lies behind something")};
		};
		for (const end = performance.now() + 500; look().Wrong && performance.now() < end;) await new Promise(requestAnimationFrame);
		return look();
	})()`)
}

// reach goes on with Tab until the focus is on what is called by the name, and looks at
// every stop on the way.
func reach(t *testing.T, p *browser.Page, name string) {
	t.Helper()
	var stops []string
	for range 150 {
		f := focused(p)
		assert.Empty(t, f.Wrong, "at %q", f.Name)
		if strings.HasPrefix(f.Name, name) {
			return
		}
		stops = append(stops, f.Name)
		p.Press(kb.Tab)
	}
	require.Fail(t, "not reached with Tab", "%q; the stops were %q", name, stops)
}

// clicks counts the clicks that came of keys, and those that the page took.
const clicks = `window.pitwiseClicks = {came: 0, took: 0};
	addEventListener("click", () => pitwiseClicks.came++, true);
	document.addEventListener("click", () => pitwiseClicks.took++, true);`

// press reaches something and works it with a key. What came, or moved, just now takes none: then
// once more, as a person would.
func press(t *testing.T, p *browser.Page, name, key string) {
	t.Helper()
	for range 5 {
		reach(t, p, name)
		p.Until(`!document.querySelector("[data-fresh]")`)
		p.Eval(`void Object.assign(pitwiseClicks, {came: 0, took: 0})`)
		p.Press(key)
		if browser.Value[bool](p, `(async () => {
			for (const end = performance.now() + 1000; !pitwiseClicks.came && performance.now() < end;) await new Promise(requestAnimationFrame);
			return pitwiseClicks.took > 0;
		})()`) {
			return
		}
		t.Logf("%q did not take the key", name)
	}
	require.Fail(t, "it takes no key", "%q", name)
}

// readByKey acknowledges the cautions one by one.
func readByKey(t *testing.T, p *browser.Page) {
	t.Helper()
	const unread = `document.querySelector(".pane-step section.cautions h3")`
	for browser.Value[bool](p, "!!"+unread) {
		first := browser.Value[string](p, unread+".innerText")
		press(t, p, "I have read this", kb.Enter)
		p.Until(unread + "?.innerText !== " + strconv.Quote(first))
	}
}

// TestAllOfItByKeyboard takes a unit in, records a result and a note, takes one back and
// saves the trail without touching anything.
func TestAllOfItByKeyboard(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Before(clicks)
	p.Go("/")
	press(t, p, "Take a unit in", kb.Enter)
	p.See("What it does now")
	reach(t, p, "What you call it")
	p.Press("By keyboard")
	press(t, p, "Top-loader", kb.ArrowDown) // of one group of choices Tab reaches the chosen one
	p.See("Tray won't shut")
	press(t, p, "Motorised tray", kb.ArrowUp)
	p.See("Acts as if the lid were up")
	press(t, p, "Spins, then gives up", " ")
	p.Until(`document.querySelector(".chip[aria-pressed=true]")`)
	for _, tool := range []string{"good-disc", "multimeter"} {
		press(t, p, map[string]string{"good-disc": "Disc known to be good", "multimeter": "Multimeter"}[tool], " ")
		p.Until(`document.querySelector("#tool-` + tool + `").checked`)
	}
	press(t, p, "Start", kb.Enter)
	settled(p)
	require.Equal(t, 1, steps(p))

	readByKey(t, p)
	p.Until(`document.querySelector(".pane-step .button-outcome, #entry, .pane-step .way, .pane-step .button-main")`)
	press(t, p, "Other", kb.Enter)
	reach(t, p, "Search the steps")
	p.Press("Start a disc known to be good")
	p.Until(`document.querySelectorAll(".offer").length <= 4`)
	press(t, p, "Test Start a disc known to be good", kb.Enter)
	p.Until(`document.querySelector(".unit-step") !== null`)
	settled(p)
	readByKey(t, p)
	press(t, p, "Spins, then gives up", kb.Enter)
	recorded(p, 2)
	press(t, p, "Take back", kb.Enter)
	p.See("Step 1 is taken back.")
	settled(p)
	assert.Equal(t, 3, steps(p))

	press(t, p, "Other", kb.Enter)
	press(t, p, "Save or share the trail", kb.Enter)
	press(t, p, "Save: Trail (JSON)", kb.Enter)
	_, body := p.Downloaded()
	assert.Contains(t, string(body), "By keyboard")
}
