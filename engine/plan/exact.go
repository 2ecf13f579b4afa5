package plan

import (
	"encoding/binary"
	"math"
)

// A graph is the decision problem unrolled over the beliefs that can be reached, with a
// lower and an upper bound of the best expected cost at each. Below stands the clairvoyant,
// above the cheapest plan of a library (to begin with, the better of signing off and
// writing off). Bellman backups along the paths where the bounds are farthest apart bring
// them together; where they meet, the plan is the best possible over all horizons.
// Source: Smith & Simmons (2004), Heuristic search value iteration for POMDPs, UAI, for the
// choice of paths; equal beliefs are one node.
type graph struct {
	*library
	nodes map[string]*node
	known [][]*node // by setup: nodes whose lower bound bears on others
	dense []float64 // scratch, by hypothesis
	grown int       // nodes that were opened
}

// A node is one belief, setup and record of test counts.
type node struct {
	point
	low, high float64
	base      float64 // the clairvoyant's cost
	listed    bool    // among the known
	best      Step    // the step behind high
	opened    bool
	edges     []edge
}

// An edge is a step from a node.
type edge struct {
	step Step
	cost float64 // its own and its way's
	to   []arc   // empty for an ending, whose cost is all in cost
}

// An arc is what may come of a step.
type arc struct {
	p    float64
	node *node
}

func newGraph(l *library) *graph {
	return &graph{library: l, nodes: map[string]*node{}, known: make([][]*node, len(l.plans)), dense: make([]float64, l.net.n)}
}

// floorAt returns the best lower bound that the clairvoyant and the known nodes give for
// a point. The best expected cost is concave in the belief, so that it lies above the
// saw teeth hung between the clairvoyant's cost at certainty and a known node's bound:
//
//	low(b) >= c(b) + min over S of b(S)/k(S) * (low(k) - c(k)),   c the clairvoyant's cost
//
// A known node also bears on beliefs at which its tests have been run more often: a further
// result then tells less, since an urn's draw is, with the odds n/(kappa+n), the copy of an
// earlier one.
// Source: Hauskrecht (2000), JAIR 13, for the saw teeth.
func (g *graph) floorAt(q *point) float64 {
	base := dot(g.least[q.setup], q.hyps, q.p)
	for i, h := range q.hyps {
		g.dense[h] = q.p[i]
	}
	gain := 0.0
next:
	for _, k := range g.known[q.setup] {
		lift := k.low - k.base
		if lift <= gain {
			continue
		}
		for t, c := range k.counts {
			if !k.run.has(t) {
				continue
			}
			if !q.run.has(t) {
				continue next
			}
			for o := range c {
				if c[o] > q.counts[t][o] {
					continue next
				}
			}
		}
		share := 1.0
		for i, h := range k.hyps {
			if x := g.dense[h] / k.p[i]; x < share {
				share = x
				if share*lift <= gain {
					continue next
				}
			}
		}
		gain = share * lift
	}
	for _, h := range q.hyps {
		g.dense[h] = 0
	}
	return base + gain
}

// at returns the node of a point, making it if it is new.
func (g *graph) at(q point) *node {
	key := make([]byte, 0, 12*len(q.hyps)+64)
	key = append(key, byte(q.setup))
	for i, h := range q.hyps {
		x := int64(math.Round(q.p[i] * (1 << 36)))
		if x == 0 {
			continue
		}
		key = binary.AppendVarint(key, int64(h))
		key = binary.AppendVarint(key, x)
	}
	for t, c := range q.counts {
		if q.run.has(t) {
			key = append(key, 0xff, byte(t))
			for _, n := range c {
				key = binary.AppendVarint(key, int64(math.Round(n*1024)))
			}
		}
	}
	if n := g.nodes[string(key)]; n != nil {
		return n
	}
	n := &node{point: q, base: dot(g.least[q.setup], q.hyps, q.p), low: g.floorAt(&q)}
	p, v := g.best(q.setup, q.hyps, q.p, q.run, set{})
	n.best, n.high = p.step, v
	n.low = min(n.low, n.high)
	g.nodes[string(key)] = n
	return n
}

// open works out what each step can lead to from a node.
func (g *graph) open(n *node, skip set) {
	n.opened = true
	g.grown++
	wide := g.net.n
	for _, s := range []Step{{Kind: SignOff}, {Kind: WriteOff}} {
		p := g.ending(n.setup, s.Kind)
		n.edges = append(n.edges, edge{step: s, cost: dot(p.cost, n.hyps, n.p)})
	}
	for _, t := range g.tests {
		s := Step{DoTest, t}
		if skip.has(t) || g.floor(n.point, s) >= n.high {
			continue
		}
		there := g.goTo(n.point, s, wide)
		joint, odds := g.joint(nil, nil, there, t)
		e := edge{step: s, cost: g.StepCost(s, n.setup)}
		for o, p := range odds {
			if p > 0 {
				e.to = append(e.to, arc{p, g.at(g.see(there, t, o, joint[o], p, wide))})
			}
		}
		n.edges = append(n.edges, e)
	}
	for _, r := range g.repairs {
		s := Step{DoRepair, r}
		if g.floor(n.point, s) >= n.high {
			continue
		}
		there := g.goTo(n.point, s, wide)
		n.edges = append(n.edges, edge{step: s, cost: g.StepCost(s, n.setup), to: []arc{{1, g.at(g.repair(there, r, wide))}}})
	}
}

// ending returns the plan that ends the work in a setup.
func (l *library) ending(setup int, kind StepKind) *plan {
	for _, p := range l.plans[setup] {
		if p.step.Kind == kind {
			return p
		}
	}
	return nil
}

// bounds returns the bounds of an edge.
func (e *edge) bounds() (low, high float64) {
	low, high = e.cost, e.cost
	for _, a := range e.to {
		low += float64(a.p * a.node.low)
		high += float64(a.p * a.node.high)
	}
	return low, high
}

// update makes a node's bounds as tight as what follows it allows, drops the steps that
// cannot be best any more, and returns the edge of the step that could be cheapest.
func (g *graph) update(n *node) *edge {
	least := -1
	low := math.Inf(1)
	kept := n.edges[:0]
	for _, e := range n.edges {
		l, h := e.bounds()
		if h < n.high-1e-12 {
			n.high, n.best = h, e.step
		}
		if l > n.high+1e-12*(1+abs(n.high)) {
			continue
		}
		if l < low {
			low, least = l, len(kept)
		}
		kept = append(kept, e)
	}
	n.edges = kept
	if least < 0 { // nothing left beats what high stands for
		n.low = n.high
		return nil
	}
	n.low = min(max(n.low, low, g.floorAt(&n.point)), n.high)
	if !n.listed && n.low-n.base > 0.01*(1+abs(n.high)) {
		n.listed = true
		g.known[n.setup] = append(g.known[n.setup], n)
	}
	return &n.edges[least]
}

// solve closes the gap at a node to tolerance (relative to 1 and the value), or gives up
// after opening most nodes, and reports whether it closed.
func (g *graph) solve(n *node, skip set, tolerance float64, most int) bool {
	stop := g.grown + most
	for {
		gap := tolerance * (1 + abs(n.high))
		if n.high-n.low <= gap {
			return true
		}
		if g.grown >= stop {
			return false
		}
		if !g.descend(n, skip, gap, 0) {
			return n.high-n.low <= gap
		}
	}
}

// descend follows the most promising step and its most doubtful outcome to a node that is
// not opened, opens it, and brings the bounds up to date on the way back.
func (g *graph) descend(n *node, skip set, gap float64, depth int) (moved bool) {
	if !n.opened {
		g.open(n, skip)
		g.update(n)
		return true
	}
	low, high := n.low, n.high
	e := g.update(n)
	if e != nil && len(e.to) > 0 && depth < 200 {
		var next *node
		widest := 0.0
		for _, a := range e.to {
			if w := float64(a.p * (a.node.high - a.node.low)); w > widest {
				widest, next = w, a.node
			}
		}
		if next != nil && next != n {
			moved = g.descend(next, skip, gap, depth+1)
			g.update(n)
		}
	}
	return moved || n.low != low || n.high != high
}
