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
// link for each mode that matters.
type causes struct {
	numbers, sums []float64
	at            []int32 // of each cause, where its entries begin
}

// p returns the probability that cause j makes k, and q that it makes at most k.
func (c *causes) p(j, k int) float64 { return c.numbers[int(c.at[j])+k] }
func (c *causes) q(j, k int) float64 { return c.sums[int(c.at[j])+k] }

// load fills c for one class.
func (l *law) load(c *causes, numbers []float64, sums []float64, class int) {
	f := l.frame
	c.numbers, c.sums = numbers, sums
	c.at = append(c.at[:0], int32(f.blocks[f.leak[l.test]].at))
	for _, i := range l.sets[class] {
		c.at = append(c.at, int32(f.blocks[f.links[l.test][i]].at))
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
//
// one cause after another, from the last on: rise = q(k-1) rise + p(k) below. Beside it is below,
// prod_{i != skip} q_i(k).
func (c *causes) rise(k, skip int) (rise, below float64) {
	below = 1
	for i := len(c.at) - 1; i >= 0; i-- {
		if i == skip {
			continue
		}
		last := 0.0
		if k > 0 {
			last = c.q(i, k-1)
		}
		rise = float64(last*rise) + float64(c.p(i, k)*below)
		below = float64(below * c.q(i, k))
	}
	return rise, below
}

// A needs is, by test and class, what matters to some trail.
type needs [][]atomic.Bool

// noNeeds returns that nothing does.
func (f *frame) noNeeds(used []bool) needs {
	n := make(needs, len(f.laws))
	for t := range f.laws {
		if used[t] {
			n[t] = make([]atomic.Bool, len(f.laws[t].sets))
		}
	}
	return n
}

// add says that these hypotheses matter to a trail.
func (n needs) add(f *frame, act []int32) {
	for t, classes := range n {
		if classes == nil {
			continue
		}
		of := f.laws[t].of
		for _, h := range act {
			if c := &classes[of[h]]; !c.Load() {
				c.Store(true)
			}
		}
	}
}

// table returns P(k|class) for all classes, class by class; 0 for those that some, if given, does not have.
func (l *law) table(numbers, sums []float64, some []atomic.Bool) []float64 {
	l.sort()
	table := make([]float64, len(l.sets)*l.n)
	var c causes
	for class := range l.sets {
		if some != nil && !some[class].Load() {
			continue
		}
		l.load(&c, numbers, sums, class)
		for k := range l.n {
			table[class*l.n+k], _ = c.rise(k, -1)
		}
	}
	return table
}

// share adds to counts what n fresh results of outcome k in a class tell of each cause: the
// expected number of times that it produced each degree, given that the largest was k. For
// cause j, with q the cumulative sums,
//
//	P(X_j = i | max = k) = p_j(i) * (prod_{l != j} q_l(k) - prod_{l != j} q_l(k-1)) / P(k)   for i < k
//	P(X_j = k | max = k) = p_j(k) * prod_{l != j} q_l(k) / P(k)
//
// Source: by hand from the definition of MAX; Díez (1993) has the same decomposition.
func (c *causes) share(counts []float64, n, p float64, k int) {
	for j, at := range c.at {
		to := counts[at:]
		rise, below := c.rise(k, j)
		if k > 0 {
			less := float64(n*rise) / p
			for i := range k {
				to[i] += float64(less * c.p(j, i))
			}
		}
		to[k] += float64(float64(n*c.p(j, k))*below) / p
	}
}
