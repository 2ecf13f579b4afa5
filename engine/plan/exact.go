package plan

import (
	"errors"
	"fmt"
	"math"
)

// ErrTooLarge says that a model has too many hypotheses or tests to be solved exactly.
var ErrTooLarge = errors.New("plan: too large to solve exactly")

// ErrSkipped says that the exact policy was asked about a unit with skipped tests.
var ErrSkipped = errors.New("plan: the exact policy knows no skipped tests")

const (
	exactHypotheses = 64 // a set of hypotheses is one word
	exactTests      = 16 // four bits each
)

// Bounds enclose the best possible expected cost, Currency.
type Bounds struct{ Low, High float64 }

// Closed reports whether the bounds differ by at most a share of High.
func (b Bounds) Closed(share float64) bool { return b.High-b.Low <= share*math.Abs(b.High) }

// Effort says how hard an exact solution tries.
type Effort struct {
	Tolerance float64 // relative to the cost: where the bounds may stop
	Backups   int     // most Bellman backups for each intake outcome, about 25 µs each
}

// An Exact is a small model's decision problem, solved over all horizons from the intake.
// After NewExact it does not change; as a policy its answers depend on the situation alone,
// and it is safe for concurrent use.
type Exact struct {
	*Problem
	lib          *library
	hull         *hull
	loose, tight *graph
	tol          float64 // Currency
	starts       []start
	high         float64 // what the policy costs, Currency
}

// A start is how things stand after an intake outcome that brings a unit to the bench.
type start struct {
	p    float64 // its odds among those
	node *node
}

// NewExact solves a problem. The error is ErrTooLarge, wrapped, for a model with more than
// 64 hypotheses or 16 tests.
func NewExact(p *Problem, effort Effort) (*Exact, error) {
	e, err := newExact(p)
	if err != nil {
		return nil, err
	}
	in := p.model.Intake
	prior := p.space.Prior()
	total, scale := 0.0, 0.0
	for o, row := range e.tight.laws[in] {
		if o == 0 {
			continue
		}
		q := make([]float64, e.tight.n)
		sum := 0.0
		for h := range q {
			q[h] = float64(prior.P(h) * row[h])
			sum += q[h]
		}
		if sum > 0 {
			counts := make([]uint8, e.tight.kinds)
			counts[e.tight.from[in]+o] = 1
			n := e.tight.at(p.model.Root, runs(0).with(in, toldApart), counts, q)
			e.starts = append(e.starts, start{sum, n})
			total += sum
			scale += float64(sum * n.high)
		}
	}
	for i := range e.starts {
		e.starts[i].p /= total
	}
	e.prepare(effort.Tolerance * math.Abs(scale/total))
	for _, s := range e.starts {
		e.close(s.node, effort.Backups)
	}
	e.high = e.follow(1e-4)
	return e, nil
}

// newExact makes the parts, without solving anything.
func newExact(p *Problem) (*Exact, error) {
	if n := p.space.Len(); n > exactHypotheses {
		return nil, fmt.Errorf("%w: %d hypotheses, at most %d", ErrTooLarge, n, exactHypotheses)
	}
	if n := len(p.model.Tests); n > exactTests {
		return nil, fmt.Errorf("%w: %d tests, at most %d", ErrTooLarge, n, exactTests)
	}
	g := newGrowth(p)
	for !g.work() {
	}
	e := &Exact{Problem: p, lib: g.library, hull: newHull(p.clairvoyant(g.net))}
	e.loose, e.tight = newGraph(e.lib, e.hull, true), newGraph(e.lib, e.hull, false)
	return e, nil
}

// prepare raises what is known at certainty from the clairvoyant's cost, who also sees at
// once whether a repair worked, to that of someone who has to find out.
func (e *Exact) prepare(tol float64) {
	tol = max(tol, 1e-9)
	e.tol, e.loose.tol, e.tight.tol = tol, tol, tol
	for h := range e.loose.n {
		for s := range e.model.Setups {
			q := make([]float64, e.loose.n)
			q[h] = 1
			n := e.loose.at(s, 0, nil, q)
			e.loose.solve(n, tol/2, 1000)
			e.hull.ground(s, h, n.low)
		}
	}
}

// close brings the bounds of a node of the tight graph together, with at most so many
// backups: the easier problem first, as far as its own doubt is what keeps them apart.
func (e *Exact) close(n *node, most int) {
	twin := e.loose.at(n.setup, n.runs, nil, append([]float64(nil), n.p...))
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
func (e *Exact) Bounds() Bounds {
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
func (e *Exact) Next(at Situation) (Step, error) {
	for _, s := range at.Skipped {
		if s {
			return Step{}, ErrSkipped
		}
	}
	g := e.tight.view()
	step, _ := g.choose(e.at(g, at))
	return step, nil
}

// at returns the node of a situation in a graph.
func (e *Exact) at(g *graph, at Situation) *node {
	q := make([]float64, g.n)
	for h := range q {
		q[h] = at.Belief.P(h)
	}
	counts := make([]uint8, g.kinds)
	var r runs
	for t := range e.model.Tests {
		for o, c := range at.Belief.Counts(t) {
			c = math.Round(min(c, 255))
			counts[g.from[t]+o] = uint8(c)
			for range int(c) {
				r = r.with(t, toldApart)
			}
		}
	}
	return g.at(at.Setup, r, counts, q)
}

// choose returns the step that the solution takes at a node of a view, and what it costs
// at most.
func (g *graph) choose(n *node) (Step, float64) {
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
func (e *Exact) follow(reach float64) float64 {
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
			if step.ends() {
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
	return &v
}
