package learn

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
)

// TestANumberOfOnesOwn: it stands in the model to the digit, the rest keeps its proportions, the
// file says whose it is and why, and what no valid row has is refused with the nearest that one has.
func TestANumberOfOnesOwn(t *testing.T) {
	m := loaded(t, []byte(lamp))
	own, err := Override(m,
		Own{Figure{Kind: Prior, Mode: "bulb.blown", P: 0.4}, "these lamps come from a damp cellar"},
		Own{Figure{Kind: Fix, Repair: "new-bulb", Mode: "bulb.blown", P: 0.99}, "a new bulb is a new bulb"},
		Own{Figure{Kind: Link, Test: "shake", Mode: "bulb.blown", Outcome: "rattles", P: 0.7}, "I shook twenty"},
		Own{Figure{Kind: Risk, Setup: "open", Leave: true, Mode: "switch.stiff", P: 0.02}, "I am careful"})
	require.NoError(t, err)
	assert.InDelta(t, 0.4, own.Modes[0].Prior, 1e-9)
	assert.Equal(t, 0.1, own.Modes[1].Prior)
	assert.InDelta(t, 0.99, own.Repairs[0].Change.Fixes[0].P, 1e-9)
	assert.InDeltaSlice(t, []float64{0.3, 0.7}, own.Tests[1].Given[0].P, 1e-9)
	assert.InDelta(t, 0.02, own.Setups[1].Leave.Change.Risks[0].P, 1e-9)
	assert.Contains(t, own.Revision, "1+own.")
	assert.EqualValues(t, "own", own.Modes[0].Source)
	assert.EqualValues(t, "own", own.Repairs[0].Source)
	assert.EqualValues(t, "own", own.Setups[1].Leave.Source)
	assert.EqualValues(t, "made-up", own.Modes[1].Source)
	source, ok := own.Source("own")
	require.True(t, ok)
	assert.Contains(t, source.Cite, "a damp cellar")
	assert.Contains(t, source.Cite, "I shook twenty")
	assert.False(t, From(own), "one may learn from it")

	for _, bad := range []Own{
		{Figure{Kind: Prior, Mode: "bulb.blown", P: 0.4}, ""},
		{Figure{Kind: Prior, Mode: "bulb.blown", P: 1}, "x"},
		{Figure{Kind: Prior, Mode: "bulb.cold", P: 0.1}, "x"},
		{Figure{Kind: Link, Test: "shake", Mode: "switch.stiff", Outcome: "still", P: 0.1}, "it has no row there"},
		{Figure{Kind: Link, Test: "shake", Mode: "bulb.blown", Outcome: "still", P: 0.95}, "a blown bulb would rattle less than a good one"},
	} {
		_, err := Override(m, bad)
		assert.ErrorIs(t, err, ErrOwn, "%+v", bad)
	}
}

// TestOwnNumbersComeTogether: a second number of one's own leaves the first, and both reasons are told.
func TestOwnNumbersComeTogether(t *testing.T) {
	m, err := catalog.Load("tray")
	require.NoError(t, err)
	assert.False(t, Owned(m))
	one, err := Override(m, Own{Figure{Kind: Prior, Mode: m.Modes[0].ID, P: 0.2}, "I counted"})
	require.NoError(t, err)
	test := &m.Tests[m.Intake]
	two, err := Override(one, Own{Figure{Kind: Healthy, Test: test.ID, Outcome: test.Outcomes[1].ID, P: 0.01}, "I asked"},
		Own{Figure{Kind: Prior, Mode: m.Modes[0].ID, P: 0.15}, "I counted again"})
	require.NoError(t, err)
	assert.True(t, Owned(two))
	source, _ := two.Source("own")
	for _, reason := range []string{"I counted", "I asked", "I counted again"} {
		assert.Contains(t, source.Cite, "because "+reason)
	}
	why, ok := WhyOwn(two, Figure{Kind: Prior, Mode: m.Modes[0].ID})
	assert.True(t, ok)
	assert.Equal(t, "I counted again", why)
	why, _ = WhyOwn(two, Figure{Kind: Healthy, Test: test.ID, Outcome: test.Outcomes[1].ID})
	assert.Equal(t, "I asked", why)
	_, ok = WhyOwn(two, Figure{Kind: Prior, Mode: m.Modes[1].ID})
	assert.False(t, ok)
	assert.InDelta(t, 0.15, two.Modes[0].Prior, 1e-9)
	assert.InDelta(t, 0.01, two.Tests[two.Intake].Healthy[1], 1e-9)
	assert.Equal(t, 1, strings.Count(two.Revision, "+own."), two.Revision)
	assert.NotEqual(t, one.Revision, two.Revision)
}
