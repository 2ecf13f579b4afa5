//go:build browser

package flows_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/engine/learn"
)

// TestABenchGivesItsCountsToAnother: one bench gives the counts of its units away, another reads the file in twice, which counts once,
// learns from it, sees what would move and takes it, takes the bench out and brings it back. A file that was damaged on its
// way is refused with the place, one of other numbers in plain words.
func TestABenchGivesItsCountsToAnother(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	a := browser.StartIn(t, engine()).Open(s)
	a.Go("/")
	a.Upload("Read in a file", saved(t, "evenings.json", evenings(t, "top-loader", 8)))
	a.Until(`/Read in: [\d,]+/.test(document.querySelector(".foot").innerText)`)
	a.Go("/numbers")
	a.Tap("Give this bench’s counts away")
	a.See("Name of this bench")
	a.Accessible()
	a.Type("Name of this bench", "Shed by the pier")
	a.Tap("Count my units")
	a.See("Ready to give away")
	a.See("Not in it: your notes, labels, photographs and times.")
	a.EachLook("counts-give", []int{320, 360}, browser.Looks, func() {
		a.Accessible()
		a.Fits()
	})
	a.Tap("Save")
	a.See("Saved to a file.")
	name, body := a.Downloaded()
	assert.Regexp(t, `^pitwise-counts-shed-by-the-pier-top-loader-\d{4}-\d\d-\d\d\.json$`, name)
	c, err := learn.LoadCounts(body)
	require.NoError(t, err)
	require.Len(t, c.Benches, 1)
	assert.Equal(t, 8, c.Benches[0].Units)
	for _, word := range []string{"Crate", "01ARYZ", "EUR", "T1"} {
		assert.NotContains(t, string(body), word, "what tells of a unit is in the file")
	}
	a.Reload()
	a.Tap("Give this bench’s counts away")
	a.See("Ready to give away") // the name was kept

	b := browser.StartIn(t, engine()).Open(s)
	b.Go("/")
	file := saved(t, name, body)
	b.Upload("Read in a file", file)
	b.See("Read in: the counts of one bench.")
	b.See("Shed by the pier")
	b.Upload("Read in a file", file)
	b.See("Read in: nothing in it was new.")
	lines := func() int { return browser.Value[int](b, `document.querySelectorAll(".figure").length`) }
	assert.Equal(t, 1, lines())
	b.Reload()
	b.See("8 units")
	assert.Equal(t, 1, lines(), "it is kept, once")
	b.EachLook("counts-held", []int{320, 360}, browser.Looks, func() {
		b.Accessible()
		b.Fits()
	})

	b.Tap("Learn from my units")
	b.See("Taken in from another bench")
	b.See("What would change")
	moved := `document.querySelectorAll(".follows-wide li").length`
	assert.Positive(t, browser.Value[int](b, moved), "what would move is shown")
	b.EachLook("counts-learnt", []int{320, 360}, browser.Looks, func() {
		b.Accessible()
		b.Fits()
	})
	b.Tap("Use these for new units")
	b.See("What it is worth, and notes")
	b.Go("/numbers")
	b.See("New units can be begun with learnt numbers")
	b.Tap("Take out: Shed by the pier")
	b.See("Taken out.")
	b.Tap("Learn from my units")
	b.See("There is no unit of this kind to learn from yet.")
	b.Tap("Bring back: Shed by the pier")
	b.Gone("Taken out.")
	b.Reload()
	b.See("8 units")

	line := 1 + bytes.Count(body[:bytes.Index(body, []byte(`"units": 8`))], []byte("\n"))
	b.Upload("Read in a file", saved(t, "damaged.json", []byte(strings.Replace(string(body), `"units": 8`, `"units": -8`, 1))))
	b.See("the file was changed or damaged on its way")
	b.Tap("What exactly")
	b.See(fmt.Sprintf("Line %d, column", line))
	b.See("benches[0].units")
	b.Accessible()
	b.Tap("Close")
	b.Upload("Read in a file", saved(t, "other.json", []byte(strings.Replace(string(body), c.SHA256, strings.Repeat("0", 64), 1))))
	b.See("These counts are of another version of the app’s numbers")
	b.Tap("Close")
	b.Until(`document.querySelectorAll(".figure").length === 1`) // what is held stays
}
