//go:build browser

package flows_test

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
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
	p.See("is recorded.")
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
