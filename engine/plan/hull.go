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
	base   [][]float64 // by setup and hypothesis: a lower bound where the truth is known
	teeth  [][]*tooth  // by setup
	log    [][]*tooth  // by setup: every tooth when it was added or raised
	sorted []int       // by setup: length of log when teeth was last sorted
	rest   []float64   // scratch
	cands  []cand
	tick   int
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

type cand struct {
	gain float64
	k    *tooth
}

const (
	mostTeeth = 16 // in one mixture
	keptTeeth = 32 // that a node remembers
)

// lower returns the bound at a node. Teeth are hung greedily, the one that lifts most
// first, as long as they lift by more than least. The node remembers those that bear on
// it most; later calls look at them and at what is new.
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
		floor := max(least, 0.15*best) / k.lift
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
			if k.lift <= 0.15*best {
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
		if c.gain >= 0.15*best {
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
	if len(h.cands) > 4*keptTeeth {
		h.cands = h.cands[:4*keptTeeth]
	}
	n.near = n.near[:0]
	for _, c := range h.cands[:min(len(h.cands), keptTeeth)] {
		n.near = append(n.near, c.k)
	}
	rest := h.rest[:len(n.p)]
	copy(rest, n.p)
	for range mostTeeth {
		at := -1
		gain, part := least, 0.0
		for i, c := range h.cands {
			if c.gain <= gain {
				break // gains only fall, and these were lower before
			}
			share := 1.0
			k := c.k
			for j, i := range k.at {
				if x := rest[i] * k.inv[j]; x < share {
					share = x
				}
			}
			h.cands[i].gain = share * k.lift
			if h.cands[i].gain > gain {
				at, gain, part = i, h.cands[i].gain, share
			}
		}
		if at < 0 {
			break
		}
		v += gain
		k := h.cands[at].k
		for _, i := range k.at {
			if rest[i] -= float64(part * k.p[i]); rest[i] < 1e-12 {
				rest[i] = 0
			}
		}
	}
	return v
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
