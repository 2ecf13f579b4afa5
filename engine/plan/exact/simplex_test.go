package exact

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// Source: gonum's lp.Simplex, which shares no code with this one.
func TestTheSimplexReachesTheOptimumOfALibrary(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	var s simplex
	mixed := 0
	for n := range 300 {
		cols, rows := 1+rng.IntN(12), 1+rng.IntN(10)
		gain := make([]float64, cols)
		table := mat.NewDense(rows, cols+rows, nil)
		for k := range cols {
			gain[k] = rng.Float64()
			for r := range rows {
				if rng.IntN(3) > 0 || r == k%rows { // a column without entries would have no bound
					table.Set(r, k, 0.1+3*rng.Float64())
				}
			}
		}
		cost, right := make([]float64, cols+rows), make([]float64, rows)
		for k, x := range gain {
			cost[k] = -x
		}
		for r := range rows {
			table.Set(r, cols+r, 1)
			right[r] = 1
		}
		want, _, err := lp.Simplex(cost, table, right, 1e-10, nil)
		require.NoError(t, err)

		x := s.most(gain, rows, func(k, r int) float64 { return table.At(r, k) })
		got, used := 0.0, 0
		for k := range x {
			require.GreaterOrEqual(t, x[k], 0.0)
			got += gain[k] * x[k]
			if x[k] > 0 {
				used++
			}
		}
		for r := range rows {
			sum := 0.0
			for k := range x {
				sum += table.At(r, k) * x[k]
			}
			require.LessOrEqual(t, sum, 1+1e-9, "program %d, row %d", n, r)
		}
		assert.InDelta(t, -want, got, 1e-8, "program %d", n)
		if used > 1 {
			mixed++
		}
	}
	assert.Greater(t, mixed, 100, "programs that mix columns")
}
