package belief

import "math"

// Bits returns how much one more result of a test is expected to tell about what is
// wrong: the mutual information, in bits, between the result and the hypothesis. It is 0
// where nothing can be learnt, and never negative.
func (b *Belief) Bits(test int) float64 {
	_, bits := b.Foresee(test)
	return bits
}

// Foresee returns what Predict and Bits do, to the bit, for the work of one.
func (b *Belief) Foresee(test int) (odds []float64, bits float64) {
	c := b.space.classesOf(test)
	mass, next := b.next(test, c)
	k := len(b.space.model.Tests[test].Outcomes)
	odds = predicted(nil, k, mass, next)
	told := 0.0 // minus the entropy that is left when the hypothesis is known
	shared := b.urns[test] == nil
	for class, m := range mass {
		if m == 0 {
			continue
		}
		row := next[class*k : class*k+k]
		if shared {
			told -= float64(m * c.entropy[class])
		} else {
			told -= float64(m * Entropy(row))
		}
	}
	return odds, max(told+Entropy(odds), 0)
}

// predicted returns the odds of each of k outcomes, given the mass of each class and the odds
// in it, in dst if it is large enough.
func predicted(dst []float64, k int, mass, odds []float64) []float64 {
	dst = dst[:0]
	for o := range k {
		var sum neumaier
		for class, m := range mass {
			sum.add(float64(m * odds[class*k+o]))
		}
		dst = append(dst, sum.value())
	}
	return dst
}

// Entropy returns that of a row of probabilities, in bits.
func Entropy(row []float64) float64 {
	sum := 0.0
	for _, p := range row {
		if p > 0 {
			sum -= float64(p * math.Log2(p))
		}
	}
	return sum
}

// next returns the mass of each class of a test, and the odds of the next result's outcomes
// in each, class by class. The odds may be shared and must not be changed.
func (b *Belief) next(test int, c *classes) (mass, odds []float64) {
	mass = make([]float64, c.n)
	for h, class := range c.of {
		mass[class] += b.p.plain(h)
	}
	u := b.urns[test]
	if u == nil {
		return mass, c.p
	}
	t := &b.space.model.Tests[test]
	k := len(t.Outcomes)
	all := t.Steadiness + float64(u.n)
	odds = make([]float64, len(c.p))
	for class := range mass {
		for o, p := range c.row(class, k) {
			seen := 0.0
			if u.odds == nil {
				seen = float64(u.counts[0][o])
			} else {
				for i, counts := range u.counts {
					seen += float64(u.odds[class][i] * float64(counts[o]))
				}
			}
			odds[class*k+o] = (float64(t.Steadiness*p) + seen) / all
		}
	}
	return mass, odds
}
