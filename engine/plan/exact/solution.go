package exact

import (
	"errors"
	"fmt"
	"math"

	"pitwise/engine/plan"
)

// ErrTooLarge says that a model has too many hypotheses, tests or repairs that ask for results to be
// solved exactly.
var ErrTooLarge = errors.New("exact: too large to solve exactly")

// ErrSkipped says that the exact policy was asked about a unit with skipped tests.
var ErrSkipped = errors.New("exact: the policy knows no skipped tests")

const (
	mostHypotheses = 64 // a set of hypotheses is one word
	mostTests      = 128
	mostStarts     = 256
)

// Bounds enclose the best possible expected cost, Currency.
type Bounds struct{ Low, High float64 }

// Effort says how hard a solution tries.
type Effort struct {
	Tolerance float64 // relative to the cost: where the bounds may stop
	Backups   int     // most Bellman backups for each way a unit may come in, about 25 µs each
}

// A Solution is a small model's decision problem, solved over all horizons from the intake.
// After Solve it does not change; as a policy its answers depend on the situation alone,
// and it is safe for concurrent use.
type Solution struct {
	*plan.Problem
	plans        [][]plan.Vector // of the planner's library, by setup
	gate         *gate
	hull         *hull
	loose, tight *graph
	tol          float64 // Currency
	starts       []start
	high         float64 // what the policy costs, Currency
}

// A start is how things stand when a unit has been brought to the bench.
type start struct {
	p       float64 // its odds among those
	node    *node
	results []int // outcome by test, -1 for none
}

// Solve solves a problem. The error is ErrTooLarge, wrapped, for a model with more than 64
// hypotheses, 128 tests, 64 demands of only_after on one test or 256 ways to come in.
func Solve(p *plan.Problem, effort Effort) (*Solution, error) {
	e, err := prepared(p)
	if err != nil {
		return nil, err
	}
	if err := e.begin(); err != nil {
		return nil, err
	}
	scale := 0.0
	for _, s := range e.starts {
		scale += float64(s.p * s.node.high)
	}
	e.prepare(effort.Tolerance * math.Abs(scale))
	for _, s := range e.starts {
		e.close(s.node, effort.Backups)
	}
	e.high = e.follow(1e-4)
	return e, nil
}

// prepared makes the parts, without solving anything.
func prepared(p *plan.Problem) (*Solution, error) {
	if n := p.Space().Len(); n > mostHypotheses {
		return nil, fmt.Errorf("%w: %d hypotheses, at most %d", ErrTooLarge, n, mostHypotheses)
	}
	gate, err := gateOf(p)
	if err != nil {
		return nil, err
	}
	hyps := make([]int, p.Space().Len())
	for h := range hyps {
		hyps[h] = h
	}
	return among(p, hyps, plan.Vectors(p), plan.NewSight(p), gate), nil
}

func gateOf(p *plan.Problem) (*gate, error) {
	if n := len(p.Space().Model().Tests); n > mostTests {
		return nil, fmt.Errorf("%w: %d tests, at most %d", ErrTooLarge, n, mostTests)
	}
	gate, ok := newGate(p)
	if !ok {
		return nil, fmt.Errorf("%w: repairs ask for more than 64 results of a test", ErrTooLarge)
	}
	return gate, nil
}

// among makes the parts for a unit of which some hypotheses alone are possible, rising.
func among(p *plan.Problem, hyps []int, plans [][]plan.Vector, sight *plan.Sight, gate *gate) *Solution {
	e := &Solution{Problem: p, gate: gate}
	var certain [][]float64
	for s := range plans {
		var row []plan.Vector
		for _, v := range plans[s] {
			cost := make([]float64, len(hyps))
			for i, h := range hyps {
				cost[i] = v.Cost[h]
			}
			v.Cost = cost
			row = append(row, v)
		}
		e.plans = append(e.plans, row)
		var known []float64
		for _, h := range hyps {
			known = append(known, sight.Cost(p.Space().Modes(h), s))
		}
		certain = append(certain, known)
	}
	e.hull = newHull(certain)
	e.loose, e.tight = newGraph(p, hyps, e.plans, gate, e.hull, true), newGraph(p, hyps, e.plans, gate, e.hull, false)
	return e
}

// begin lists the ways a unit may come in: every outcome of the intake test but the first, and every
// answer of its owner.
func (e *Solution) begin() error {
	m, g := e.Space().Model(), e.tight
	prior := e.Space().Prior()
	seen := make([]int, len(m.Tests))
	q := make([]float64, g.n)
	for t := range seen {
		seen[t] = -1
	}
	for h := range q {
		q[h] = prior.P(h)
	}
	ways := []start{{results: seen, node: &node{p: q}}}
	for t := range m.Tests {
		if t != m.Intake && !m.Tests[t].Told {
			continue
		}
		var next []start
		for _, s := range ways {
			for o, row := range g.laws[t] {
				if o == 0 && t == m.Intake {
					continue
				}
				p, results := make([]float64, g.n), append([]int(nil), s.results...)
				for h, x := range s.node.p {
					p[h] = float64(x * row[h])
				}
				results[t] = o
				next = append(next, start{results: results, node: &node{p: p}})
			}
		}
		if ways = next; len(ways) > mostStarts {
			return fmt.Errorf("%w: more than %d ways to come in", ErrTooLarge, mostStarts)
		}
	}
	total := 0.0
	for _, s := range ways {
		sum := 0.0
		for _, x := range s.node.p {
			sum += x
		}
		if sum > 0 {
			s.p = sum
			s.node = g.at(m.Root, g.past(func(t, o int) float64 {
				if s.results[t] == o {
					return 1
				}
				return 0
			}, m.Untried(), s.results), s.node.p)
			e.starts = append(e.starts, s)
			total += sum
		}
	}
	for i := range e.starts {
		e.starts[i].p /= total
	}
	return nil
}

// past makes the past of a tight graph from how often each outcome of each test was seen since a
// change touched it, and from what a plan.Situation holds. What the owner told is not asked again, so
// that its counts do not matter.
func (g *graph) past(counts func(test, outcome int) float64, tries [][]int, seen []int) past {
	k := past{counts: make([]uint8, g.kinds), opens: g.gate.of(seen)}
	if tries == nil {
		tries = g.model.Untried()
	}
	k.remember(tries)
	for t, law := range g.laws {
		if g.model.Tests[t].Told {
			continue
		}
		for o := range law {
			c := math.Round(min(counts(t, o), math.MaxUint8))
			k.counts[g.from[t]+o] = uint8(c)
			for range int(c) {
				k.runs = k.runs.with(t, toldApart)
			}
		}
	}
	return k
}

// prepare raises what is known at certainty from the clairvoyant's cost, who also sees at
// once whether a repair worked, to that of someone who has to find out: with no repair tried and all
// of them on offer, which is never dearer.
func (e *Solution) prepare(tol float64) {
	tol = max(tol, 1e-9)
	e.tol, e.loose.tol, e.tight.tol = tol, tol, tol
	untried := past{opens: e.gate.all()}
	untried.remember(e.Space().Model().Untried())
	for h := range e.loose.n {
		for s := range e.Space().Model().Setups {
			q := make([]float64, e.loose.n)
			q[h] = 1
			n := e.loose.at(s, untried, q)
			e.loose.solve(n, tol/2, 1000)
			e.hull.ground(s, h, n.low)
		}
	}
}

// close brings the bounds of a node of the tight graph together, with at most so many
// backups: the easier problem first, as far as its own doubt is what keeps them apart.
func (e *Solution) close(n *node, most int) {
	easier := n.past
	easier.counts = nil
	twin := e.loose.at(n.setup, easier, append([]float64(nil), n.p...))
	from := e.loose.work + e.tight.work
	for n.high-n.low > e.tol {
		left := most - (e.loose.work + e.tight.work - from)
		if left <= 0 {
			return
		}
		before := n.high - n.low
		slice := min(left, 200+most/10)
		e.loose.solve(twin, max(e.tol/2, 0.25*before), slice)
		n.low = min(max(n.low, twin.low), n.high)
		e.tight.solve(n, e.tol, slice)
		if before-(n.high-n.low) < e.tol/100 && e.loose.settled && e.tight.settled {
			return
		}
	}
}

// Bounds returns what bounds the least expected cost of a unit that has just been brought
// in, over the intake outcomes that bring one.
func (e *Solution) Bounds() Bounds {
	var b Bounds
	for _, s := range e.starts {
		b.Low += float64(s.p * s.node.low)
		b.High += float64(s.p * s.node.high)
	}
	b.High = max(b.Low, min(b.High, e.high))
	return b
}

// Next returns the step that the solution takes in a situation: where it was worked out,
// that one, else the best step on top of all plans that were found.
func (e *Solution) Next(at plan.Situation) (plan.Step, error) {
	for _, s := range at.Skipped {
		if s {
			return plan.Step{}, ErrSkipped
		}
	}
	g := e.tight.view()
	step, _ := g.choose(e.at(g, at))
	return step, nil
}

// at returns the node of a situation in a graph.
func (e *Solution) at(g *graph, at plan.Situation) *node {
	q := make([]float64, g.n)
	for i, h := range g.hyps {
		q[i] = at.Belief.P(h)
	}
	return g.at(at.Setup, g.past(func(t, o int) float64 {
		if c := at.Belief.Counts(t); c != nil {
			return c[o]
		}
		return 0
	}, at.Tries, at.Seen), q)
}

// choose returns the step that the solution takes at a node of a view, and what it costs
// at most.
func (g *graph) choose(n *node) (plan.Step, float64) {
	if n.opened {
		return n.best, n.high
	}
	c := *n // it may not be ours to change
	n = &c
	g.open(n)
	for i := range n.edges {
		g.expand(n, &n.edges[i])
		if _, high := n.edges[i].bounds(); n.high-high > 1e-9*(1+math.Abs(n.high)) {
			n.high, n.best = high, n.edges[i].act.step
		}
	}
	return n.best, n.high
}

// follow returns what the solution's policy costs, worked out along every outcome; where a
// belief is less likely than reach, what its plan costs at most. It is often less than
// the upper bound that the policy comes from.
func (e *Solution) follow(reach float64) float64 {
	cost := 0.0
	g := e.tight.view()
	odds := map[*node]float64{}
	var level []*node
	for _, s := range e.starts {
		level = append(level, s.node)
		odds[s.node] = s.p
	}
	for depth := 0; len(level) > 0; depth++ {
		after := map[*node]float64{}
		var next []*node
		for _, n := range level {
			p := odds[n]
			if p < reach || depth > 1000 {
				cost += float64(p * n.high)
				continue
			}
			step, high := g.choose(n)
			if ends(step) {
				cost += float64(p * high)
				continue
			}
			for i := range g.acts[n.setup] {
				a := &g.acts[n.setup][i]
				if a.step != step {
					continue
				}
				way := edge{act: a}
				g.expand(n, &way)
				cost += float64(p * (a.way + a.own))
				for _, arc := range way.to {
					if after[arc.node] == 0 {
						next = append(next, arc.node)
					}
					after[arc.node] += float64(p * arc.p)
				}
			}
		}
		level, odds = next, after
	}
	return cost
}

// view returns a graph that can look at what this one knows and keeps what it makes to
// itself.
func (g *graph) view() *graph {
	v := *g
	v.known, v.nodes, v.key = g.nodes, map[string]*node{}, nil
	v.passed, v.moves = g.moves, map[string][][]shift{}
	return &v
}

func ends(s plan.Step) bool { return s.Kind == plan.SignOff || s.Kind == plan.WriteOff }
