//go:build browser

package flows_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/plan"
	"pitwise/engine/sim"
	"pitwise/engine/trail"
)

// evenings are simulated units of a shipped model, as the planner's quick answers lead through them.
func evenings(t *testing.T, id string, units int) []byte {
	t.Helper()
	m, err := catalog.Load(id)
	require.NoError(t, err)
	space, err := belief.NewSpace(m)
	require.NoError(t, err)
	terms := bench.DefaultTerms(m)
	planner, err := plan.New(space, terms)
	require.NoError(t, err)
	all := make([]*trail.Trail, units)
	memory := sim.Memory{}
	g := sim.Games{Problem: plan.NewProblem(space, terms), Truth: space, Seed: 12, Units: units, Goroutines: 1,
		Policy: func() (sim.Policy, error) { return memory.Of(sim.Quick{Planner: planner}), nil }}
	g.Done = func(n int, _ sim.Run, events []trail.Event) error {
		all[n] = sim.Trail(g.Problem, fmt.Sprintf("01ARYZ6S41%016d", n), slices.Clone(events))
		all[n].Unit.Label = fmt.Sprintf("Crate %d", n)
		return nil
	}
	_, err = g.Play()
	require.NoError(t, err)
	return backUp(t, m, all)
}

// TestABenchLearnsOnThePage reads in a bench of simulated evenings (8, or PITWISE_LEARN_EVENINGS), stops learning from them,
// learns to the end, and takes what was learnt. Meanwhile the page tells how far it is and answers.
func TestABenchLearnsOnThePage(t *testing.T) {
	units := browser.Asked(t, "PITWISE_LEARN_EVENINGS", 8)
	path := saved(t, "evenings.json", evenings(t, "top-loader", units))
	p := browser.StartTimed(t, browser.Chromium).Open(browser.Serve(t))
	p.Before(`(() => {
		const w = window.watched = {busy: 0, told: []};
		new PerformanceObserver((list) => { for (const e of list.getEntries()) w.busy = Math.max(w.busy, e.duration); }).observe({type: "longtask", buffered: true});
		new MutationObserver(() => {
			const status = document.querySelector(".learning [role=status]");
			if (status && w.told.at(-1)?.[0] !== status.innerText) w.told.push([status.innerText, performance.now()]);
		}).observe(document, {childList: true, subtree: true, characterData: true});
	})()`)
	p.Go("/")
	p.Stored()
	p.Upload("Read in a file", path)
	p.Until(`/Read in: [\d,]+/.test(document.querySelector(".foot").innerText)`)
	p.Go("/numbers")

	p.Tap("Learn from my units")
	p.See("Learning from your units: round 3")
	p.Tap("Stop")
	p.Gone("Learning from your units")
	p.See("Learn from my units")

	p.Eval(`void (watched.busy = 0, watched.told = [], watched.began = performance.now())`)
	p.Tap("Learn from my units")
	var answers []time.Duration
	for limit := time.Now().Add(5 * time.Minute); !browser.Value[bool](p, `!document.querySelector(".learning") && document.body.innerText.includes("What would change")`); {
		require.True(t, time.Now().Before(limit), "learning does not end")
		began := time.Now()
		p.Eval(`new Promise((done) => requestAnimationFrame(() => setTimeout(done)))`)
		answers = append(answers, time.Since(began))
		time.Sleep(100 * time.Millisecond)
	}
	took := browser.Value[float64](p, "performance.now() - watched.began") / 1000
	told := browser.Value[int](p, "watched.told.length")
	drawn := browser.Value[float64](p, `(watched.told.find(([text]) => text.includes("%")) ?? [0, 0])[1] - watched.began`) / 1000
	slices.Sort(answers)
	t.Logf("%d units: learnt after %.1f s, of which %.1f until intervals are drawn; %d times told how far; a frame came after %v in the median, %v at most; %.0f ms busy at a time at most",
		units, took, drawn, told, answers[len(answers)/2], answers[len(answers)-1], browser.Value[float64](p, "watched.busy"))
	assert.Greater(t, told, 10, "how far it is was told")
	assert.True(t, browser.Value[bool](p, `watched.told.some(([text]) => /\d+% done/.test(text))`), "how far the intervals are, too")
	p.See(fmt.Sprintf("From %d units.", units))
	p.Size(360, 800)
	p.Screenshot("learnt")
	p.Tap("Use these for new units")
	p.See("What it is worth, and notes") // the next unit
	p.Go("/numbers")
	p.See("New units can be begun with learnt numbers")
}
