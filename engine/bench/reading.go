package bench

import (
	"math"

	"pitwise/engine/model"
)

// Far reports whether a reading of a test lies so far outside what its field can mean that it
// is worth asking back once before it counts: a slip of the finger, of the range or of the
// unit. By the bounds of the outcomes:
//
//   - below zero by more than the meter's error, where no bound is below zero;
//   - beyond twice the largest bound, where the best outcome is a band and the largest bound is within twice
//     its end: a rail of 5 V does not carry 12. Where outcomes reach further up by themselves
//     (an open winding) nothing is too much;
//   - beyond ten times the largest bound either way, where bounds lie on both sides of zero;
//   - below two but not none, where it is per cent: the volts that the meter shows, or a fraction.
//
// A test without a reading has none that are far; one that is no number is.
func Far(t *model.Test, x float64) bool {
	if t.Reading == nil {
		return false
	}
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return true
	}
	low, high := math.Inf(1), math.Inf(-1) // of the bounds
	for _, o := range t.Outcomes {
		for _, edge := range []float64{o.From, o.To} {
			if !math.IsInf(edge, 0) {
				low, high = min(low, edge), max(high, edge)
			}
		}
	}
	if math.IsInf(low, 0) {
		return false // a single outcome: anything goes
	}
	if low < 0 {
		return math.Abs(x) > 10*max(-low, high)
	}
	if x < -float64(3*t.Reading.Absolute) {
		return true
	}
	if t.Reading.Unit == "%" && x > 0 && x < 2 {
		return true
	}
	right := t.Outcomes[0]
	band := !math.IsInf(right.From, 0) && !math.IsInf(right.To, 0)
	return band && high <= 2*right.To && x > 2*high
}
