package worth_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/plan/exact"
	"pitwise/engine/trail"
	"pitwise/engine/worth"
)

// twoBoxes is a unit that always fails and in which one of two boxes is dead, each as likely. To
// open and mend a box costs 10, a meter tells for 1 which one it is, and a ruler tells nothing.
const twoBoxes = `{
	"format": "pitwise/model", "version": 1, "id": "boxes", "revision": "1", "title": "Two boxes", "most_faults": 1,
	"sources": {"made-up": {"kind": "memory", "cite": "invented for a test"}},
	"tools": [{"id": "meter"}, {"id": "ruler"}], "setups": [{"id": "bench"}],
	"components": [{"id": "box", "modes": [{"id": "left", "prior": 0.4999999, "source": "made-up"}, {"id": "right", "prior": 0.4999999, "source": "made-up"}]}],
	"tests": [
		{"id": "start", "intake": true, "at": "bench", "minutes": 1, "money": 0, "outcomes": [{"id": "goes"}, {"id": "fails"}],
			"healthy": [0.999999, 1e-6], "given": {"box.left": [1e-6, 0.999999], "box.right": [1e-6, 0.999999]}, "steadiness": 1000000, "source": "made-up"},
		{"id": "measure", "at": "bench", "minutes": 1, "money": 0, "needs": ["meter"], "outcomes": [{"id": "none"}, {"id": "left"}, {"id": "right"}],
			"healthy": [0.9999, 0.00005, 0.00005], "given": {"box.left": [1e-7, 0.9999, 0.0000999], "box.right": [1e-7, 1e-7, 0.9999998]}, "steadiness": 1, "source": "made-up"},
		{"id": "rule", "at": "bench", "minutes": 1, "money": 0, "needs": ["ruler"], "outcomes": [{"id": "long"}, {"id": "short"}],
			"healthy": [0.5, 0.5], "given": {}, "steadiness": 1, "source": "made-up"}],
	"repairs": [
		{"id": "mend-left", "at": "bench", "minutes": 10, "money": 0, "fixes": {"box.left": 1}, "source": "made-up"},
		{"id": "mend-right", "at": "bench", "minutes": 10, "money": 0, "fixes": {"box.right": 1}, "source": "made-up"}]
}`

// TestTheWorthOfAMeterByHand: without the meter one mends a box, starts the unit and in one of two
// cases mends the other: 10 + 1 + 10/2 = 16, the second mending being certain. With it one measures
// and mends: 11. So the meter saves 5 a unit, and the ruler nothing at all.
func TestTheWorthOfAMeterByHand(t *testing.T) {
	m, err := model.Load([]byte(twoBoxes))
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	terms := trail.Terms{MinuteValue: 1, Currency: "EUR", WorkingValue: 300, AsIsValue: 0, ComebackCost: 100}
	n := 0
	tools, base, err := worth.Of(s, terms, []model.ToolID{"meter", "ruler"}, worth.Options{Units: 600, Seed: 3, Told: func() { n++ }})
	require.NoError(t, err)
	assert.Equal(t, 3*600, n, "three games: with nothing, with the meter, with the ruler")
	assert.InDelta(t, 16, base.MeanCost, 3*base.StandardError)
	assert.InDelta(t, 5, tools[0].Saves, 3*tools[0].StandardError)
	assert.Less(t, tools[0].StandardError, 0.3)
	assert.Equal(t, 0.0, tools[1].Saves, "the same units, the same steps")
	assert.Equal(t, 0.0, tools[1].StandardError)

	// The best plans there are differ by as much.
	best := func(tools ...model.ToolID) float64 {
		with := terms
		with.Tools = tools
		solution, err := exact.Solve(plan.NewProblem(s, with), exact.Effort{Tolerance: 1e-3, Backups: 100_000})
		require.NoError(t, err)
		b := solution.Bounds()
		return (b.Low + b.High) / 2
	}
	assert.InDelta(t, best()-best("meter"), tools[0].Saves, 3*tools[0].StandardError+0.1)

	// Had it been at hand it would be taken away for the comparison.
	terms.Tools = []model.ToolID{"meter"}
	again, base, err := worth.Of(s, terms, []model.ToolID{"meter"}, worth.Options{Units: 600, Seed: 3, Cores: 2})
	require.NoError(t, err)
	assert.Equal(t, tools[0], again[0])
	assert.InDelta(t, 11, base.MeanCost, 0.2)
}

func TestStopAndTooFewUnits(t *testing.T) {
	m, err := model.Load([]byte(twoBoxes))
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	_, _, err = worth.Of(s, trail.Terms{MinuteValue: 1, WorkingValue: 60}, nil, worth.Options{Units: 1})
	assert.Error(t, err)
	_, _, err = worth.Of(s, trail.Terms{MinuteValue: 1, WorkingValue: 60}, nil, worth.Options{Units: 5, Stop: func() bool { return true }})
	assert.ErrorIs(t, err, worth.ErrStopped)
}

// TestAStudyGoesOn: units played bit by bit are the units played at once, whichever search plays them.
func TestAStudyGoesOn(t *testing.T) {
	m, err := model.Load([]byte(twoBoxes))
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	terms := trail.Terms{MinuteValue: 1, Currency: "EUR", WorkingValue: 300, Tools: []model.ToolID{"ruler"}}
	for _, quick := range []bool{false, true} {
		o := worth.Options{Units: 90, Seed: 5, Quick: quick}
		at := []model.ToolID{"meter", "ruler"}
		want, base, err := worth.Of(s, terms, at, o)
		require.NoError(t, err)
		study := worth.NewStudy(s, terms, at)
		assert.Equal(t, 3, study.Games(), "with the ruler, with nothing, with both")
		o.Units = 30
		for range 2 {
			_, _, err = study.Play(o)
			require.NoError(t, err)
		}
		tools, sum, err := study.Play(o)
		require.NoError(t, err)
		assert.Equal(t, want, tools)
		assert.Equal(t, base, sum)
		assert.InDelta(t, 5, tools[0].Saves, 3*tools[0].StandardError, "quick: %v", quick)
	}
	_, _, err = worth.NewStudy(s, terms, nil).Play(worth.Options{Units: 5, Stop: func() bool { return true }})
	assert.ErrorIs(t, err, worth.ErrStopped)
}

func TestWhatTheOwnerIsAskedForIsNotWeighed(t *testing.T) {
	m, err := catalog.Load("tray")
	require.NoError(t, err)
	_, ok := m.Tool("their-disc")
	require.True(t, ok)
	assert.Len(t, worth.Tools(m, trail.Terms{}), len(m.Tools)-1)
	assert.NotContains(t, worth.Tools(m, trail.Terms{}), model.ToolID("their-disc"))
}
