package learn

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/internal/random"
)

// TestRightNumbersAreTrustedAndWrongOnesAreNot: units are drawn from the shipped numbers, or from such as are
// off by as much as their weights allow.
func TestRightNumbersAreTrustedAndWrongOnesAreNot(t *testing.T) {
	trusted := map[bool]int{}
	for seed := range uint64(6) {
		rng := rand.New(rand.NewPCG(seed, 21))
		m := loaded(t, random.Model(rng, random.Size{Components: 5, Modes: 2, Tests: 5, Outcomes: 4, Repairs: 2, Setups: 2, MostFaults: 2, Exact: true}))
		for _, right := range []bool{true, false} {
			l, err := New(m)
			require.NoError(t, err)
			d := chance{rng, l.frame}
			truth := l.frame.ship
			if !right {
				truth = d.truth()
			}
			for range 150 {
				tr, _ := d.unit(truth, 8)
				require.NoError(t, l.Add(tr))
			}
			fit, err := l.Fit(Options{Close: 1e-2})
			require.NoError(t, err)
			if fit.Trust > 4 {
				trusted[right]++
			}
			assert.InDelta(t, fit.Trust*8, fit.Figures()[0].Weight, 1e-9)
		}
	}
	assert.GreaterOrEqual(t, trusted[true], 5)
	assert.LessOrEqual(t, trusted[false], 1)
}

func TestHalvesHoldEachTrailOnce(t *testing.T) {
	groups := []group{{n: 1}, {n: 4}, {n: 1}, {n: 3}, {n: 2}}
	parts := halves(groups)
	var n [2]float64
	for h := range parts {
		for _, g := range parts[h] {
			n[h] += g.n
		}
	}
	assert.Equal(t, [2]float64{6, 5}, n)
	many := make([]group, 10*trustUnits+1)
	for i := range many {
		many[i].n = 1
	}
	parts = halves(many)
	assert.LessOrEqual(t, len(parts[0])+len(parts[1]), trustUnits)
	assert.Greater(t, len(parts[0])+len(parts[1]), trustUnits/2)
	assert.InDelta(t, len(parts[0]), len(parts[1]), 1)
}

func TestTrailsThatSpeakAsLoudForAnyTrustGiveTheMiddle(t *testing.T) {
	trails := []group{{n: 3}, {n: 1}, {n: 2}}
	var logs [len(trusts)][]float64
	for i := range logs {
		logs[i] = []float64{-5, -2, -9}
	}
	assert.InDelta(t, 8, middle(weigh(trails, logs)), 1e-3, "by hand: the geometric mean of 1, 4, 16 and 64")
	for i := range logs[2] {
		logs[2][i] += 20
	}
	assert.InDelta(t, 16, middle(weigh(trails, logs)), 0.01)
	logs[0][0] += 90 // one trail that speaks for the least trust: resamples without it do not
	assert.Greater(t, middle(weigh(trails, logs)), 1.0)
	assert.Less(t, middle(weigh(trails, logs)), 8.0)
}

func TestTooFewTrailsAreNotAsked(t *testing.T) {
	m := loaded(t, random.Model(rand.New(rand.NewPCG(1, 21)), random.Size{Components: 2, Modes: 2, Tests: 2, Outcomes: 3, Repairs: 1, Setups: 1, MostFaults: 2, Exact: true}))
	l, err := New(m)
	require.NoError(t, err)
	d := chance{rand.New(rand.NewPCG(2, 21)), l.frame}
	for n, want := range []float64{1, 8, 8, 8} {
		fit, err := l.Fit(Options{})
		require.NoError(t, err)
		assert.InDelta(t, want, fit.Trust, 1e-3, "of %d", n)
		tr, _ := d.unit(l.frame.ship, 8)
		require.NoError(t, l.Add(tr))
	}
}
