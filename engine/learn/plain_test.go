package learn

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"pitwise/engine/catalog"
	"pitwise/engine/model"
)

// Source: gonum's distuv.Beta.
func TestQuantilesOfBetaAreThoseOfGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 17))
	for range 300 {
		a, b := 0.02+8*rng.Float64()*rng.Float64(), 0.02+200*rng.Float64()*rng.Float64()
		d := distuv.Beta{Alpha: a, Beta: b}
		x := rng.Float64()
		assert.InDelta(t, d.CDF(x), betaBelow(x, a, b), 1e-10, "%v %v %v", x, a, b)
		for _, q := range []float64{0.05, 0.5, 0.95} {
			if d.CDF(1e-6) > q {
				assert.Less(t, betaQuantile(q, a, b), 1e-6)
				continue
			}
			assert.InDelta(t, q, d.CDF(betaQuantile(q, a, b)), 1e-8, "%v of %v, %v", q, a, b)
		}
	}
	assert.Zero(t, betaQuantile(0.95, 0, 8))
	assert.Equal(t, 1.0, betaQuantile(0.05, 8, 0))
}

// TestTheFiguresOfAModelAreThoseOfAFitToNothing: with no trails, what a fit tells is the model as it stands.
func TestTheFiguresOfAModelAreThoseOfAFitToNothing(t *testing.T) {
	m, err := catalog.Load("top-loader")
	require.NoError(t, err)
	l, err := New(m)
	require.NoError(t, err)
	fit, err := l.Fit(Options{})
	require.NoError(t, err)
	want := fit.Figures()
	got := FiguresOf(m, m, func(Figure) bool { return true })
	require.Len(t, got, len(want))
	for i, x := range got {
		y := want[i]
		assert.InDelta(t, y.P, x.P, 1e-9)
		assert.LessOrEqual(t, x.Interval.Low, x.P+1e-9)
		if x.Kind != Prior { // a component's modes share what is the mean of their weights
			assert.Equal(t, y.Weight, x.Weight)
		}
		x.P, x.Interval, x.Weight, y.P, y.Weight, y.Seen = 0, nil, 0, 0, 0, 0
		x.Shipped, y.Shipped = 0, 0
		assert.Equal(t, y, x)
	}
}

func TestAFigureOfOnesOwnIsTold(t *testing.T) {
	m, err := catalog.Load("top-loader")
	require.NoError(t, err)
	own, err := Override(m, Own{Figure{Kind: Prior, Mode: m.Modes[3].ID, P: 0.25}, "counted on this bench"})
	require.NoError(t, err)
	var moved []Figure
	for _, f := range FiguresOf(own, m, func(Figure) bool { return true }) {
		if f.Learnt {
			moved = append(moved, f)
		}
	}
	require.Len(t, moved, 1)
	f := moved[0]
	assert.Equal(t, m.Modes[3].ID, f.Mode)
	assert.InDelta(t, 0.25, f.P, 1e-9)
	assert.Equal(t, m.Modes[3].Prior, f.Shipped)
	assert.Equal(t, model.SourceID("own"), f.Source)
	assert.Equal(t, model.Practice, f.Grade)
}
