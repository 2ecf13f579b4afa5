package plan

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
)

// Where the order of two repairs costs nothing the one that mends twice as much for its cost goes first: in a drive that stays
// silent the cable is seated before the lens is cleaned, though the lens may have to be cleaned too.
func TestOfTwoRepairsTheOneThatMendsMoreForItsCostGoesFirst(t *testing.T) {
	text, ok := catalog.Text("slot-in")
	require.True(t, ok)
	m, err := catalog.Load("slot-in")
	require.NoError(t, err)
	terms := everyTool(m)
	s, at := evening(t, string(text), terms, result("complaint", "still"), result("onset", "shelf"), result("listen", "silent"), result("first-boot", "still"),
		result("known-disc", "still"), result("cold-warm", "same"), result("eject-press", "runs"), result("no-disc", "nothing"), result("feed-watch", "smooth"), result("feed-push", "alone"))
	all := proposed(t, s, terms, at)
	seat, clean := slices.Index(all, "repair reseat-flex"), slices.Index(all, "repair clean-lens")
	require.GreaterOrEqual(t, seat, 0, "%v", all)
	assert.Less(t, seat, clean, "%v", all)
}
