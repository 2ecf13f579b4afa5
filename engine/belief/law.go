package belief

import (
	"pitwise/engine/model"
)

// A law is the outcome law of one test, laid out so that no difference of numbers near
// 1 is ever taken. With Q the cumulative sums of a row and r_f(k) = Q_f(k)/Q_h(k),
//
//	F(k|S) = Q_h(k) * prod over f in S of r_f(k),   P(k|S) = F(k|S) - F(k-1|S)
//
// which, telescoped over the factors, is a sum of terms that are not negative:
//
//	P(k|S) = h(k) * prod r_f(k)
//	       + Q_h(k-1) * sum over i of prod_{j<i} r_j(k-1) * d_i(k) * prod_{j>i} r_j(k)
//	d_f(k) = r_f(k) - r_f(k-1) = (p_f(k) Q_h(k-1) - Q_f(k-1) h(k)) / (Q_h(k) Q_h(k-1))
//
// The rows of a model include what a sound unit shows by itself (Henrion); the ratios
// r do not.
// Source: leaky noisy-MAX; Henrion (1989) for the parameters, Díez (1993) for MAX.
type law struct {
	healthy []float64
	below   []float64   // below[k] = Q_h(k-1)
	row     []int       // by mode: its index in ratio and rise, or -1
	ratio   [][]float64 // ratio[i][k] = r(k)
	rise    [][]float64 // rise[i][k] = d(k), k > 0
}

func newLaw(m *model.Model, t *model.Test) law {
	n := len(t.Outcomes)
	l := law{healthy: t.Healthy, below: make([]float64, n), row: make([]int, len(m.Modes))}
	for k := 1; k < n; k++ {
		l.below[k] = l.below[k-1] + t.Healthy[k-1]
	}
	for i := range l.row {
		l.row[i] = -1
	}
	for i, g := range t.Given {
		l.row[g.Mode] = i
		ratio, rise := make([]float64, n), make([]float64, n)
		below := 0.0
		for k, p := range g.P {
			all := l.below[k] + t.Healthy[k]
			ratio[k] = (below + p) / all
			if k > 0 {
				rise[k] = (float64(p*l.below[k]) - float64(below*t.Healthy[k])) / float64(all*l.below[k])
			}
			below += p
		}
		l.ratio = append(l.ratio, ratio)
		l.rise = append(l.rise, rise)
	}
	return l
}

// outcomes fills dst with P(.|S) for the S whose modes that matter here have these rows.
func (l *law) outcomes(dst []float64, rows []int) {
	for k, h := range l.healthy {
		p := h
		for _, i := range rows {
			p = float64(p * l.ratio[i][k])
		}
		if k > 0 {
			for at, i := range rows {
				term := float64(l.below[k] * l.rise[i][k])
				for _, j := range rows[:at] {
					term = float64(term * l.ratio[j][k-1])
				}
				for _, j := range rows[at+1:] {
					term = float64(term * l.ratio[j][k])
				}
				p += term
			}
		}
		dst[k] = max(p, 0) // a row may fall short of the ratio rule by its tolerance
	}
}

// classes sorts the hypotheses by what a test can show of them: all hypotheses that have
// the same modes among the test's given rows look alike to it.
type classes struct {
	test    int
	of      []int32   // the class of each hypothesis; class 0 is "nothing that matters here"
	n       int       // number of classes
	p       []float64 // p[c*outcomes+k] = P(k|S) for S in class c
	entropy []float64 // of each class's row, bits
}

// rows returns class c's probabilities.
func (c *classes) row(class, outcomes int) []float64 {
	return c.p[class*outcomes : (class+1)*outcomes]
}

// largeSpace is the number of hypotheses above which only the latest few tests'
// tables are kept, to bound the memory.
const (
	largeSpace  = 200_000
	largeTables = 4
)

// classesOf returns the table of a test, making it if need be.
func (s *Space) classesOf(test int) *classes {
	if s.Len() <= largeSpace {
		return s.tables[test].get(func() *classes { return s.newClasses(test) })
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for i, c := range s.large {
		if c.test == test {
			copy(s.large[1:], s.large[:i])
			s.large[0] = c
			return c
		}
	}
	c := s.newClasses(test)
	if len(s.large) < largeTables {
		s.large = append(s.large, nil)
	}
	copy(s.large[1:], s.large)
	s.large[0] = c
	return c
}

func (s *Space) newClasses(test int) *classes {
	l := &s.laws[test]
	outcomes := len(l.healthy)
	c := &classes{test: test, of: make([]int32, s.Len())}
	var rows [][]int // of each class
	add := func(set []int) int32 {
		rows = append(rows, set)
		c.p = append(c.p, make([]float64, outcomes)...)
		row := c.row(c.n, outcomes)
		l.outcomes(row, set)
		c.entropy = append(c.entropy, entropy(row))
		c.n++
		return int32(c.n - 1)
	}
	add(nil)
	// A hypothesis is in the class of the one without its last mode, or, where that mode
	// matters, in a class that hangs on it.
	hangs := make([]int32, len(l.ratio)) // hangs[class*rows+row], 0 for none yet
	h := 1
	for size := 1; size+1 < len(s.first); size++ {
		last := s.start[size] + size - 1
		for ; h < s.first[size+1]; h++ {
			class := c.of[s.stem[h]]
			if r := l.row[s.flat[last]]; r >= 0 {
				at := int(class)*len(l.ratio) + r
				if hangs[at] == 0 {
					hangs[at] = add(append(rows[class][:len(rows[class]):len(rows[class])], r))
					hangs = append(hangs, make([]int32, len(l.ratio))...)
				}
				class = hangs[at]
			}
			c.of[h] = class
			last += size
		}
	}
	return c
}

// Outcomes returns the probability of each outcome of a test when exactly the modes of
// hypothesis h are present, best outcome first, in dst if it is large enough. The
// entries sum to 1 as nearly as the model's rows do.
func (s *Space) Outcomes(dst []float64, test, h int) []float64 {
	return s.OutcomesOf(dst, test, s.Modes(h))
}

// OutcomesOf is Outcomes for the faults that are given, which may be more than are kept.
func (s *Space) OutcomesOf(dst []float64, test int, modes []uint16) []float64 {
	l := &s.laws[test]
	var rows []int
	for _, i := range modes {
		if r := l.row[i]; r >= 0 {
			rows = append(rows, r)
		}
	}
	if cap(dst) < len(l.healthy) {
		dst = make([]float64, len(l.healthy))
	}
	dst = dst[:len(l.healthy)]
	l.outcomes(dst, rows)
	return dst
}

// Classes returns the class of each hypothesis for a test, and the outcome odds of each
// class, class by class: hypotheses of one class look alike to the test. Both slices
// are shared and must not be changed.
func (s *Space) Classes(test int) (of []int32, odds []float64) {
	c := s.classesOf(test)
	return c.of, c.p
}
