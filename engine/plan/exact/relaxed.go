package exact

import (
	"math"
	"slices"

	"pitwise/engine/plan"
)

// A Floor bounds from below what a unit of a large model costs at least, by an information
// relaxation: whoever brings the unit says which of a few groups of hypotheses the truth is in, and
// each group is a problem small enough to be solved. Nobody can do worse by being told more.
//
//	V(b) >= sum over groups G of b(G) low(b | G) + sum over the other S of b(S) cost of the clairvoyant(S)
//
// Source: Brown, Smith & Sun (2010), Information relaxations and duality in stochastic dynamic
// programs, Operations Research 58(4): a relaxation that reveals part of what is hidden.
type Floor struct {
	*plan.Problem
	plans [][]plan.Vector
	sight *plan.Sight
	gate  *gate
}

// NewFloor prepares it, which takes as long as growing the planner's library. The error is
// ErrTooLarge, wrapped, for a model with more than 128 tests or 64 demands of only_after on one test.
func NewFloor(p *plan.Problem) (*Floor, error) {
	gate, err := gateOf(p)
	if err != nil {
		return nil, err
	}
	return &Floor{p, plan.Vectors(p), plan.NewSight(p), gate}, nil
}

// Reach says how much of a belief a Floor looks at: so many groups of the likeliest hypotheses, of so
// many each. What its members become as faults leave is added to a group; one that then has more than 64
// is made smaller.
type Reach struct {
	Groups, Size int
	Effort       // for each group
}

// At returns the bounds in a situation, Currency: Low as above, High the cheapest plan of the
// planner's library. known is what the clairvoyant pays.
func (f *Floor) At(at plan.Situation, reach Reach) (b Bounds, known float64) {
	hyps := f.likely(at, reach.Groups*reach.Size)
	grouped := map[int]bool{}
	whole := math.Inf(1) // the plans are compared over all that is believed
	for i := 0; i < len(hyps); i += reach.Size {
		group := hyps[i:min(i+reach.Size, len(hyps))]
		for len(f.closed(group)) > mostHypotheses {
			group = group[:len(group)-1]
		}
		low, p := f.group(at, group, reach.Effort)
		b.Low += float64(p * low)
		for _, h := range group {
			grouped[h] = true
		}
	}
	for h := range f.Space().Len() {
		p := at.Belief.P(h)
		if p == 0 {
			continue
		}
		cost := float64(p * f.sight.Cost(f.Space().Modes(h), at.Setup))
		known += cost
		if !grouped[h] {
			b.Low += cost
		}
	}
	counts := make([][]float64, len(f.Space().Model().Tests))
	for t := range counts {
		counts[t] = at.Belief.Counts(t)
	}
	seen, tries := at.Seen, at.Tries
	if seen == nil {
		seen = make([]int, len(counts))
		for t := range seen {
			seen[t] = -1
		}
	}
	if tries == nil {
		tries = f.Space().Model().Untried()
	}
	for i := range f.plans[at.Setup] {
		v := &f.plans[at.Setup][i]
		if !v.Holds(counts, tries, seen) {
			continue
		}
		cost := 0.0
		for h := range f.Space().Len() {
			if p := at.Belief.P(h); p > 0 {
				if h < len(v.Cost) {
					cost += float64(p * v.Cost[h])
				} else {
					cost += float64(p * (f.Loss + f.Comeback)) // more faults than plans work with
				}
			}
		}
		whole = min(whole, cost)
	}
	b.High = whole
	return b, known
}

// likely returns the likeliest hypotheses, the likeliest first.
func (f *Floor) likely(at plan.Situation, most int) (hyps []int) {
	n := len(f.plans[at.Setup][0].Cost)
	for h := range n {
		if at.Belief.P(h) > 0 {
			hyps = append(hyps, h)
		}
	}
	slices.SortStableFunc(hyps, func(a, b int) int {
		if x, y := at.Belief.P(a), at.Belief.P(b); x > y {
			return -1
		} else if x < y {
			return 1
		}
		return 0
	})
	return hyps[:min(len(hyps), most)]
}

// group returns a lower bound of the cost where the truth is known to be one of a group, and the odds
// of that.
func (f *Floor) group(at plan.Situation, group []int, effort Effort) (low, p float64) {
	hyps := f.closed(group)
	e := among(f.Problem, hyps, f.plans, f.sight, f.gate)
	q := make([]float64, len(hyps))
	for i, h := range hyps {
		if slices.Contains(group, h) {
			q[i] = at.Belief.P(h)
			p += q[i]
		}
	}
	start := e.start(at, q)
	e.prepare(effort.Tolerance * math.Abs(start.high))
	e.close(start, effort.Backups)
	return start.low, p
}

// start makes the node of a situation with odds of its own. What was seen of a test counts, for it bears on
// what a repeat tells.
func (e *Solution) start(at plan.Situation, q []float64) *node {
	g := e.tight
	return g.at(at.Setup, g.past(func(t, o int) float64 {
		if c := at.Belief.Counts(t); c != nil {
			return c[o]
		}
		return 0
	}, at.Tries, at.Seen), q)
}

// closed returns a group with all that its members become as faults leave, rising.
func (f *Floor) closed(group []int) []int {
	all := slices.Clone(group)
	for i := 0; i < len(all); i++ {
		modes := f.Space().Modes(all[i])
		for j := range modes {
			less := slices.Delete(slices.Clone(modes), j, j+1)
			if h, ok := f.Space().Index(less); ok && !slices.Contains(all, h) {
				all = append(all, h)
			}
		}
	}
	slices.Sort(all)
	return all
}
