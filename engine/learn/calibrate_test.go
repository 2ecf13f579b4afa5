package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/internal/random"
	"pitwise/engine/trail"
)

// TestAPublishedReliabilityTable: 12-hour forecasts of rain, of which so many of 10,000 said y and so
// many of these came true. Source: Wilks (1995), Statistical Methods in the Atmospheric Sciences,
// table 7.3, as the documentation of an R package of forecast verification gives it, whose sample
// rate of rain is 0.162.
func TestAPublishedReliabilityTable(t *testing.T) {
	said := []float64{0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1}
	was := []float64{0.006, 0.019, 0.059, 0.15, 0.277, 0.377, 0.511, 0.587, 0.723, 0.779, 0.934, 0.933}
	share := []float64{0.4112, 0.0671, 0.1833, 0.0986, 0.0616, 0.0366, 0.0303, 0.0275, 0.0245, 0.022, 0.017, 0.0203}
	var all []Forecast
	var brier, reliability, resolution float64
	for k, p := range said {
		n := int(math.Round(share[k] * 1e5))
		rained := int(math.Round(was[k] * float64(n)))
		for i := range n {
			all = append(all, Forecast{p, i < rained})
		}
		// The parts straight from the table.
		reliability += share[k] * (p - was[k]) * (p - was[k])
		resolution += share[k] * (was[k] - 0.162) * (was[k] - 0.162)
		brier += share[k] * (was[k]*(1-p)*(1-p) + (1-was[k])*p*p)
	}
	c := calibrate(all, append(append([]float64{}, said...), 1.1))
	assert.InDelta(t, 0.162*(1-0.162), c.Uncertainty, 5e-4, "the sample rate is printed to three digits")
	assert.InDelta(t, reliability, c.Reliability, 1e-5)
	assert.InDelta(t, resolution, c.Resolution, 1e-5)
	assert.InDelta(t, brier, c.Brier, 1e-4)
	assert.InDelta(t, 0, c.Within, 1e-12, "all forecasts of a bin are the same")
	require.Len(t, c.Bins, 12)
	assert.InDelta(t, 0.923, c.Bins[11].Was, 0.015)
}

// TestCalibrationByHand: four forecasts, two of 0.8 of which one came true and two of 0.4 of which none did.
func TestCalibrationByHand(t *testing.T) {
	c := Calibrate([]Forecast{{0.8, true}, {0.8, false}, {0.4, false}, {0.4, false}})
	assert.InDelta(t, (0.04+0.64+0.16+0.16)/4, c.Brier, 1e-15)
	assert.InDelta(t, (2*0.09+2*0.16)/4, c.Reliability, 1e-15)
	assert.InDelta(t, (2*0.0625+2*0.0625)/4, c.Resolution, 1e-15)
	assert.InDelta(t, 0.1875, c.Uncertainty, 1e-15)
	assert.InDelta(t, 0, c.Within, 1e-15)
	assert.InDelta(t, -(math.Log(0.8)+math.Log(0.2)+2*math.Log(0.6))/4, c.Log, 1e-15)
	assert.Zero(t, Calibrate(nil).N)
}

// TestOddsOfRightNumbersAreRight: with units drawn from the shipped numbers, what is said to be so
// in a share of cases is so in that share; and with units of other numbers, learning from them makes
// the log score of units left out better.
func TestOddsOfRightNumbersAreRight(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 9))
	m := loaded(t, random.Model(rng, random.Size{Components: 5, Modes: 2, Tests: 5, Outcomes: 4, Repairs: 2, Setups: 2, MostFaults: 3, Exact: true}))
	f, err := newFrame(m)
	require.NoError(t, err)
	d := chance{rng, f}
	for name, truth := range map[string][]float64{"right": f.ship, "other": d.truth()} {
		l, err := New(m)
		require.NoError(t, err)
		for i := range 200 {
			tr, causes := d.unit(truth, 7)
			tr.ID = fmt.Sprint(i)
			if len(causes) > 0 {
				tr.Events = append(tr.Events, trail.Event{N: len(tr.Events) + 1, At: tr.Created, Kind: trail.End, As: trail.WrittenOff, Causes: causes})
			}
			require.NoError(t, l.Add(tr))
		}
		trial, err := l.Try(Options{}, 4)
		require.NoError(t, err)
		assert.Equal(t, 4, trial.Folds)
		assert.Equal(t, trial.Units*len(m.Modes), trial.Shipped.N)
		assert.Equal(t, trial.Shipped.N, trial.Learnt.N)
		if name == "other" {
			assert.Less(t, trial.Learnt.Log, trial.Shipped.Log)
			assert.Less(t, trial.Learnt.Brier, trial.Shipped.Brier)
			continue
		}
		assert.Equal(t, trial.Units, trial.ShippedLead.Units)
		assert.InDelta(t, trial.ShippedLead.Said, trial.ShippedLead.Was, 3*trial.ShippedLead.Spread, "leading suspects are right as often as is said")
		for _, b := range trial.Shipped.Bins {
			// Modes of one unit hang together, so the spread of a share is taken three times over.
			sd := math.Sqrt(b.Said*(1-b.Said)/float64(b.N)) + 1/float64(b.N)
			assert.InDelta(t, b.Said, b.Was, 3*sd, "%v to %v", b.From, b.To)
		}
		assert.Less(t, trial.Learnt.Log, 1.15*trial.Shipped.Log, "what is right already is made little worse")
	}
	l, err := New(m)
	require.NoError(t, err)
	_, err = l.Try(Options{}, 0)
	assert.ErrorIs(t, err, ErrNoCauses)
}

// By hand: leaders of 0.8, 0.6 and 0.5, of which the first and the last were right.
func TestLeadingSuspects(t *testing.T) {
	l := lead([]Forecast{{0.8, true}, {0.1, false}, {0.3, true}, {0.6, false}, {0.5, true}, {0.2, false}}, 2)
	assert.Equal(t, 3, l.Units)
	assert.InDelta(t, 1.9/3, l.Said, 1e-15)
	assert.InDelta(t, 2.0/3, l.Was, 1e-15)
	assert.InDelta(t, math.Sqrt(0.16+0.24+0.25)/3, l.Spread, 1e-15)
	assert.False(t, l.Off())
	assert.True(t, Lead{Units: 100, Said: 0.9, Was: 0.7, Spread: 0.03}.Off())
	assert.Zero(t, lead(nil, 2))
}
