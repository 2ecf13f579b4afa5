package learn

import "sync/atomic"

// A law is the outcome law of one test over the classes of hypotheses that look alike to
// it, for numbers that change from round to round.
type law struct {
	frame *frame
	test  int
	n     int     // outcomes
	of    []int32 // the class of each hypothesis
	sets  [][]int32
	// sets[c] are the links (indices in Given) that act in class c, in model order
	needed []atomic.Bool // by class: it matters to some trail
}

func newLaw(f *frame, test int) law {
	return law{frame: f, test: test, n: len(f.model.Tests[test].Outcomes)}
}

// sort finds the classes; a law is sorted before it is used.
func (l *law) sort() {
	if l.of != nil {
		return
	}
	f := l.frame
	of, odds := f.space.Classes(l.test)
	l.of = of
	l.sets = make([][]int32, len(odds)/l.n)
	l.needed = make([]atomic.Bool, len(l.sets))
	link := make([]int32, len(f.model.Modes))
	for i := range link {
		link[i] = -1
	}
	for i, g := range f.model.Tests[l.test].Given {
		link[g.Mode] = int32(i)
	}
	known := make([]bool, len(l.sets))
	for h, c := range of {
		if known[c] {
			continue
		}
		known[c] = true
		for _, i := range f.space.Modes(h) {
			if link[i] >= 0 {
				l.sets[c] = append(l.sets[c], link[i])
			}
		}
	}
}

// A causes is what makes a test show what it shows in one class: the leak first, then a
// link for each mode that matters, each with its cumulative sums.
type causes struct {
	p, q [][]float64 // p[j][k], and the sum of p[j][0..k]
}

// load fills c for one class.
func (l *law) load(c *causes, numbers []float64, sums []float64, class int) {
	f := l.frame
	c.p, c.q = c.p[:0], c.q[:0]
	add := func(block int) {
		b := &f.blocks[block]
		c.p = append(c.p, numbers[b.at:b.at+b.Len])
		c.q = append(c.q, sums[b.at:b.at+b.Len])
	}
	add(f.leak[l.test])
	for _, i := range l.sets[class] {
		add(f.links[l.test][i])
	}
}

// sumsOf returns the cumulative sums of each block.
func (f *frame) sumsOf(numbers []float64) []float64 {
	q := make([]float64, len(numbers))
	for i := range f.blocks {
		b := &f.blocks[i]
		sum := 0.0
		for k := b.at; k < b.at+b.Len; k++ {
			sum += numbers[k]
			q[k] = min(sum, 1)
		}
		q[b.at+b.Len-1] = 1
	}
	return q
}

// rise returns prod_{i != skip} q_i(k) - prod_{i != skip} q_i(k-1), as a sum of terms that
// are not negative:
//
//	sum over i of prod_{j<i} q_j(k-1) * p_i(k) * prod_{j>i} q_j(k)
func (c *causes) rise(k, skip int) float64 {
	sum := 0.0
	for i := range c.p {
		if i == skip {
			continue
		}
		term := c.p[i][k]
		for j := range c.p {
			switch {
			case j == skip || j == i:
			case j > i:
				term = float64(term * c.q[j][k])
			case k == 0:
				term = 0
			default:
				term = float64(term * c.q[j][k-1])
			}
		}
		sum += term
	}
	return sum
}

// below returns prod_{i != skip} q_i(k).
func (c *causes) below(k, skip int) float64 {
	x := 1.0
	for j := range c.q {
		if j != skip {
			x = float64(x * c.q[j][k])
		}
	}
	return x
}

// need says that these hypotheses matter to some trail.
func (l *law) need(act []int32) {
	for _, h := range act {
		if c := &l.needed[l.of[h]]; !c.Load() {
			c.Store(true)
		}
	}
}

// table returns P(k|class) for all classes, class by class; if some is true, 0 for those that
// nothing needs.
func (l *law) table(dst []float64, numbers, sums []float64, some bool) []float64 {
	l.sort()
	dst = dst[:0]
	var c causes
	for class := range l.sets {
		if some && !l.needed[class].Load() {
			for range l.n {
				dst = append(dst, 0)
			}
			continue
		}
		l.load(&c, numbers, sums, class)
		for k := range l.n {
			dst = append(dst, c.rise(k, -1))
		}
	}
	return dst
}

// share adds to counts what n fresh results of outcome k in a class tell of each cause: the
// expected number of times that it produced each degree, given that the largest was k. For
// cause j, with q the cumulative sums,
//
//	P(X_j = i | max = k) = p_j(i) * (prod_{l != j} q_l(k) - prod_{l != j} q_l(k-1)) / P(k)   for i < k
//	P(X_j = k | max = k) = p_j(k) * prod_{l != j} q_l(k) / P(k)
//
// Source: by hand from the definition of MAX; Díez (1993) has the same decomposition.
func (l *law) share(c *causes, counts []float64, n, p float64, class, k int) {
	f := l.frame
	for j := range c.p {
		block := f.leak[l.test]
		if j > 0 {
			block = f.links[l.test][l.sets[class][j-1]]
		}
		to := f.row(counts, block)
		if k > 0 {
			less := float64(n*c.rise(k, j)) / p
			for i := range k {
				to[i] += float64(less * c.p[j][i])
			}
		}
		to[k] += float64(float64(n*c.p[j][k])*c.below(k, j)) / p
	}
}
