package view

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/trail"
)

// TestAClockThatRunsMakesNoButtonNew: what a button would do stands in its mark, and a mark that changes
// takes no tap for a moment; one that told the seconds would take taps half of the time.
func TestAClockThatRunsMakesNoButtonNew(t *testing.T) {
	m, err := catalog.Load("top-loader")
	require.NoError(t, err)
	test, ok := m.Test(m.Tests[m.Proof].ID)
	require.True(t, ok)
	marks := func(seconds int) (all []string) {
		u := &state.Unit{Unit: bench.Unit{Model: m, Trail: &trail.Trail{ID: "a"}}}
		u.Soaked, u.Left = seconds, 300-seconds
		u.Marks.Soak = state.Soak{Test: test.ID, Runs: "+++-"}
		drawn := parsed(t, english().soak(u, test))
		find(drawn, "button", func(n *html.Node) { all = append(all, attrOf(n, browser.GuardedMark)) })
		return all
	}
	require.Greater(t, len(marks(3)), 4)
	assert.Equal(t, marks(3), marks(64))
}
