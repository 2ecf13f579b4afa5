package model

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// randomRow returns n entries above 0 that sum to 1, some of them very small.
func randomRow(rng *rand.Rand, n int) []float64 {
	row := make([]float64, n)
	sum := 0.0
	for i := range row {
		row[i] = rng.ExpFloat64() + 1e-3
		if rng.IntN(4) == 0 {
			row[i] *= 1e-6
		}
		sum += row[i]
	}
	for i := range row {
		row[i] = round(row[i]/sum, 3+rng.IntN(10))
	}
	largest, rest := 0, 0.0
	for i := range row {
		if row[i] > row[largest] {
			largest = i
		}
	}
	for i := range row {
		if i != largest {
			rest += row[i]
		}
	}
	row[largest] = round(1-rest, 15)
	return row
}

// asModel puts two rows into a model file that has nothing else wrong.
func asModel(healthy, given []float64) []byte {
	list := func(row []float64) string {
		var all []string
		for _, x := range row {
			all = append(all, strconv.FormatFloat(x, 'g', -1, 64))
		}
		return "[" + strings.Join(all, ",") + "]"
	}
	var outcomes []string
	for i := range healthy {
		outcomes = append(outcomes, fmt.Sprintf(`{"id":"o%d"}`, i))
	}
	return fmt.Appendf(nil, `{"format":"pitwise/model","version":1,"id":"a","revision":"1","most_faults":1,"setups":[{"id":"s"}],
"components":[{"id":"c","modes":[{"id":"m","prior":0.1}]}],
"tests":[{"id":"t","intake":true,"at":"s","minutes":0,"money":0,"outcomes":[%s],"healthy":%s,"given":{"c.m":%s},"steadiness":1}]}`,
		strings.Join(outcomes, ","), list(healthy), list(given))
}

// shownRow reads the row back that a message shows.
func shownRow(t *testing.T, message string) []float64 {
	t.Helper()
	_, after, ok := strings.Cut(message, "nearest row that would pass: [")
	require.True(t, ok, message)
	text, rest, ok := strings.Cut(after, "]")
	require.True(t, ok)
	require.Empty(t, rest)
	var row []float64
	for _, each := range strings.Split(text, ", ") {
		x, err := strconv.ParseFloat(each, 64)
		require.NoError(t, err)
		row = append(row, x)
	}
	return row
}

func distance(healthy, a, b []float64) float64 {
	ra, rb := ratios(healthy, a), ratios(healthy, b)
	sum := 0.0
	for k := range ra {
		sum += float64((ra[k] - rb[k]) * (ra[k] - rb[k]))
	}
	return sum
}

func TestTheRowThatAMessageShowsPassesAsItIsPrinted(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	shown := 0
	for range 3000 {
		n := 2 + rng.IntN(MaxOutcomes-1)
		healthy, given := randomRow(rng, n), randomRow(rng, n)
		text := asModel(healthy, given)
		_, err := Load(text)
		if err == nil {
			continue
		}
		shown++
		row := shownRow(t, err.Error())
		_, err = Load(asModel(healthy, row))
		require.NoError(t, err, "%s", text)
		// Rounding costs little: the shown row is as near as the nearest
		// but for four digits of each ratio.
		best := distance(healthy, given, nearest(healthy, given))
		require.InDelta(t, best, distance(healthy, given, row), 1e-3*float64(n)*(best+1e-3), "%s", text)
	}
	assert.Greater(t, shown, 1000)
}

func TestNoRowThatPassesIsNearerThanTheNearest(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	tried := 0
	for range 300 {
		n := 2 + rng.IntN(5)
		healthy, given := randomRow(rng, n), randomRow(rng, n)
		near := nearest(healthy, given)
		require.True(t, passes(healthy, near), "%v %v %v", healthy, given, near)
		best := distance(healthy, given, near)
		// Rivals: anywhere on the way from the nearest to some other row
		// that passes.
		for range 200 {
			mix, ratio := rng.Float64(), 0.0
			trial := make([]float64, n)
			cumulative, before := 0.0, 0.0
			for k, r := range append(ratios(healthy, near), 1) {
				ratio += (1 - ratio) * rng.Float64() * rng.Float64()
				if k == n-1 {
					ratio = 1
				}
				mixed := (1-mix)*r + mix*max(ratio, 1e-9)
				cumulative += healthy[k]
				trial[k] = before*healthy[k] + (mixed-before)*cumulative
				before = mixed
			}
			if passes(healthy, trial) {
				tried++
				require.GreaterOrEqual(t, distance(healthy, given, trial), best-1e-9)
			}
		}
	}
	assert.Greater(t, tried, 10000)
}

func TestARowThatPassesIsItsOwnNearest(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	seen := 0
	for range 20000 {
		n := 2 + rng.IntN(4)
		healthy, given := randomRow(rng, n), randomRow(rng, n)
		if breached := !follows(healthy, given); breached {
			continue
		}
		seen++
		near := nearest(healthy, given)
		for k := range near {
			require.InEpsilon(t, given[k], near[k], 1e-6, "%v %v", healthy, given)
		}
	}
	assert.Greater(t, seen, 1000)
}

func TestEntriesBeforeTheBreachStayAsTheyAre(t *testing.T) {
	// source: by hand. Ratios 0.2, 0.4, then 0.9 and 0.8 pooled to 0.85.
	healthy := []float64{0.25, 0.25, 0.25, 0.2, 0.05}
	given := []float64{0.05, 0.15, 0.475, 0.085, 0.24}
	// Q_h: .25 .5 .75 .95; Q_f: .05 .2 .675 .76; ratios .2 .4 .9 .8.
	want := []float64{0.05, 0.15, 0.85*0.75 - 0.2, 0.85 * 0.2, 1 - 0.85*0.95}
	assert.InDeltaSlice(t, want, printable(healthy, given), 1e-12)
	assert.Equal(t, given[:2], printable(healthy, given)[:2])
}

func TestSmallTailsAreJudgedByTheirOwnDigits(t *testing.T) {
	// source: by hand. The ratio of the first outcome is 2, 1 and 0.5.
	healthy := []float64{1e-9, 1 - 2e-9, 1e-9}
	assert.False(t, follows(healthy, []float64{2e-9, 1 - 3e-9, 1e-9}))
	assert.True(t, follows(healthy, healthy))
	assert.True(t, follows(healthy, []float64{0.5e-9, 1 - 1.5e-9, 1e-9}))
	assert.InEpsilonSlice(t, healthy, nearest(healthy, []float64{2e-9, 1 - 3e-9, 1e-9}), 1e-12)
}

func TestHypothesesAreCountedExactly(t *testing.T) {
	components := func(modes ...int) (all []Component) {
		for _, n := range modes {
			all = append(all, Component{ModeCount: n})
		}
		return all
	}
	same := func(n, modes int) []Component {
		var all []int
		for range n {
			all = append(all, modes)
		}
		return components(all...)
	}
	for _, row := range []struct {
		name       string
		source     string
		components []Component
		most       int
		want       int64
	}{
		{"one fault of three modes", "by hand: sound, and one each", components(1, 2), 1, 4},
		{"all of two components", "by hand: (1+1)(1+2)", components(1, 2), 2, 6},
		{"more faults than components", "by hand: (1+1)(1+2)", components(1, 2), 6, 6},
		{"64 of one mode, 5 faults", "by hand: C(64,0)+C(64,1)+…+C(64,5)", same(64, 1), 5, 1 + 64 + 2016 + 41664 + 635376 + 7624512},
		{"20 of 8 modes, 3 faults", "by hand: 1 + 20·8 + 190·64 + 1140·512", same(20, 8), 3, 1 + 160 + 12160 + 583680},
		{"a number beyond counting", "by hand: 8^6·C(64,6) is 2·10^13", same(64, 8), 6, countCap},
	} {
		t.Run(row.name, func(t *testing.T) { assert.Equal(t, row.want, hypotheses(row.components, row.most)) })
	}
}

// nearest returns the row of blocks, in full accuracy.
func nearest(healthy, given []float64) []float64 {
	return unfold(healthy, given, blocks(healthy, given))
}
