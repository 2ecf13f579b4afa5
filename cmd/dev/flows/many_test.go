//go:build browser

package flows_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	storage "pitwise/app/browser"
	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/cmd/dev/browser"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// benchFile is a back-up, as the page makes it, of so many units of the three-part model, each
// with so many events.
func benchFile(t *testing.T, units, events int) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(browser.Tree(t).Root, "engine", "model", "testdata", "example.json"))
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	var all []*trail.Trail
	for i := range units {
		day := fmt.Sprintf("2025-%02d-%02dT", 1+i/28%12, 1+i%28)
		tr := &trail.Trail{
			ID: fmt.Sprintf("01ARYZ6S41%016d", i), Created: day + "08:00:00Z", Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
			Unit: trail.Unit{Label: fmt.Sprintf("Crate %d", i)}, Terms: trail.Terms{Currency: "EUR", MinuteValue: 0.25, WorkingValue: 60, AsIsValue: 10, ComebackCost: 40},
		}
		for n := 1; n <= events; n++ {
			e := trail.Event{N: n, At: fmt.Sprintf("%s%02d:%02d:00Z", day, 8+n/60, n%60), Kind: trail.Note, Text: fmt.Sprintf("looked at it, time %d", n)}
			if n == 1 {
				e = trail.Event{N: 1, At: e.At, Kind: trail.Result, Test: "first-boot", Outcome: "asks"}
			}
			tr.Events = append(tr.Events, e)
		}
		all = append(all, tr)
	}
	return backUp(t, m, all)
}

// backUp is a back-up, as the page makes it, of units of one model.
func backUp(t *testing.T, m *model.Model, units []*trail.Trail) []byte {
	t.Helper()
	var all []storage.Addition
	for _, u := range units {
		all = append(all, storage.Addition{Unit: storage.OfUnit(u), Model: storage.OfModel(m), Events: storage.OfEvents(u.ID, u.Events), New: true})
	}
	memory, device := storage.NewMemory(), &storage.Still{}
	require.NoError(t, memory.Add(all, nil, nil))
	taken := make(chan state.Msg, 1)
	r := &runner.Runner{Storage: memory, Device: device, Send: func(m state.Msg) { taken <- m }, Go: func(string) {}}
	r.Do(state.BackUp{Way: state.WaySave})
	require.IsType(t, state.Taken{}, <-taken)
	return []byte(device.Saved[0].Text)
}

// waits times, within the page, how long it takes until an expression holds, in milliseconds.
func waits(p *browser.Page, begin, until string) float64 {
	return browser.Value[float64](p, fmt.Sprintf(`new Promise((done, failed) => {
		const began = performance.now();
		%s;
		const limit = setTimeout(() => failed("not in time"), 50000);
		const wait = setInterval(() => {
			if (!(%s)) return;
			clearInterval(wait);
			clearTimeout(limit);
			done(performance.now() - began);
		}, 5);
	})`, begin, until))
}

// inTables counts the records of tables.
const inTables = `new Promise((done, failed) => {
	const open = indexedDB.open("pitwise");
	open.onerror = () => failed(open.error);
	open.onsuccess = () => {
		const db = open.result, names = ["units", "events", "cards"], tx = db.transaction(names), counts = [];
		for (const name of names) tx.objectStore(name).count().onsuccess = (e) => counts.push(e.target.result);
		tx.oncomplete = () => { db.close(); done(counts); };
	};
})`

// TestABenchOfManyUnits reads a back-up of many units in (300, or PITWISE_UNITS) of 40 events
// each, stops that and reads it in again, and compares what a person waits for with an
// empty bench.
func TestABenchOfManyUnits(t *testing.T) {
	units := browser.Asked(t, "PITWISE_UNITS", 300)
	const events = 40
	file := benchFile(t, units, events)
	path := saved(t, "bench.json", file)
	s := browser.Serve(t)
	p := browser.StartTimed(t, browser.Chromium).Open(s)
	p.Before(`(() => {
		window.began = performance.now();
		new MutationObserver(() => {
			if (!window.listed && document.querySelector(".card")) window.listed = performance.now();
			const stop = [...document.querySelectorAll(".foot button")].find((b) => b.innerText === "Stop reading");
			if (stop && window.stopAt !== undefined) { const n = parseInt((document.querySelector(".foot").innerText.match(/(\d+) ?%/) || [0, 0])[1]); if (n >= window.stopAt) { window.stopAt = undefined; window.stopped = n; stop.click(); } }
			if (stop && !window.half && /(\d+) ?%/.test(document.querySelector(".foot").innerText) && parseInt(document.querySelector(".foot").innerText.match(/(\d+) ?%/)[1]) >= 50) window.half = performance.now();
			if (stop) window.told = (window.told || 0) + 1;
		}).observe(document, {childList: true, subtree: true, characterData: true});
		window.heap = () => performance.memory ? performance.memory.usedJSHeapSize / 1e6 : 0;
	})()`)
	card := `!!document.querySelector(".pane-step h2") && !document.querySelector(".pane-step .thinking")`
	tapCard := `document.querySelector(".card").click()`
	p.Go("/")
	p.Stored()
	// The same unit on an empty bench first.
	p.Upload("Read in a file", saved(t, "one.json", benchFile(t, 1, events)))
	p.See("Crate 0")
	for range 2 {
		p.Go("/")
		p.Until("window.listed > 0")
	}
	emptyStart := browser.Value[float64](p, "window.listed")
	emptyCard := waits(p, tapCard, card)
	p.Go("/")
	p.Until("window.listed > 0")

	for _, at := range []int{10, 70} {
		p.Eval(fmt.Sprintf("void (window.stopAt = %d, window.stopped = -1)", at))
		p.Upload("Read in a file", path)
		p.Until(fmt.Sprintf("window.stopped >= %d", at))
		p.See("Stopped. Nothing of the file was stored.")
		assert.Equal(t, []int{1, events, 1}, browser.Value[[]int](p, inTables), "stopped at %d %%: nothing half done", at)
		assert.GreaterOrEqual(t, browser.Value[int](p, "window.stopped"), at)
	}
	p.Eval(`void (window.told = 0, window.half = 0)`)
	p.Eval(`void (window.readBegan = performance.now())`)
	p.Upload("Read in a file", path)
	p.Until(`/Read in: [\d,]+/.test(document.querySelector(".foot").innerText)`)
	readIn := browser.Value[float64](p, "performance.now() - window.readBegan")
	t.Logf("half of it after %.1f s", browser.Value[float64](p, "window.half - window.readBegan")/1000)
	assert.Equal(t, []int{units, units * events, units}, browser.Value[[]int](p, inTables))
	assert.Positive(t, browser.Value[int](p, "window.told"), "how far it is was told")
	for range 2 {
		p.Go("/")
		p.Until("window.listed > 0")
	}
	p.Screenshot("bench-many")
	p.Accessible()
	fullStart, heap := browser.Value[float64](p, "window.listed"), browser.Value[float64](p, "window.heap()")
	assert.Equal(t, 50, browser.Value[int](p, `document.querySelectorAll(".card").length`), "a page of them")
	fullCard := waits(p, tapCard, card)
	p.Go("/")
	p.Until("window.listed > 0")
	p.Type("Search the bench", fmt.Sprintf("crate %d", units/2))
	p.Until(`document.querySelectorAll(".card").length === 1`)
	t.Logf("%d units of %d events (%.1f MB): read in after %.1f s; from a load to the list %.0f ms (a bench of one: %.0f), heap %.0f MB; to a card that stands %.0f ms (%.0f)",
		units, events, float64(len(file))/1e6, readIn/1000, fullStart, emptyStart, heap, fullCard, emptyCard)

	// The whole bench moves to another device.
	p.Go("/move")
	began := time.Now()
	p.Tap("Save: The whole bench in one file")
	name, whole := p.Downloaded()
	out := time.Since(began)
	there := browser.StartTimed(t, browser.Chromium).Open(s)
	there.Go("/move")
	there.Stored()
	path = saved(t, name, whole)
	began = time.Now()
	there.Upload("Read in a file", path)
	there.Until(`document.body.innerText.includes("All of it is here.")`)
	in := time.Since(began)
	assert.Equal(t, []int{units, units * events, units}, browser.Value[[]int](there, inTables))
	check := `document.body.innerText.match(/Check: (\w{4} \w{4})/)[1]`
	assert.Equal(t, browser.Value[string](p, check), browser.Value[string](there, check), "both devices show the same check")
	t.Logf("moved: a file of %.1f MB after %.1f s, all of it there and proven after %.1f s", float64(len(whole))/1e6, out.Seconds(), in.Seconds())
}
