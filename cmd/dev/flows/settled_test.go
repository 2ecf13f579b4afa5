//go:build browser

package flows_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

// stands follows the step that is put to the person. Each is noted with how many acts the
// person had done; one that is followed by another with no act between has changed under
// the finger. It also notes the longest time for which the page was busy.
const stands = `(() => {
	const w = window.stands = {steps: 0, changes: [], busy: 0, began: performance.now(), shown: 0, events: -1};
	let text = "";
	const look = () => {
		const pane = document.querySelector(".pane-step"), h = pane && pane.querySelector("h2");
		const now = h && !pane.querySelector(".thinking, .still") ? h.innerText : "";
		const events = document.querySelectorAll(".event").length;
		if (now === "" || now === text && events === w.events) return;
		if (events === w.events && text !== "") w.changes.push(text + " -> " + now);
		else w.steps++;
		w.shown = performance.now();
		text = now;
		w.events = events;
	};
	new MutationObserver(look).observe(document, {childList: true, subtree: true, attributes: true, characterData: true});
	new PerformanceObserver((list) => { for (const e of list.getEntries()) w.busy = Math.max(w.busy, e.duration); }).observe({type: "longtask", buffered: true});
})()`

// actOnce takes the first step back or brings it back, and waits until the next step stands;
// how long that took, in milliseconds. The page takes no tap just after it was drawn anew.
const actOnce = `new Promise((done, failed) => {
	const w = window.stands, events = w.events;
	let began = 0;
	const tap = () => {
		if (document.querySelectorAll(".event").length > events) return;
		began = performance.now();
		const buttons = document.querySelectorAll(".event button");
		buttons[buttons.length - 1].click();
	};
	tap();
	const again = setInterval(tap, 400);
	const limit = setTimeout(() => failed("no step stands after " + events + " events"), 25000);
	const wait = setInterval(() => {
		if (w.events === events) return;
		clearInterval(wait);
		clearInterval(again);
		clearTimeout(limit);
		done(w.shown - began);
	}, 5);
})`

// TestAShownStepStaysUntilThePersonActs: over many decisions, after a tap and after a load,
// the step that is put to the person does not change by itself. 20 decisions, or
// PITWISE_DECISIONS.
func TestAShownStepStaysUntilThePersonActs(t *testing.T) {
	decisions := browser.Asked(t, "PITWISE_DECISIONS", 20)
	s := browser.Serve(t)
	p := browser.StartTimed(t, browser.Chromium).Open(s)
	p.Before(stands)
	p.Go("/")
	begin(p, "Shelf 40")
	unit := unitOf(p)
	var taps, loads []float64
	var changes []string
	steps, busy := 0, 0.0
	count := func() {
		changes = append(changes, browser.Value[[]string](p, "window.stands.changes")...)
		steps += browser.Value[int](p, "window.stands.steps")
		busy = max(busy, browser.Value[float64](p, "window.stands.busy"))
	}
	for n := range decisions {
		if n%10 == 0 {
			count()
			p.Go("/unit/" + unit)
			p.Until("window.stands.shown > 0")
			loads = append(loads, browser.Value[float64](p, "window.stands.shown"))
		}
		taps = append(taps, browser.Value[float64](p, actOnce))
	}
	count()
	slices.Sort(taps)
	slices.Sort(loads)
	t.Logf("%d steps were put to the person, %d changed under the finger", steps, len(changes))
	t.Logf("from a tap to the step that stands: %.0f ms in the median, %.0f at worst; from a load: %.0f and %.0f; the page was busy for %.0f ms at a time at most",
		taps[len(taps)/2], taps[len(taps)-1], loads[len(loads)/2], loads[len(loads)-1], busy)
	assert.Empty(t, changes)
	require.GreaterOrEqual(t, steps, decisions, "a step for every decision")
	assert.NotEmpty(t, browser.Value[string](p, fmt.Sprintf(`(document.querySelector(".pane-step h2") || {}).innerText || %q`, "")))
}
