package belief_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"pitwise/engine/belief"
	"pitwise/engine/model"
)

// weight is a reading's weight on the interval from a to b, the first of three.
func weight(t *testing.T, percent, absolute, x, a, b float64) float64 {
	t.Helper()
	w := belief.Weights(&model.Test{
		Reading: &model.Reading{Unit: "V", Percent: percent, Absolute: absolute},
		Outcomes: []model.Outcome{
			{ID: "in", From: a, To: b},
			{ID: "below", From: math.Inf(-1), To: a},
			{ID: "above", From: b, To: math.Inf(1)},
		},
	}, x)
	require.Len(t, w, 3)
	return w[0]
}

// below is the weight on everything below b.
func below(percent, absolute, x, b float64) float64 {
	return belief.Weights(&model.Test{
		Reading:  &model.Reading{Unit: "V", Percent: percent, Absolute: absolute},
		Outcomes: []model.Outcome{{ID: "below", From: math.Inf(-1), To: b}, {ID: "above", From: b, To: math.Inf(1)}},
	}, x)[0]
}

// uncertainty finds the standard uncertainty that the engine gives a reading, from the
// weight on what is below a border nearby.
func uncertainty(percent, absolute, x float64) float64 {
	step := (percent/100*math.Abs(x) + absolute) / 2
	return step / distuv.UnitNormal.Quantile(below(percent, absolute, x, x+step))
}

func TestAMetersLimitBecomesAStandardUncertainty(t *testing.T) {
	for _, c := range []struct {
		name, source         string
		percent, absolute, x float64 // absolute: counts times the value of one count
		limit, want          float64
		digits               float64 // the tolerance that the printed digits allow
	}{
		{"a rectangular bound of 1 is 0.577350", "JCGM 100:2008 4.3.7 and NIST TN 1297 (1994) 4.6, u = a/sqrt(3), clause from memory",
			0, 1, 7, 1, 0.577350, 5e-7},
		{"100.0 V at 1 % + 2 counts of 0.1 V is within 1.2 V", "an instrument note on meter accuracy (fact E21): 98.8 to 101.2 V",
			1, 0.2, 100, 1.2, 1.2 / math.Sqrt(3), 1e-12},
		{"1.755 V at 0.5 % + 1 count of 1 mV is within 9.775 mV", "an instrument note on meter accuracy (fact E22): about 0.010 V; worked out exactly by hand",
			0.5, 0.001, 1.755, 0.009775, 0.009775 / math.Sqrt(3), 1e-12},
		{"2.000 V at 0.08 % + 2 counts of 1 mV is within 3.6 mV", "an instrument note on meter accuracy (fact E23): 1.9964 to 2.0036 V",
			0.08, 0.002, 2, 0.0036, 0.0036 / math.Sqrt(3), 1e-12},
		{"5.02 V at 0.5 % + 2 counts of 10 mV has 0.026038 V", "by hand: 0.0451 V over sqrt(3)",
			0.5, 0.02, 5.02, 0.0451, 0.026038, 5e-7},
		{"12.00 V at 0.5 % + 3 counts of 10 mV has 0.051962 V", "by hand: 0.090 V over sqrt(3)",
			0.5, 0.03, 12, 0.090, 0.051962, 5e-7},
		{"a coil of 3.8 ohm at 0.8 % + 5 counts of 0.1 ohm has 0.3062 ohm", "by hand: 0.5304 ohm over sqrt(3)",
			0.8, 0.5, 3.8, 0.5304, 0.3062, 5e-5},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.InDelta(t, c.want, uncertainty(c.percent, c.absolute, c.x), c.digits, c.source)
			assert.InDelta(t, c.want, uncertainty(c.percent, c.absolute, -c.x), c.digits, "and below nought: "+c.source)
			// What lies within the limit has the mass of sqrt(3) standard deviations.
			within := math.Erf(math.Sqrt(1.5))
			assert.InDelta(t, within, weight(t, c.percent, c.absolute, c.x, c.x-c.limit, c.x+c.limit), 1e-9, c.source)
		})
	}
}

// Source: NIST TN 1297 (1994) 4.3 and 4.4: divide the half-width of an interval of 95 %
// by 1.960 or of 99 % by 2.576; a 50 % half-width a stands for 1.48 a.
func TestIntervalsHoldTheShareThatTheHandbookGivesThem(t *testing.T) {
	const percent, absolute, x = 0.5, 0.02, 5.02
	u := uncertainty(percent, absolute, x)
	for share, factor := range map[float64]float64{0.95: 1.960, 0.99: 2.576, 0.50: 1 / 1.48} {
		assert.InDelta(t, share, weight(t, percent, absolute, x, x-factor*u, x+factor*u), 1e-3)
	}
}

// Source: trade figures of facts on cheap meters, worked by hand: a meter of 0.8 % + 5
// counts of 0.1 ohm cannot tell a coil of 3.4 ohm from one of 3.9 ohm.
func TestACheapMeterCannotTellTwoCoilsApart(t *testing.T) {
	w := below(0.8, 0.5, 3.8, 3.65) // the border half-way
	assert.InDelta(t, 0.312, w, 1e-3, "by hand: Phi(-0.15/0.3062)")
}

// Source: gonum v0.17.0, stat/distuv.Normal.
func TestWeightsAgreeWithGonum(t *testing.T) {
	for _, c := range []struct{ percent, absolute, x, a, b float64 }{
		{0.8, 0.02, 4.74, 4.75, 5.25}, {0.8, 0.02, 4.76, 4.75, 5.25}, {0.5, 0, 11.9, 11.4, 12.6},
		{0, 0.5, -3, -3.2, -2.9}, {2, 0.1, 0.05, 0, 0.2}, {1, 0.01, 330, 313.5, 346.5},
	} {
		u := (c.percent/100*math.Abs(c.x) + c.absolute) / math.Sqrt(3)
		n := distuv.Normal{Mu: c.x, Sigma: u}
		assert.InDelta(t, n.CDF(c.b)-n.CDF(c.a), weight(t, c.percent, c.absolute, c.x, c.a, c.b), 1e-13)
		for _, z := range []float64{1, 5, 10, 20} { // gonum's CDF keeps its digits on this side
			assert.InEpsilon(t, n.CDF(c.x-z*u), below(c.percent, c.absolute, c.x, c.x-z*u), 1e-11)
		}
	}
}

// above is the weight on everything above b.
func above(percent, absolute, x, b float64) float64 {
	return belief.Weights(&model.Test{
		Reading:  &model.Reading{Unit: "V", Percent: percent, Absolute: absolute},
		Outcomes: []model.Outcome{{ID: "below", From: math.Inf(-1), To: b}, {ID: "above", From: b, To: math.Inf(1)}},
	}, x)[1]
}

// Source: SciPy 1.10.1 and mpmath 1.2.1; testdata/readings/normal.py made the numbers.
func TestWeightsAgreeWithSciPyAndMpmath(t *testing.T) {
	text, err := os.ReadFile("../../testdata/readings/normal.json")
	require.NoError(t, err)
	var table struct {
		Rows []struct {
			Percent, Absolute, X float64
			From, To             *float64
			Mpmath               float64
			SciPy                *float64
		}
	}
	require.NoError(t, json.Unmarshal(text, &table))
	require.Greater(t, len(table.Rows), 200)
	both := 0
	for _, r := range table.Rows {
		var got float64
		switch {
		case r.From == nil:
			got = below(r.Percent, r.Absolute, r.X, *r.To)
		case r.To == nil:
			got = above(r.Percent, r.Absolute, r.X, *r.From)
		default:
			got = weight(t, r.Percent, r.Absolute, r.X, *r.From, *r.To)
		}
		assert.InEpsilon(t, r.Mpmath, got, 1e-9, "mpmath: %+v", r)
		if r.SciPy != nil {
			both++
			assert.InEpsilon(t, *r.SciPy, got, 1e-9, "SciPy: %+v", r)
		}
	}
	assert.Greater(t, both, 80)
}
