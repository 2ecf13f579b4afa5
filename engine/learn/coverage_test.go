package learn

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/internal/random"
)

// longer returns how often a study is repeated: as the variable asks, else the small number, and
// a quarter of that under -short.
func longer(variable string, small int) int {
	if n, err := strconv.Atoi(os.Getenv(variable)); err == nil && n > 0 {
		return n
	}
	return few(small)
}

// few is a quarter of a number under -short, and at least 1.
func few(n int) int {
	if testing.Short() {
		return max(1, n/4)
	}
	return n
}

// TestIntervalsCover draws truths from the shipped numbers and their weights, 60 units from each
// truth, and counts how often the 90 % intervals hold the true number. PITWISE_COVERAGE=500 asks
// for the whole study.
func TestIntervalsCover(t *testing.T) {
	n := longer("PITWISE_COVERAGE", 40)
	held, all := map[Kind]float64{}, map[Kind]float64{}
	var shorter, widths float64
	for i := range n {
		rng := rand.New(rand.NewPCG(uint64(i), 77))
		m := loaded(t, random.Model(rng, random.Size{Components: 3, Modes: 2, Tests: 3, Outcomes: 3, Repairs: 2, Setups: 2, MostFaults: 2, Exact: true}))
		l, err := New(m)
		require.NoError(t, err)
		d := chance{rng, l.frame}
		truth := d.truth()
		for range 60 {
			tr, _ := d.unit(truth, 6)
			require.NoError(t, l.Add(tr))
		}
		fit, err := l.Fit(Options{})
		require.NoError(t, err)
		require.NoError(t, fit.Intervals(Sweeps{Seed: uint64(i)}))
		empty, err := New(m)
		require.NoError(t, err)
		before, err := empty.Fit(Options{})
		require.NoError(t, err)
		require.NoError(t, before.Intervals(Sweeps{Seed: uint64(i)}))
		for b := range l.frame.blocks {
			block := &l.frame.blocks[b]
			if block.Kind.ofTheBench() {
				continue
			}
			for k := block.at; k < block.at+block.Len; k++ {
				if l.frame.ship[k] == 0 || l.frame.ship[k] == 1 {
					continue
				}
				s := fit.spans[k]
				require.LessOrEqual(t, s.Low, s.High)
				all[block.Kind]++
				if s.Low <= truth[k] && truth[k] <= s.High {
					held[block.Kind]++
				}
				widths++
				if s.High-s.Low < before.spans[k].High-before.spans[k].Low {
					shorter++
				}
			}
		}
	}
	var sum, of float64
	for _, kind := range []Kind{Prior, Healthy, Link, Fix, Risk} {
		t.Logf("%-8s %.3f of %.0f", kind, held[kind]/all[kind], all[kind])
		sum, of = sum+held[kind], of+all[kind]
	}
	t.Logf("all      %.3f of %.0f in %d repetitions; %.2f are shorter than before", sum/of, of, n, shorter/widths)
	assert.InDelta(t, 0.9, sum/of, 0.03+0.3/math.Sqrt(float64(n)))
	assert.Greater(t, shorter/widths, 0.6)
}
