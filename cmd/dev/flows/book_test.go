//go:build browser

package flows_test

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/engine/trail"
)

// TestTheBookAddsTheBenchUp takes two units in, lets one wait for a part and returns the other,
// and looks at what that comes to and at what to order; both are taken away as files.
func TestTheBookAddsTheBenchUp(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	takeIn(p, "Shelf 1")
	read(p)
	p.Tap("More")
	p.Tap("Wait for something")
	p.Until(`document.querySelector(".sheet .chip") !== null`)
	part := browser.Value[string](p, `document.querySelector(".sheet .chip").innerText`)
	p.Tap(part)
	p.Until(`document.querySelector("#sheet-text").value !== ""`)
	assert.Equal(t, part, browser.Value[string](p, `document.querySelector("#sheet-text").value`), "a part is named as the model names it")
	p.Tap("Let it wait")
	p.See("Recorded.")
	p.Tap("Back to the bench")
	takeIn(p, "Shelf 2")
	p.Tap("Other")
	p.Tap("Return it as it was")
	p.Tap("Lens: Film or dust on the lens")
	p.Tap("Return it")
	p.See("Recorded, step")
	p.Tap("Back to the bench")

	p.Tap("Totals and orders")
	p.See("What to order")
	p.See("1 × part for: " + part)
	p.See("For: Shelf 1")
	p.See("2 units")
	p.See("Returned as it was: 1")
	p.See("Lens: Film or dust on the lens")
	price := browser.Value[string](p, `document.querySelector(".orders .number").innerText`)
	assert.Regexp(t, `^€\d+\.\d\d$`, price)
	p.Tap("By unit")
	p.Until(`[...document.querySelectorAll(".sum h3")].map((h) => h.innerText).join() === "All together,Shelf 2,Shelf 1"`)
	p.Fits()

	p.Tap("Save: What to order")
	p.See("Saved to a file.")
	name, body := p.Downloaded()
	assert.Equal(t, "pitwise-orders.txt", name)
	assert.Equal(t, "1 × part for: "+part+" ("+price+" each): Shelf 1\nTogether about "+price+"\n", strings.ReplaceAll(string(body), "\u00a0", " "))

	p.Tap("Save: Every unit as a table (CSV)")
	name, body = p.Downloaded()
	assert.Equal(t, "pitwise-bench.csv", name)
	rows, err := csv.NewReader(strings.NewReader(string(body))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 3)
	for i, row := range rows[1:] {
		assert.Equal(t, []string{"Shelf 2", "Shelf 1"}[i], row[1])
		assert.Equal(t, []string{"returned", ""}[i], row[5])
		assert.Equal(t, []string{"", part}[i], row[7])
	}
}

// TestAUnitThatComesBack takes one in, mends it and signs it off, and then it comes back twice: first nobody
// has seen what it does, then it is seen to ask for a disc. Both are taken for what they are, on the
// step, in the totals and in what learning is given; and the first is taken back.
func TestAUnitThatComesBack(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Size(390, 844)
	p.Go("/")
	takeIn(p, "Shelf 1")
	toSignOff(t, p)
	leave := func() {
		p.Tap("Sign it off …")
		p.See("What was it?")
		p.Tap("Sign off")
		p.See("This unit has left the bench: Signed off.")
	}
	title := func() string { return browser.Value[string](p, `document.querySelector(".pane-step h2").innerText`) }
	leave()

	p.Tap("It came back")
	p.See("If nobody has seen it, leave this open.")
	p.Fits()
	p.Accessible()
	p.Screenshot("came-back-sheet")
	p.Tap("Put it on the bench")
	settled(p)
	p.See("It was signed off and came back: see for yourself what it does now.")
	assert.Equal(t, "Start a disc known to be good", title(), "it is started before anything is made of it")
	p.Fits()
	p.Screenshot("came-back-step")

	p.Tap("Take back")
	p.See("This unit has left the bench: Signed off.")
	p.Tap("Back to the bench")
	p.Tap("Totals and orders")
	p.See("1 of 1 held")
	assert.NotContains(t, p.Text(), "Came back")
	p.Tap("Back to the bench")
	p.Tap("Shelf 1")
	p.See("This unit has left the bench: Signed off.")

	p.Tap("It came back")
	p.Tap("Spins, then gives up")
	p.Until(`document.querySelector(".sheet .chip[aria-pressed=true]") !== null`)
	p.Type("What else is known (may stay empty)", "after two weeks")
	p.Tap("Put it on the bench")
	settled(p)
	assert.NotEqual(t, "Sign it off", title(), "what it does is believed")
	p.Screenshot("came-back-seen")
	p.Reload()
	settled(p)
	p.Tap("Back to the bench")
	p.Tap("Totals and orders")
	p.See("Came back")
	p.Screenshot("came-back-totals")
	p.Tap("Back to the bench")
	p.Tap("Shelf 1")
	settled(p)
	p.Tap("Other")
	tr := taken(t, p)
	n := len(tr.Events)
	assert.Equal(t, "It came back. after two weeks", tr.Events[n-2].Text)
	assert.Equal(t, trail.Event{N: n, At: tr.Events[n-1].At, Kind: trail.Result, Test: "first-boot", Outcome: "asks"}, tr.Events[n-1])
}
