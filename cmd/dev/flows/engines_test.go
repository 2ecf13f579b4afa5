//go:build browser

package flows_test

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/engine/trail"
)

// TestAnEveningInEveryEngine is what must work on every phone, one evening long: a unit
// comes in and is signed off, a step is taken back, photographs, a full storage, a file
// that travels, no network, a new start of the browser, and an update. It logs how long
// the person waits.
func TestAnEveningInEveryEngine(t *testing.T) {
	before, a := browser.Variant(t, "before", "/")
	after, b := browser.Variant(t, "after", "/")
	require.NotEqual(t, a, b)
	for _, e := range browser.Engines {
		t.Run(string(e), func(t *testing.T) {
			t.Parallel()
			evening(t, e, before, after, b)
		})
	}
}

func evening(t *testing.T, e browser.Engine, before, after, version string) {
	s := browser.Serve(t)
	s.Show(before)
	b := browser.StartTimed(t, e)
	p := b.Open(s)
	picture := func(name string) { p.Screenshot(name + "-" + string(e)) }
	step := func(name string, do func(t *testing.T)) {
		if !t.Run(name, func(t *testing.T) { p.In(t); do(t) }) {
			t.FailNow() // what follows stands on it
		}
	}

	var cold, warm time.Duration
	step("a unit comes in, is mended, proved and signed off", func(t *testing.T) {
		p.Go("/")
		cold = p.Usable()
		p.See("Find what is wrong")
		picture("bench-empty")
		p.Fits()
		takeIn(p, "Shelf 3, cracked hinge")
		p.Eval(watch)
		toSignOff(t, p)
		picture("sign-off-step")
		p.Tap("Sign it off …")
		p.Tap("Sign off")
		p.See("This unit has left the bench: Signed off.")
		p.Tap("Back to the bench")
		p.See("Shelf 3, cracked hinge")
		if e == browser.WebKit {
			p.See("tap the browser’s share button, then “Add to Home Screen”")
			picture("bench-forgets")
			p.Fits()
		} else {
			assert.NotContains(t, p.Text(), "Add to Home Screen")
		}
	})
	waits := browser.Value[[][3]float64](p, "window.times")

	step("a step is taken back and brought back", func(t *testing.T) {
		takeIn(p, "Shelf 4")
		for _, width := range []int{320, 390} {
			p.Size(width, 640)
			p.Fits()
		}
		p.Size(390, 844)
		odds := func() string {
			p.Tap("Suspects")
			return browser.Value[string](p, `document.querySelector(".suspects").textContent`)
		}
		at := odds()
		choose(p, "Start a disc known to be good", "Test")
		act(p, "Starts the disc")
		moved := odds()
		assert.NotEqual(t, at, moved)
		p.Tap("Take back")
		p.Until(`document.querySelectorAll(".event").length === 3`)
		settled(p)
		assert.Equal(t, at, odds(), "a void is as if never recorded")
		p.Tap("Trail")
		p.Tap("Bring back: Start a disc known to be good")
		p.Until(`document.querySelectorAll(".event").length === 4`)
		settled(p)
		assert.Equal(t, moved, odds())
	})

	step("a photograph keeps nothing but its pixels", func(t *testing.T) {
		p.Tap("Trail")
		p.Upload("Choose pictures", saved(t, "taken.jpg", cameraFile(t)))
		thumbs(p, 1)
		kept := photosIn(t, p)
		require.Len(t, kept, 1)
		m, err := jpeg.Decode(bytes.NewReader(kept[0].Image))
		require.NoError(t, err)
		assert.Equal(t, image.Pt(1067, 1600), m.Bounds().Size(), "upright and at most 1,600 pixels long")
		near(t, m, 500, 200, red)
		near(t, m, 500, 1400, blue)
		assert.NotContains(t, string(kept[0].Image)+string(kept[0].Small), secret)
		picture("photo")
	})

	step("a full storage is told, and nothing is lost", func(t *testing.T) {
		p.Eval(full)
		noted(p, "no room for this")
		p.See("The storage of this device is full.")
		p.See("One step is only in memory.")
		picture("storage-full")
		assert.Equal(t, []string{"no room for this"}, kinds(taken(t, p)))
		p.Eval(`void (IDBObjectStore.prototype.add = window.addBefore)`)
		p.Tap("Store again")
		p.Gone("One step is only in memory.")
	})

	var file []byte
	step("a trail is taken away", func(t *testing.T) {
		p.Tap("Save or share the trail")
		p.Tap("Save: Trail with its model (JSON)")
		var name string
		name, file = p.Downloaded()
		assert.Contains(t, name, ".json")
		tr, err := trail.Load(file)
		require.NoError(t, err)
		assert.Equal(t, "Shelf 4", tr.Unit.Label)
		assert.Len(t, tr.Events, 5)
	})
	unit := unitOf(p)

	step("with no network the page loads, and goes on", func(t *testing.T) {
		p.Stored()
		s.Stop()
		for range 3 {
			p.Reload()
			if d := p.Usable(); warm == 0 || d < warm {
				warm = d
			}
		}
		p.Until(`document.querySelectorAll(".event").length === 5`)
		thumbs(p, 1)
	})
	step("after a new start of the browser, with no network, all is there", func(t *testing.T) {
		for _, end := range []func(){b.Restart, func() { b.Kill(); b.Restart() }} {
			end()
			p = b.Open(s)
			p.In(t)
			p.Go("/unit/" + unit + "/trail")
			p.Until(`document.querySelectorAll(".event").length === 5`)
			thumbs(p, 1)
		}
		noted(p, "after the start")
		p.Until(`document.querySelectorAll(".event").length === 6`)
		p.Tap("Back to the bench")
		p.See("Shelf 4")
	})
	step("an update waits for the yes, and is whole", func(t *testing.T) {
		s.Start()
		s.Show(after)
		p.Eval("pitwiseUpdate.check()")
		p.See("A newer version is here.")
		picture("update")
		p.Eval("void (window.pitwiseOldPage = true)")
		p.Tap("Take it and load again")
		p.Until(fmt.Sprintf(`!window.pitwiseOldPage && window.goappGetenv && goappGetenv("GOAPP_VERSION") === %q`, version))
		p.Started()
		p.See("Shelf 4")
	})
	step("another device reads the file in", func(t *testing.T) {
		p.Close()
		p = browser.StartTimed(t, e).Open(s)
		p.Go("/")
		p.Upload("Read in a file", saved(t, "shelf-4.json", file))
		p.See("Shelf 4")
		p.Until(`document.querySelectorAll(".event").length === 5`)
		settled(p)
	})

	var answers, stands []float64
	for _, w := range waits {
		answers, stands = append(answers, w[0]), append(stands, w[2])
	}
	require.NotEmpty(t, stands)
	slices.Sort(answers)
	slices.Sort(stands)
	t.Logf("%s: usable after %d ms at the first visit, %d from the store; of %d taps in the median (at worst) answered after %.0f (%.0f) ms, the next step stands after %.0f (%.0f)",
		e, cold.Milliseconds(), warm.Milliseconds(), len(stands), answers[len(answers)/2], answers[len(answers)-1], stands[len(stands)/2], stands[len(stands)-1])
}
