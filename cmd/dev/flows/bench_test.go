//go:build browser

package flows_test

import (
	"fmt"
	"strings"

	"pitwise/cmd/dev/browser"
)

// resting is whether the proposal on the screen will not change any more.
const resting = `(document.querySelector(".pane-step h2") !== null && !document.querySelector(".pane-step .thinking, .pane-step .still"))`

// settled waits until it is.
func settled(p *browser.Page) { p.Until(resting) }

// takeIn takes a top-loader in that spins and gives up, with a few tools.
func takeIn(p *browser.Page, label string) {
	begin(p, label)
	settled(p)
}

// begin is takeIn that does not wait until the first proposal is settled.
func begin(p *browser.Page, label string) {
	fillIn(p, label)
	p.Tap("Start")
	p.Until(`document.querySelector(".pane-step") !== null`)
}

// fillIn is begin up to the last tap.
func fillIn(p *browser.Page, label string) {
	p.Tap("Take a unit in")
	p.See("What it does now")
	p.Type("What you call it", label)
	p.Tap("Spins, then gives up")
	for _, tool := range []string{"Disc known to be good", "Screwdriver", "Multimeter", "Isopropyl alcohol and swabs"} {
		// After the first unit the tools at hand are those of the unit before.
		if !browser.Value[bool](p, fmt.Sprintf(`[...document.querySelectorAll("label.check")].some((l) => l.innerText.trim() === %q && l.control.checked)`, tool)) {
			p.Tap(tool)
		}
	}
}

// steps is how many events the trail on the screen has.
func steps(p *browser.Page) int {
	return browser.Value[int](p, `document.querySelectorAll(".event").length`)
}

// recorded waits until the trail has n events and the page says that the last one is recorded.
func recorded(p *browser.Page, n int) {
	p.Until(fmt.Sprintf(`document.querySelectorAll(".event").length === %d`, n))
	p.See("Recorded, step")
	settled(p)
}

// storedEvents reads every event in the storage, in order of unit and n, as JSON.
const storedEvents = `new Promise((done, failed) => {
	const open = indexedDB.open("pitwise");
	open.onerror = () => failed(open.error);
	open.onsuccess = () => {
		const all = open.result.transaction("events").objectStore("events").getAll();
		all.onsuccess = () => { open.result.close(); done(JSON.stringify(all.result.map((e) => JSON.parse(e.json)))); };
	};
})`

func pathOf(p *browser.Page) string { return browser.Value[string](p, "location.pathname") }

func unitOf(p *browser.Page) string {
	return strings.Split(strings.TrimPrefix(pathOf(p), "/unit/"), "/")[0]
}
