package plan

import (
	"math/bits"
	"slices"
)

// A hull is a lower bound of the best expected cost. That cost is concave in the belief,
// so it lies above every mixture of beliefs at which a lower bound is known:
//
//	V(b) >= sum over i of x_i low(k_i) + the rest at certainty,   x_i >= 0, sum of x_i k_i <= b
//
// Points bear on beliefs at which their tests were run as often or more often: a further
// result then tells less, since a draw from an urn that holds more is, with fixed odds, a
// draw from the urn that holds less, and otherwise tells nothing.
// Source: Hauskrecht (2000), JAIR 13, for the bound with one point (saw teeth).
type hull struct {
	base              [][]float64 // by setup and hypothesis: a lower bound where the truth is known
	teeth             [][]*tooth  // by setup
	log               [][]*tooth  // by setup: every tooth when it was added or raised
	sorted            []int       // by setup: length of log when teeth was last sorted
	rest              []float64   // scratch
	cands             []cand      // scratch
	rows, basis, used []int       // scratch of mix
	tableau           []float64
	tick              int // lookups so far
}

// A tooth is a belief at which a lower bound is known.
type tooth struct {
	mask   uint64 // the hypotheses that p holds
	runs   runs
	lift   float64   // low less the mixture of certainties
	p      []float64 // dense
	at     []uint8   // the hypotheses that p holds, most likely first
	inv    []float64 // 1/p, as in at
	counts []uint8   // of an exact graph
	low    float64
	tick   int // of the lookup that tried it last
}

// newHull starts from a lower bound at certainty, by setup and hypothesis.
func newHull(least [][]float64) *hull {
	h := &hull{teeth: make([][]*tooth, len(least)), log: make([][]*tooth, len(least)), sorted: make([]int, len(least))}
	for _, row := range least {
		h.base = append(h.base, append([]float64(nil), row...))
		h.rest = make([]float64, len(row))
	}
	return h
}

// A cand is a tooth that may go into a mixture, and what it lifts by alone.
type cand struct {
	gain float64
	k    *tooth
}

// A tooth that alone lifts less than this share of what the best one does is left out.
const faint = 0.1

const (
	mixed     = 96 // teeth that may go into one mixture
	keptTeeth = 40 // that a node remembers
)

// lower returns the bound at a node, from the teeth that lift it by more than least. The
// node remembers those that bear on it most; later calls look at them and at what is new.
func (h *hull) lower(n *node, least float64) float64 {
	v := 0.0
	for i, x := range h.base[n.setup] {
		v += float64(x * n.p[i])
	}
	h.cands = h.cands[:0]
	best := least
	h.tick++
	try := func(k *tooth) {
		if k.tick == h.tick {
			return
		}
		k.tick = h.tick
		if k.mask&^n.mask != 0 || k.lift <= least || !k.runs.within(n.runs) || k.counts != nil && !k.bears(n.counts) {
			return
		}
		floor := max(least, faint*best) / k.lift
		share := 1.0
		for j, i := range k.at {
			if x := n.p[i] * k.inv[j]; x < share {
				share = x
				if share <= floor {
					return
				}
			}
		}
		gain := share * k.lift
		best = max(best, gain)
		h.cands = append(h.cands, cand{gain, k})
	}
	log := h.log[n.setup]
	for _, k := range n.near { // at first those of the node it was reached from
		try(k)
	}
	if n.stamp < 0 {
		h.sort(n.setup)
		for _, k := range h.teeth[n.setup] {
			if k.lift <= faint*best {
				break
			}
			try(k)
		}
		n.near = nil
	} else {
		for _, k := range log[n.stamp:] {
			try(k)
		}
	}
	n.stamp = len(log)
	kept := h.cands[:0]
	for _, c := range h.cands {
		if c.gain >= faint*best {
			kept = append(kept, c)
		}
	}
	h.cands = kept
	slices.SortFunc(h.cands, func(a, b cand) int {
		switch {
		case a.gain > b.gain:
			return -1
		case a.gain < b.gain:
			return 1
		}
		return 0
	})
	if len(h.cands) > mixed {
		h.cands = h.cands[:mixed]
	}
	gain := h.mix(n)
	n.near = n.near[:0]
	for _, c := range h.cands[:min(len(h.cands), keptTeeth)] {
		n.near = append(n.near, c.k)
	}
	return v + gain
}

// mix returns the most that mixtures of the candidates lift a node by, and puts the ones it
// used first. It is the linear program
//
//	max sum over k of x_k lift_k,   sum over k of x_k k_i <= p_i for each hypothesis i,   x_k >= 0
//
// by the simplex method on a dense tableau; where it is cut short, the mixture is still one.
// Source: Dantzig's rule.
func (h *hull) mix(n *node) float64 {
	cols := len(h.cands)
	if cols == 0 {
		return 0
	}
	alone := h.cands[0].gain
	if cols == 1 {
		return alone
	}
	h.rows = h.rows[:0]
	for i, x := range n.p {
		if x > 0 {
			h.rows = append(h.rows, i)
		}
	}
	m := len(h.rows)
	width := cols + m + 1 // the candidates, what is left at certainty, the right side
	if need := (m + 1) * width; cap(h.tableau) < need {
		h.tableau = make([]float64, need)
	}
	tab := h.tableau[:(m+1)*width]
	clear(tab)
	for r, i := range h.rows {
		row := tab[r*width:][:width]
		over := 1 / n.p[i]
		for c := range cols {
			row[c] = float64(h.cands[c].k.p[i] * over)
		}
		row[cols+r] = 1
		row[width-1] = 1
	}
	price := tab[m*width:][:width]
	for c := range cols {
		price[c] = h.cands[c].k.lift
	}
	h.basis = h.basis[:0]
	for r := range m {
		h.basis = append(h.basis, cols+r)
	}
	for range 3 * m {
		enter := -1
		most := 1e-9
		for c, x := range price[:width-1] {
			if x > most {
				enter, most = c, x
			}
		}
		if enter < 0 {
			break
		}
		leave := -1
		lowest := 0.0
		for r := range m {
			if x := tab[r*width+enter]; x > 1e-9 {
				if q := tab[r*width+width-1] / x; leave < 0 || q < lowest {
					leave, lowest = r, q
				}
			}
		}
		if leave < 0 {
			break
		}
		pivot := tab[leave*width:][:width]
		over := 1 / pivot[enter]
		for c := range pivot {
			pivot[c] *= over
		}
		for r := range m + 1 {
			if x := tab[r*width+enter]; r != leave && x != 0 {
				row := tab[r*width:][:width]
				for c, y := range pivot {
					row[c] -= float64(x * y)
				}
			}
		}
		h.basis[leave] = enter
	}
	// What rounding took too much of is given back.
	rest := h.rest[:len(n.p)]
	clear(rest)
	gain := 0.0
	front := 0
	for r, c := range h.basis {
		x := tab[r*width+width-1]
		if c >= cols || x <= 0 {
			continue
		}
		k := h.cands[c].k
		gain += float64(x * k.lift)
		for _, i := range k.at {
			rest[i] += float64(x * k.p[i])
		}
		h.used = append(h.used, c)
	}
	over := 1.0
	for _, i := range h.rows {
		over = max(over, rest[i]/n.p[i])
	}
	slices.Sort(h.used)
	for _, c := range h.used {
		h.cands[front], h.cands[c] = h.cands[c], h.cands[front]
		front++
	}
	h.used = h.used[:0]
	return max(gain/over, alone)
}

// sort puts the teeth that lift most first, roughly: anew when many were added.
func (h *hull) sort(setup int) {
	all := h.teeth[setup]
	if len(h.log[setup])-h.sorted[setup] <= len(all)/20 {
		return
	}
	h.sorted[setup] = len(h.log[setup])
	slices.SortStableFunc(all, func(a, b *tooth) int {
		switch {
		case a.lift > b.lift:
			return -1
		case a.lift < b.lift:
			return 1
		}
		return 0
	})
}

// bears reports whether a point of an exact graph bears on a record of counts.
func (k *tooth) bears(counts []uint8) bool {
	if counts == nil {
		return false
	}
	for i, c := range k.counts {
		if c > counts[i] {
			return false
		}
	}
	return true
}

// add makes a node's bound a point of the hull.
func (h *hull) add(n *node) {
	k := &tooth{p: n.p, mask: n.mask, runs: n.runs, counts: n.counts}
	p := n.p
	for i, x := range p {
		if x > 0 {
			k.at = append(k.at, uint8(i))
		}
	}
	slices.SortStableFunc(k.at, func(a, b uint8) int {
		switch {
		case p[a] > p[b]:
			return -1
		case p[a] < p[b]:
			return 1
		}
		return 0
	})
	for _, i := range k.at {
		k.inv = append(k.inv, 1/p[i])
	}
	h.teeth[n.setup] = append(h.teeth[n.setup], k)
	n.tooth = k
	h.raise(n)
}

// raise gives the point of a node its better bound.
func (h *hull) raise(n *node) {
	k := n.tooth
	k.low, k.lift = n.low, n.low
	for i, x := range h.base[n.setup] {
		k.lift -= float64(x * k.p[i])
	}
	h.log[n.setup] = append(h.log[n.setup], k)
}

// ground raises the bound at certainty.
func (h *hull) ground(setup, hyp int, low float64) {
	d := low - h.base[setup][hyp]
	if d <= 0 {
		return
	}
	h.base[setup][hyp] = low
	for _, k := range h.teeth[setup] {
		k.lift -= float64(d * k.p[hyp])
	}
}

// maskOf returns the hypotheses that a dense belief holds.
func maskOf(p []float64) (m uint64) {
	for i, x := range p {
		if x > 0 {
			m |= 1 << i
		}
	}
	return m
}

// runs is how often each test was run since it was touched, four bits a test, at most 7.
type runs uint64

const mostRuns = 7

func (r runs) of(t int) int { return int(r>>(4*t)) & 7 }
func (r runs) with(t, most int) runs {
	if r.of(t) < most {
		r += 1 << (4 * t)
	}
	return r
}

// without returns r with the tests in s never run.
func (r runs) without(s uint64) runs {
	for ; s != 0; s &= s - 1 {
		r &^= 7 << (4 * bits.TrailingZeros64(s))
	}
	return r
}

// within reports whether no test was run more often in r than in o.
func (r runs) within(o runs) bool {
	const top = 0x8888888888888888
	return ((uint64(o)|top)-uint64(r))&top == top
}

func (r runs) set() (s set) {
	for t := range 16 {
		if r.of(t) > 0 {
			s = s.with(t)
		}
	}
	return s
}
