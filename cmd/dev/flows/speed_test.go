//go:build browser

package flows_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// watch times each tap within the page itself: until the first thing on the screen
// changes, and until the next proposal stands and will not change any more.
const watch = `(() => {
	window.times = [];
	let now = null;
	const look = () => {
		if (!now) return;
		const t = performance.now() - now.start;
		if (now.answer === undefined) now.answer = t;
		const pane = document.querySelector(".pane-step");
		const resting = ` + resting + `;
		if (document.querySelectorAll(".event").length > now.events) {
			if (now.first === undefined && pane && pane.querySelector("h2") && !pane.querySelector(".thinking")) now.first = t;
			if (resting) { window.times.push([now.answer, now.first, t]); now = null; }
		}
	};
	new MutationObserver(look).observe(document.body, {childList: true, subtree: true, attributes: true, characterData: true});
	document.addEventListener("click", (e) => {
		const b = e.target.closest(".button-outcome");
		if (b) now = {start: performance.now(), events: document.querySelectorAll(".event").length};
	}, true);
})()`

// TestFromATapToTheNextProposal records up to forty results on one unit and logs how long the
// person waits after each: forty with PITWISE_RESULTS=40. The limits are wide, for machines
// that do other work besides.
func TestFromATapToTheNextProposal(t *testing.T) {
	for _, row := range []struct {
		name    string
		slow    float64
		results int
		most    time.Duration
	}{{"at full speed", 1, browser.Asked(t, "PITWISE_RESULTS", 6), 10 * time.Second}, {"four times slower", 4, 2, 40 * time.Second}} {
		t.Run(row.name, func(t *testing.T) {
			s := browser.Serve(t)
			b := browser.StartTimed(t, browser.Chromium)
			p := b.Open(s)
			p.Go("/")
			takeIn(p, "Forty results")
			p.Slow(row.slow)
			p.Eval(watch)
			// The tests of a repairer who goes by habit: what is quick, over and over.
			for n := range row.results {
				test, outcome := "Start a disc known to be good", []string{"Spins, then gives up", "Starts the disc"}[min(n%5, 1)]
				choose(p, test, "Test")
				act(p, outcome)
			}
			times := browser.Value[[][3]float64](p, "window.times")
			if !assert.GreaterOrEqual(t, len(times), row.results) {
				return
			}
			for k, name := range []string{"the tap is answered", "a first proposal", "the proposal stands"} {
				var all []float64
				for _, x := range times {
					all = append(all, x[k])
				}
				slices.Sort(all)
				t.Logf("%s after %.0f ms in the median, %.0f ms at worst", name, all[len(all)/2], all[len(all)-1])
				assert.Less(t, all[len(all)-1], float64(row.most.Milliseconds()))
			}
			t.Logf("the page and its threads held %d MB at most", b.Peak()>>20)
		})
	}
}

// TestUntilAUnitIsGivenUpOrNot logs the longest wait there is for a proposal: a unit that is read in where nothing is kept, and stands
// where somebody keener is asked before it is given up; and the same unit from the store. PITWISE_SLOW=4 slows Chromium down.
func TestUntilAUnitIsGivenUpOrNot(t *testing.T) {
	t.Parallel()
	m, err := catalog.Load("slot-in")
	require.NoError(t, err)
	space, err := belief.NewSpace(m)
	require.NoError(t, err)
	terms := bench.DefaultTerms(m)
	terms.Currency, terms.Tools = "EUR", []model.ToolID{"good-disc", "screwdriver", "multimeter", "alcohol"}
	told := []trail.Event{
		{Kind: trail.Result, Test: "complaint", Outcome: "still"},
		{Kind: trail.Result, Test: "onset", Outcome: "shelf"},
		{Kind: trail.Result, Test: "heard", Outcome: "silent"},
		{Kind: trail.Result, Test: "known-disc", Outcome: "still"},
		{Kind: trail.Result, Test: "listen", Outcome: "silent"},
		{Kind: trail.Result, Test: "eject-press", Outcome: "silent"},
	}
	for i := range told {
		told[i].N, told[i].At = i+1, "2026-03-04T10:00:00Z"
	}
	unit := &trail.Trail{ID: "01ARYZ6S410000000000000001", Created: told[0].At, Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256}, Terms: terms, Events: told}
	u, err := bench.Open(space, unit)
	require.NoError(t, err)
	planner, err := plan.New(space, terms)
	require.NoError(t, err)
	for search := u.Advise(planner); !search.Work(1 << 20); {
	}
	require.NotNil(t, planner.Keener().Save(), "nobody keener was asked: this is another wait")

	p := browser.StartTimed(t, engine()).Open(browser.Serve(t))
	p.Go("/")
	p.Stored()
	if slow := browser.Asked(t, "PITWISE_SLOW", 1); slow > 1 {
		p.Slow(float64(slow))
	}
	p.Eval(`document.addEventListener("change", () => { window.from = performance.now(); }, true)`)
	p.Upload("Read in a file", saved(t, "unit.json", unit.Encode()))
	settled(p)
	wait := browser.Value[float64](p, "performance.now() - window.from")
	p.Reload()
	settled(p)
	t.Logf("the proposal stands %.1f s after the file was given, and %.1f s after a load", wait/1000, browser.Value[float64](p, "performance.now()")/1000)
}
