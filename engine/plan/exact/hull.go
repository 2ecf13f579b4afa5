package exact

import (
	"cmp"
	"slices"
)

// A hull is a lower bound of the best expected cost. That cost is concave in the belief,
// so it lies above every mixture of beliefs at which a lower bound is known:
//
//	V(b) >= sum over i of x_i low(k_i) + the rest at certainty,   x_i >= 0, sum of x_i k_i <= b
//
// Points bear on beliefs at which no more repairs are on offer and their tests were run as often
// or more often: a further result then tells less, since a draw from an urn that holds more is, with fixed odds, a
// draw from the urn that holds less, and otherwise tells nothing.
// Source: Hauskrecht (2000), JAIR 13, for the bound with one point (saw teeth).
type hull struct {
	base   [][]float64 // by setup and hypothesis: a lower bound where the truth is known
	teeth  [][]*tooth  // by setup
	log    [][]*tooth  // by setup: every tooth when it was added or raised
	sorted []int       // by setup: length of log when teeth was last sorted
	tick   int         // lookups so far

	// scratch
	cands              []cand
	program            simplex
	rows               []int
	over, lifts, taken []float64
}

// A tooth is a belief point at which a lower bound is known, of the sawtooth bound.
type tooth struct {
	past
	mask uint64    // the hypotheses that p holds
	lift float64   // low less the mixture of certainties
	p    []float64 // dense
	at   []uint8   // the hypotheses that p holds, most likely first
	inv  []float64 // 1/p, as in at
	low  float64
	tick int // of the lookup that tried it last
}

// newHull starts from a lower bound at certainty, by setup and hypothesis.
func newHull(least [][]float64) *hull {
	h := &hull{teeth: make([][]*tooth, len(least)), log: make([][]*tooth, len(least)), sorted: make([]int, len(least))}
	for _, row := range least {
		h.base = append(h.base, append([]float64(nil), row...))
		h.taken = make([]float64, len(row))
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
		if k.mask&^n.mask != 0 || k.lift <= least || !k.bears(&n.past) {
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
	slices.SortFunc(h.cands, func(a, b cand) int { return cmp.Compare(b.gain, a.gain) })
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
// Where it is cut short, the mixture is still one.
func (h *hull) mix(n *node) float64 {
	if len(h.cands) == 0 {
		return 0
	}
	alone := h.cands[0].gain
	if len(h.cands) == 1 {
		return alone
	}
	h.rows, h.over, h.lifts = h.rows[:0], h.over[:0], h.lifts[:0]
	for i, x := range n.p {
		if x > 0 {
			h.rows, h.over = append(h.rows, i), append(h.over, 1/x)
		}
	}
	for _, c := range h.cands {
		h.lifts = append(h.lifts, c.k.lift)
	}
	mixture := h.program.most(h.lifts, len(h.rows), func(k, r int) float64 {
		return float64(h.cands[k].k.p[h.rows[r]] * h.over[r])
	})
	// Rounding may take a little more than there is: the mixture is scaled down until it fits.
	taken := h.taken[:len(n.p)]
	clear(taken)
	gain := 0.0
	front := 0
	for c, x := range mixture {
		if x == 0 {
			continue
		}
		k := h.cands[c].k
		gain += float64(x * k.lift)
		for _, i := range k.at {
			taken[i] += float64(x * k.p[i])
		}
		h.cands[front], h.cands[c] = h.cands[c], h.cands[front]
		front++
	}
	over := 1.0
	for r, i := range h.rows {
		over = max(over, float64(taken[i]*h.over[r]))
	}
	return max(gain/over, alone)
}

// sort puts the teeth that lift most first, roughly: anew when many were added.
func (h *hull) sort(setup int) {
	all := h.teeth[setup]
	if len(h.log[setup])-h.sorted[setup] <= len(all)/20 {
		return
	}
	h.sorted[setup] = len(h.log[setup])
	slices.SortStableFunc(all, func(a, b *tooth) int { return cmp.Compare(b.lift, a.lift) })
}

// add makes a node's bound a point of the hull.
func (h *hull) add(n *node) {
	k := &tooth{past: n.past, p: n.p, mask: n.mask}
	p := n.p
	for i, x := range p {
		if x > 0 {
			k.at = append(k.at, uint8(i))
		}
	}
	slices.SortStableFunc(k.at, func(a, b uint8) int { return cmp.Compare(p[b], p[a]) })
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
