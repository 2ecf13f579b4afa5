//go:build browser

package flows_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/engine/trail"
)

// watchStorage notes each transaction that writes (with what durability, and when it
// was committed) and each sentence "Recorded, step n: …" in the order they come.
const watchStorage = `(() => {
	const log = window.storageLog = [];
	const transaction = IDBDatabase.prototype.transaction;
	IDBDatabase.prototype.transaction = function (stores, mode, options) {
		const tx = transaction.call(this, stores, mode, options);
		if (mode === "readwrite" && [...tx.objectStoreNames].includes("events")) {
			log.push({what: "begun", durability: tx.durability});
			tx.addEventListener("complete", () => log.push({what: "committed"}));
		}
		return tx;
	};
	let last = "";
	new MutationObserver(() => {
		const m = /Recorded, step (\d+):/.exec(document.querySelector(".notices").textContent);
		const now = m ? m[1] : "";
		if (now !== last && now !== "") log.push({what: "shown", n: Number(now), events: document.querySelectorAll(".event").length});
		last = now;
	}).observe(document.body, {subtree: true, childList: true, characterData: true});
})()`

func TestNothingIsShownAsRecordedBeforeItIsCommitted(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	takeIn(p, "Shelf 6")
	p.Eval(watchStorage)
	const more = 4
	for range more {
		follow(t, p)
	}
	var log []struct {
		What, Durability string
		N, Events        int
	}
	require.NoError(t, json.Unmarshal([]byte(browser.Value[string](p, "JSON.stringify(window.storageLog)")), &log))
	committed, shown := 0, 0
	for _, e := range log {
		switch e.What {
		case "begun":
			assert.Equal(t, "strict", e.Durability)
		case "committed":
			committed++
		case "shown":
			shown++
			assert.Equal(t, shown, committed, "step %d was shown as recorded when %d were committed: %+v", e.N, committed, log)
		}
	}
	assert.Equal(t, more, shown, "%+v", log)
	assert.Equal(t, more, committed)
}

func TestWithTheServerGoneEverythingWorks(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	takeIn(p, "Shelf 7")
	follow(t, p)
	unit, n := unitOf(p), steps(p)
	p.Stored()
	s.Stop()

	p.Reload()
	settled(p)
	p.See("Shelf 7")
	assert.Equal(t, n, steps(p), "a reload lost a step")

	other := c.Open(s)
	other.Go("/unit/" + unit + "/trail")
	other.See("What was done")
	assert.Equal(t, n, steps(other), "a deep link shows another trail")
	other.Close()

	p.Tap("Back to the bench")
	takeIn(p, "Shelf 8, taken in with no network")
	follow(t, p)
	p.Tap("Other")
	p.Tap("Save or share the trail")
	p.Tap("Save: Trail (JSON)")
	_, body := p.Downloaded()
	tr, err := trail.Load(body)
	require.NoError(t, err)
	assert.Equal(t, "Shelf 8, taken in with no network", tr.Unit.Label)
	assert.Len(t, tr.Events, 2)
	p.Tap("Back to the bench")
	p.See("Shelf 7")
	p.See("Shelf 8")
	p.Screenshot("bench-two")
	s.Start()
}

func TestTwoTabsOnOneUnit(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	c := browser.Start(t)
	one := c.Open(s)
	one.Go("/")
	takeIn(one, "Shelf 9")
	two := c.Open(s)
	two.Go("/unit/" + unitOf(one))
	settled(two)
	choose(one, "Start a disc known to be good", "Test")
	act(one, "Starts the disc")
	two.See("Another window recorded a step on this unit.")
	two.Until(`document.querySelectorAll(".event").length === 2`)
	settled(two)

	t.Run("a tap in a window that has not heard of it yet is refused and the person is told", func(t *testing.T) {
		one.In(t)
		two.In(t)
		// The second window is kept from hearing of what the first one writes.
		two.Eval(`BroadcastChannel.prototype.dispatchEvent = () => true; void (window.deaf = true)`)
		two.Eval(`window.addEventListener("message", (e) => e.stopImmediatePropagation(), true)`)
		one.Eval(`BroadcastChannel.prototype.postMessage = () => {}`)
		choose(one, "Start a disc known to be good", "Test")
		act(one, "Spins, then gives up")
		choose(two, "Start a disc known to be good", "Test")
		two.Tap("Starts the disc")
		two.See("Yours was not recorded: look, and tap again.")
		two.Until(`document.querySelectorAll(".event").length === 3`)
	})
	var stored []struct {
		N       int    `json:"n"`
		Outcome string `json:"outcome"`
	}
	require.NoError(t, json.Unmarshal([]byte(browser.Value[string](two, storedEvents)), &stored))
	require.Len(t, stored, 3)
	for i, e := range stored {
		assert.Equal(t, i+1, e.N)
	}
	assert.Equal(t, "asks", stored[2].Outcome)
}

func TestATrailFileIsReadIn(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	takeIn(p, "Shelf 10")
	follow(t, p)
	p.Tap("Other")
	p.Tap("Save or share the trail")
	p.Tap("Save: Trail with its model (JSON)")
	name, body := p.Downloaded()
	file := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(file, body, 0o600))

	// Another device: a browser with nothing in it.
	fresh := browser.Start(t).Open(s)
	fresh.Go("/")
	fresh.See("Find what is wrong")
	fresh.Upload("Read in a file", file)
	fresh.See("Shelf 10")
	fresh.Until(fmt.Sprintf(`document.querySelectorAll(".event").length === %d`, 2))
	settled(fresh)
	fresh.Tap("Back to the bench")
	fresh.Upload("Read in a file", file)
	fresh.See("nothing in it was new")

	bad := filepath.Join(t.TempDir(), "bad.json")
	require.NoError(t, os.WriteFile(bad, []byte(`{"format":"pitwise/trail","version":1,"surprise":"<img src=x onerror=alert(1)>"}`), 0o600))
	fresh.Tap("Back to the bench")
	fresh.Upload("Read in a file", bad)
	fresh.See("This file was not read in.")
	fresh.Screenshot("import-refused")
}
