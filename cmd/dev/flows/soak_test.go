//go:build browser

package flows_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/cmd/dev/browser"
)

// storedMarks reads every value that is kept beside the evidence.
const storedMarks = `new Promise((done, failed) => {
	const open = indexedDB.open("pitwise");
	open.onerror = () => failed(open.error);
	open.onsuccess = () => {
		const all = open.result.transaction("kept").objectStore("kept").getAll();
		all.onsuccess = () => { open.result.close(); done(all.result.map((k) => k.value).join()); };
	};
})`

// TestStartsAreCounted counts starts by finger, loads the page anew in between, notes the
// counts, and records the result that they stand for.
func TestStartsAreCounted(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	takeIn(p, "Grey one")
	p.Tap("Other")
	p.Type("Search the steps", "five times")
	p.Tap("Test Start the good disc five times")
	p.Until(`document.querySelector(".pane-step h2")?.innerText.startsWith("Start the good disc five")`)
	read(p)
	p.Tap("More")
	p.Tap("Count several starts")
	p.Tap("Start counting")
	for range 3 {
		p.Tap("Good")
	}
	p.Tap("Failed")
	p.Tap("Failed")
	p.See("3 of 5 good")
	p.Tap("Undo the last")
	p.See("3 of 4 good")
	p.See("This count stands for: One to four.")
	unit := pathOf(p)
	// Marks are stored at once, but nothing on the screen says so.
	p.Until(`(async () => (await ` + storedMarks + `).includes('"runs":"+++-"'))()`)

	p.Reload()
	settled(p)
	assert.Equal(t, unit, pathOf(p))
	p.Tap("Other")
	p.Type("Search the steps", "five times")
	p.Tap("Test Start the good disc five times")
	p.See("3 of 4 good")
	assert.Equal(t, 1, steps(p), "a count is no event")
	p.Until(`document.querySelector(".soak-sum").innerText.match(/in \d+:\d\d/)`)

	p.Tap("Note the count")
	p.Until(`document.querySelector("#sheet-text").value.startsWith("Start the good disc five times: counted 3 good, 1 failed in ")`)
	p.Tap("Record the note")
	p.See("Recorded.")
	p.See("3 of 4 good")
	p.Tap("Record this result")
	recorded(p, 4) // with the counts as a note of its own
	assert.Equal(t, 0, browser.Value[int](p, `document.querySelectorAll(".soak-counts").length`), "the counter is done")
	assert.Contains(t, browser.Value[string](p, storedEvents), `counted 3 good, 1 failed`)
}
