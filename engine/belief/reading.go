package belief

import (
	"math"

	"pitwise/engine/model"
)

// Uncertainty returns the standard uncertainty of a reading x of r, in r's unit:
//
//	u = (Percent/100 * |x| + Absolute) / sqrt(3)
//
// the standard deviation of a rectangular distribution as wide as the meter's limits
// of error. Source: JCGM 100:2008, 4.3.7.
func Uncertainty(r *model.Reading, x float64) float64 {
	return (float64(r.Percent/100*math.Abs(x)) + r.Absolute) / math.Sqrt(3)
}

// Weights returns how much of the reading x counts as each outcome of t: the mass that
// a normal distribution around x, with x's standard uncertainty, has on the outcome's
// interval. An exact reading (uncertainty 0) counts as the one outcome whose interval
// holds it, From inclusive, To exclusive. It panics unless t has a Reading.
func Weights(t *model.Test, x float64) []float64 {
	u := Uncertainty(t.Reading, x)
	w := make([]float64, len(t.Outcomes))
	for o, out := range t.Outcomes {
		switch {
		case u > 0:
			w[o] = normalMass((out.From-x)/u, (out.To-x)/u, (out.To-out.From)/u)
		case out.From <= x && x < out.To:
			w[o] = 1
		}
	}
	return w
}

// Named returns the weights of an outcome that was simply named.
func Named(t *model.Test, outcome int) []float64 {
	w := make([]float64, len(t.Outcomes))
	w[outcome] = 1
	return w
}
