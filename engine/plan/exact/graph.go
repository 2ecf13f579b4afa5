package exact

import (
	"encoding/binary"
	"math"
	"slices"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/plan"
)

// A graph is the decision problem unrolled over the beliefs that can be reached, with a
// lower and an upper bound of the best expected cost at each: below, what the hull knows;
// above, the cheapest plan. Bellman backups where the bounds are far apart and likely to
// matter bring them together. Equal beliefs with the same past are one node.
//
// A change that would bring in more faults than the model holds is taken to bring in none,
// so that the problem is one of finite states whose best expected cost is concave.
//
// A loose graph is of an easier problem, whose best expected cost is a lower bound: a repeat
// of a test says whether it is a copy of an earlier result or a fresh draw, which it is with
// the odds kappa/(kappa+n). Then it does not matter what was seen before, only how often the
// test was run, so that what is known at one belief bears on many. What a result opened stays
// open there until the test starts afresh, for a copy could show it again.
// Source: Smith & Simmons (2004), Heuristic search value iteration for POMDPs, UAI, for the
// two bounds; Hansen & Zilberstein (2001), LAO*, Artificial Intelligence 129, for following
// the best partial solution; Hoppe's urn for the copies.
type graph struct {
	*plan.Problem
	space   *belief.Space
	model   *model.Model
	start   [][]plan.Vector // by setup: the planner's plans
	gate    *gate
	hull    *hull
	loose   bool
	n       int                  // hypotheses
	hyps    []int                // of the space, rising
	place   []int                // of each hypothesis of the space among hyps; -1 for none
	acts    [][]act              // by setup
	laws    [][][]float64        // by test, outcome, hypothesis
	from    []int                // by test: where its counts start
	kinds   int                  // counts in all
	plans   [][]*alpha           // by setup: found here
	moves   map[string][][]shift // of repairs that remember, by setup, repair and failures
	nodes   map[string]*node
	known   map[string]*node     // of a view: the nodes of the graph it looks at
	settled bool                 // the last solve stopped because nothing moved
	passed  map[string][][]shift // of a view: moves of that graph
	key     []byte               // scratch
	tol     float64              // Currency: differences that matter

	work         int // backups so far
	opened       int // nodes that were opened so far
	round        int // traces so far
	path, leaves []*node
}

// toldApart is how many runs of a test a loose graph tells apart: more of them count as so
// many, after which a fresh draw costs as many runs as it takes on average.
const toldApart = 2

// An act is a step from a setup with all that it does, worked out.
type act struct {
	step    plan.Step
	at      int            // setup after it
	way     float64        // cost of the way
	own     float64        // cost of the step itself
	changes []model.Change // of the way
	recalls bool           // a repair that remembers its failures
	still   bool           // it changes nothing
	trans   [][]shift      // by hypothesis; nil for one that is still or recalls
	touched []int          // tests that start afresh
}

type shift struct {
	to int32
	p  float64
}

// A node is one belief, setup and record of what the tests have shown.
type node struct {
	p     []float64
	mask  uint64
	setup int
	past
	low    float64
	high   float64
	best   plan.Step
	opened bool
	edges  []edge
	stamp  int       // length of the hull's log when low was last looked up; -1: never
	tooth  *tooth    // of the hull; nil if it is no point of it
	near   []*tooth  // that bear on it most
	cost   []float64 // by hypothesis: of the plan behind high
	listed float64   // high when the plan was listed
	seen   int       // plans that were tried
	round  int       // of the trace that came here last
	reach  float64
}

// An alpha is a plan that was found at a node: its cost by hypothesis, an alpha vector. It holds
// wherever no test was run more often than there, since one can always make less of a result.
type alpha struct {
	past
	cost []float64
	step plan.Step
}

// An edge is a step from a node.
type edge struct {
	act  *act
	low  float64 // while it has no arcs: a bound by what is known at certainty
	cost float64
	to   []arc
}

// An arc is what may come of a step.
type arc struct {
	p       float64
	node    *node
	outcome int
	stay    bool // the result was a copy and tells nothing
}

func newGraph(p *plan.Problem, hyps []int, start [][]plan.Vector, gate *gate, h *hull, loose bool) *graph {
	g := &graph{
		Problem: p, space: p.Space(), model: p.Space().Model(), start: start, gate: gate, hull: h, loose: loose,
		n: len(hyps), hyps: hyps, nodes: map[string]*node{}, plans: make([][]*alpha, len(start)), moves: map[string][][]shift{},
	}
	for range g.space.Len() {
		g.place = append(g.place, -1)
	}
	for i, h := range hyps {
		g.place[h] = i
	}
	some := g.space.FirstOf(g.space.Size(hyps[len(hyps)-1]) + 1) // all of up to so many faults
	for t := range g.model.Tests {
		k := len(g.model.Tests[t].Outcomes)
		of, law := g.space.ClassesAmong(t, some)
		rows := make([][]float64, k)
		for o := range rows {
			rows[o] = make([]float64, g.n)
			for i := range rows[o] {
				rows[o][i] = law[int(of[hyps[i]])*k+o]
			}
		}
		g.laws = append(g.laws, rows)
		g.from = append(g.from, g.kinds)
		g.kinds += k
	}
	for s := range g.model.Setups {
		var all []act
		for _, t := range p.Tests() {
			all = append(all, g.act(s, plan.Step{Kind: plan.DoTest, Index: t}))
		}
		for _, r := range p.Repairs() {
			all = append(all, g.act(s, plan.Step{Kind: plan.DoRepair, Index: r}))
		}
		g.acts = append(g.acts, all)
	}
	return g
}

func (g *graph) act(setup int, s plan.Step) act {
	a := act{step: s, at: g.At(s, setup), changes: g.WayChanges(s, setup)}
	touch := func(c model.Change) {
		for t := range g.model.Tests {
			if g.space.Touches(c, t) && !slices.Contains(a.touched, t) {
				a.touched = append(a.touched, t)
			}
		}
	}
	for _, c := range a.changes {
		touch(c)
	}
	changes := slices.Clone(a.changes)
	if s.Kind == plan.DoTest {
		t := &g.model.Tests[s.Index]
		a.own = g.Cost(t.Minutes, t.Money)
	} else {
		r := &g.model.Repairs[s.Index]
		a.own = g.Cost(r.Minutes, r.Money)
		changes = append(changes, r.Change)
		touch(r.Change)
		a.recalls = r.Steadiness > 0 && len(r.Change.Fixes) > 0
	}
	a.way = g.StepCost(s, setup) - a.own
	if a.still = len(changes) == 0; !a.still && !a.recalls {
		a.trans = g.shifts(changes)
	}
	return a
}

// shifts returns where changes take each hypothesis.
func (g *graph) shifts(changes []model.Change) (trans [][]shift) {
	for h := range g.n {
		v := make([]float64, g.n)
		v[h] = 1
		for _, c := range changes {
			g.forth(v, c)
		}
		var row []shift
		for to, x := range v {
			if x > 0 {
				row = append(row, shift{int32(to), x})
			}
		}
		trans = append(trans, row)
	}
	return trans
}

// to returns where an act takes each hypothesis after a past; nil if it changes nothing.
func (g *graph) to(a *act, k *past) [][]shift {
	if !a.recalls {
		return a.trans
	}
	tries := g.onTheWay(a, k.tries)[a.step.Index]
	key := binary.AppendUvarint(nil, uint64(a.step.Index))
	for _, c := range a.changes { // which way it is
		for t := range c.Transitions() {
			key = binary.LittleEndian.AppendUint64(binary.AppendUvarint(key, uint64(t.Mode)), math.Float64bits(t.P))
		}
		key = append(key, 0xff)
	}
	for _, n := range tries {
		key = binary.AppendUvarint(key, uint64(n))
	}
	for _, known := range []map[string][][]shift{g.moves, g.passed} {
		if trans := known[string(key)]; trans != nil {
			return trans
		}
	}
	trans := g.shifts(append(slices.Clone(a.changes), g.model.Repairs[a.step.Index].After(tries)))
	g.moves[string(key)] = trans
	return trans
}

// onTheWay returns what the way of an act leaves of the failures that repairs remember.
func (g *graph) onTheWay(a *act, tries [][]int) [][]int {
	for _, c := range a.changes {
		tries = g.model.Disturbed(tries, c)
	}
	return tries
}

// forth maps odds through a change. What would be cut, or leave the hypotheses of the graph, stays as it is.
func (g *graph) forth(v []float64, c model.Change) {
	for t := range c.Transitions() {
		for _, pair := range g.space.Pairs(t.Mode) {
			from, to := pair.Along(t)
			if i, j := g.place[from], g.place[to]; i >= 0 && j >= 0 {
				moved := float64(v[i] * t.P)
				v[i] -= moved
				v[j] += moved
			}
		}
	}
}

// apply maps odds, to a slice of its own.
func apply(trans [][]shift, p []float64) []float64 {
	if trans == nil {
		return slices.Clone(p)
	}
	out := make([]float64, len(p))
	for h, x := range p {
		if x > 0 {
			for _, s := range trans[h] {
				out[s.to] += float64(x * s.p)
			}
		}
	}
	return out
}

// at returns the node of a belief, making it if it is new. It keeps p.
func (g *graph) at(setup int, after past, p []float64) *node {
	sum := 0.0
	for _, x := range p {
		sum += x
	}
	key := append(g.key[:0], byte(setup))
	for _, r := range after.runs {
		key = binary.LittleEndian.AppendUint64(key, r)
	}
	key = append(key, after.counts...)
	key = append(key, after.tried...)
	for _, m := range after.opens {
		key = binary.LittleEndian.AppendUint64(key, m)
	}
	var mask uint64
	for i := range p {
		if p[i] /= sum; p[i] < 1e-9 {
			p[i] = 0
			continue
		}
		mask |= 1 << i
	}
	key = binary.LittleEndian.AppendUint64(key, mask)
	for _, x := range p {
		if x > 0 {
			key = binary.LittleEndian.AppendUint32(key, uint32(math.Round(x*(1<<31))))
		}
	}
	g.key = key
	if n := g.nodes[string(key)]; n != nil {
		return n
	}
	if n := g.known[string(key)]; n != nil {
		return n
	}
	n := &node{p: p, mask: mask, setup: setup, past: after}
	for i, x := range g.hull.base[setup] {
		n.low += float64(x * p[i])
	}
	n.stamp = -1
	n.high = math.Inf(1)
	counts, seen := g.results(&after), g.gate.seen(after.opens)
	for i := range g.start[setup] {
		q := &g.start[setup][i]
		v := 0.0
		for i, x := range p {
			v += float64(x * q.Cost[i])
		}
		if v < n.high && q.Holds(counts, after.tries, seen) {
			n.high, n.best, n.cost = v, q.Step, q.Cost
		}
	}
	n.listed = n.high
	g.lookup(n)
	n.low = min(n.low, n.high)
	g.nodes[string(key)] = n
	return n
}

// results returns the results of each test, nil for none; in a loose graph, which does not know
// them, more of each than any plan allows for.
func (g *graph) results(k *past) [][]float64 {
	all := make([][]float64, len(g.laws))
	for t, law := range g.laws {
		if k.runs.of(t) == 0 {
			continue
		}
		all[t] = make([]float64, len(law))
		for o := range all[t] {
			if g.loose {
				all[t][o] = math.MaxFloat64
			} else {
				all[t][o] = float64(k.counts[g.from[t]+o])
			}
		}
	}
	return all
}

// lookup tries the plans that were found since the node was last looked at.
func (g *graph) lookup(n *node) {
	all := g.plans[n.setup]
	for _, a := range all[n.seen:] {
		if !a.serves(&n.past) {
			continue
		}
		v := 0.0
		for i, x := range n.p {
			v += float64(x * a.cost[i])
		}
		if v < n.high-1e-12 {
			n.high, n.best, n.cost, n.listed = v, a.step, a.cost, v
		}
	}
	n.seen = len(all)
}

// follow gives a node the plan to take an edge and go on as is best there.
func (g *graph) follow(n *node, e *edge) {
	a := e.act
	v := make([]float64, g.n)
	if a.step.Kind == plan.DoRepair {
		copy(v, e.to[0].node.cost)
	} else {
		fresh := 1.0
		if len(e.to) > 1 && g.loose && e.to[len(e.to)-1].stay {
			fresh = 1 - e.to[len(e.to)-1].p
		}
		t := a.step.Index
		kappa, k := g.kappa(t), 0.0
		var c []uint8
		if !g.loose && !slices.Contains(a.touched, t) {
			c = n.counts[g.from[t] : g.from[t]+len(g.laws[t])]
			for _, x := range c {
				k += float64(x)
			}
		}
		for _, arc := range e.to {
			cost := arc.node.cost
			if arc.stay {
				for h := range v {
					v[h] += float64(arc.p * cost[h])
				}
				continue
			}
			for h, x := range g.laws[t][arc.outcome] {
				if k > 0 {
					x = (float64(kappa*x) + float64(c[arc.outcome])) / (kappa + k)
				}
				v[h] += float64(float64(fresh*x) * cost[h])
			}
		}
	}
	if trans := g.to(a, &n.past); trans != nil {
		w := make([]float64, g.n)
		for h, row := range trans {
			for _, s := range row {
				w[h] += float64(s.p * v[s.to])
			}
		}
		v = w
	}
	high := 0.0
	for h := range v {
		v[h] += e.cost
		high += float64(v[h] * n.p[h])
	}
	if high >= n.high {
		return
	}
	n.high, n.best, n.cost = high, a.step, v
	if n.high < n.listed-g.tol/20 {
		n.listed = n.high
		g.plans[n.setup] = append(g.plans[n.setup], &alpha{n.past, v, a.step})
	}
}

func (g *graph) open(n *node) {
	n.opened = true
	g.opened++
	for i := range g.acts[n.setup] {
		a := &g.acts[n.setup][i]
		e := edge{act: a, cost: a.way + a.own}
		if a.step.Kind == plan.DoRepair && !g.gate.offers(a.step.Index, n.opens) {
			continue
		}
		trans := g.to(a, &n.past)
		if a.step.Kind == plan.DoTest {
			if a.still && !g.tells(a.step.Index, n) {
				continue
			}
			if g.loose {
				r := n.runs.without(a.touched)
				if k := r.of(a.step.Index); k >= toldApart {
					kappa := g.kappa(a.step.Index)
					e.cost = a.way + float64(a.own*(kappa+float64(k)))/kappa
				}
			}
		}
		e.low = e.cost
		base := g.hull.base[a.at]
		if trans == nil {
			for h, x := range n.p {
				e.low += float64(x * base[h])
			}
		} else {
			for h, x := range n.p {
				if x > 0 {
					for _, s := range trans[h] {
						e.low += float64(float64(x*s.p) * base[s.to])
					}
				}
			}
		}
		if e.low < n.high {
			n.edges = append(n.edges, e)
		}
	}
}

// tells reports whether a test can change the belief at a node, or put a repair on offer. One that
// cannot is never worth it, and would be a circle of no cost if it is free.
func (g *graph) tells(t int, n *node) bool {
	if g.gate.opensMore(n.opens, t) {
		return true
	}
	for _, row := range g.laws[t] {
		low, high := 1.0, 0.0
		for h, x := range n.p {
			if x > 0 {
				low, high = min(low, row[h]), max(high, row[h])
			}
		}
		if high-low > 1e-10 {
			return true
		}
	}
	return false
}

func (g *graph) kappa(t int) float64 { return g.model.Tests[t].Steadiness }

// expand works out what an edge leads to.
func (g *graph) expand(n *node, e *edge) {
	a := e.act
	there := apply(g.to(a, &n.past), n.p)
	after := n.past
	after.runs = n.runs.without(a.touched)
	if len(a.touched) > 0 && n.counts != nil {
		after.counts = slices.Clone(n.counts)
		for _, t := range a.touched {
			clear(after.counts[g.from[t] : g.from[t]+len(g.laws[t])])
		}
	}
	tries := g.onTheWay(a, n.tries)
	if a.step.Kind == plan.DoRepair {
		tries = g.model.Tried(tries, a.step.Index)
	}
	if tries != nil {
		after.remember(tries)
	}
	if a.step.Kind == plan.DoRepair {
		e.to = []arc{{p: 1, node: g.at(a.at, after, there)}}
	} else {
		g.branch(e, after, there)
	}
	for _, a := range e.to {
		if g.known == nil && a.node.stamp < 0 && a.node.near == nil && a.node.setup == n.setup {
			a.node.near = slices.Clone(n.near)
		}
	}
}

// branch works out what the outcomes of an edge's test lead to, from the belief and the past in which
// it is run.
func (g *graph) branch(e *edge, before past, there []float64) {
	t := e.act.step.Index
	fresh, kappa, k := 1.0, g.kappa(t), float64(before.runs.of(t))
	var c []uint8
	if g.loose {
		if before.runs.of(t) < toldApart {
			fresh = kappa / (kappa + k)
		}
	} else {
		c = before.counts[g.from[t] : g.from[t]+len(g.laws[t])]
		k = 0
		for _, x := range c {
			k += float64(x)
		}
	}
	after := before
	after.runs = before.runs.with(t, toldApart)
	for o, row := range g.laws[t] {
		q := make([]float64, g.n)
		sum := 0.0
		for h, x := range there {
			if x == 0 {
				continue
			}
			if g.loose {
				q[h] = float64(x * row[h])
			} else {
				q[h] = x * ((float64(kappa*row[h]) + float64(c[o])) / (kappa + k))
			}
			sum += q[h]
		}
		if sum == 0 {
			continue
		}
		seen := after
		if !g.loose {
			seen.counts = counted(before.counts, g.from[t]+o)
		}
		seen.opens = g.gate.after(before.opens, t, o, g.loose && before.runs.of(t) > 0)
		e.to = append(e.to, arc{fresh * sum, g.at(e.act.at, seen, q), o, false})
	}
	if fresh < 1 {
		e.to = append(e.to, arc{1 - fresh, g.at(e.act.at, after, slices.Clone(there)), 0, true})
	}
}

// counted returns counts with one more of kind i. More than 255 results of a kind count as so many.
func counted(counts []uint8, i int) []uint8 {
	if counts[i] == math.MaxUint8 {
		return counts
	}
	counts = slices.Clone(counts)
	counts[i]++
	return counts
}

// refresh looks a node's lower bound up anew if the hull has grown enough since.
func (g *graph) refresh(n *node) (rose bool) {
	if n.stamp >= 0 && len(g.hull.log[n.setup])-n.stamp <= n.stamp/50 {
		return false
	}
	if n.high-n.low < g.tol/20 {
		return false
	}
	if !n.opened {
		g.lookup(n)
	}
	v := min(g.hull.lower(n, g.tol/50), n.high)
	if v > n.low {
		rose = v > n.low+g.tol/100
		n.low = v
	}
	return rose
}

// bounds returns the bounds of an edge with arcs.
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
	g.work++
	for {
		least := -1
		low := math.Inf(1)
		kept := n.edges[:0]
		for _, e := range n.edges {
			l := e.low
			if e.to != nil {
				var h float64
				l, h = e.bounds()
				if h < n.high-1e-9 {
					g.follow(n, &e)
				}
			}
			if l >= n.high {
				continue
			}
			if l < low {
				low, least = l, len(kept)
			}
			kept = append(kept, e)
		}
		clear(n.edges[len(kept):])
		n.edges = kept
		if least < 0 {
			n.low = n.high
			g.note(n)
			return nil
		}
		e := &n.edges[least]
		again := false
		if e.to == nil {
			g.expand(n, e)
			again = true
		}
		for _, a := range e.to {
			if a.p*(a.node.high-a.node.low) > g.tol/100 && g.refresh(a.node) {
				again = true
			}
		}
		if again {
			continue
		}
		g.refresh(n)
		if low > n.low {
			n.low = min(low, n.high)
			g.note(n)
		}
		return e
	}
}

// note puts what is known at a node into the hull, if it lifts it.
func (g *graph) note(n *node) {
	if n.tooth != nil {
		if n.low > n.tooth.low+g.tol/20 {
			g.hull.raise(n)
		}
		return
	}
	if n.low > g.hull.lower(n, g.tol/50)+g.tol/3 {
		g.hull.add(n)
	}
}

// solve closes the gap at a node to tol, or gives up after most backups, and reports
// whether it closed. Each round follows the steps that could be cheapest to the nodes that
// are not opened, opens those that weigh most in the gap, and brings the bounds up to
// date from the last to the first.
func (g *graph) solve(root *node, tol float64, most int) bool {
	stop := g.work + most
	idle := 0
	for root.high-root.low > tol {
		if g.settled = idle > 5; g.settled || g.work >= stop {
			return false
		}
		gap := root.high - root.low
		opened := g.opened
		g.trace(root, tol)
		heaviest := 0.0
		for _, n := range g.leaves {
			heaviest = max(heaviest, n.reach*(n.high-n.low))
		}
		for _, n := range g.leaves {
			if n.reach*(n.high-n.low) >= 0.1*heaviest {
				g.lookup(n)
				g.open(n)
				g.update(n)
			}
		}
		for sweep := range 20 {
			moved := 0.0
			for i := len(g.path) - 1; i >= 0; i-- {
				n := g.path[i]
				before := n.high - n.low
				g.update(n)
				moved += float64(n.reach * (before - (n.high - n.low)))
			}
			if moved < tol/20 || sweep > 0 && moved < 0.05*gap {
				break
			}
		}
		if g.opened == opened && gap-(root.high-root.low) < tol/1000 {
			idle++
		} else {
			idle = 0
		}
	}
	return true
}

// trace lists the opened nodes that the steps that could be cheapest lead to from a node,
// and the leaves behind them, each with the odds of coming there.
func (g *graph) trace(root *node, tol float64) {
	g.round++
	g.path, g.leaves = g.path[:0], g.leaves[:0]
	visit := func(n *node, reach float64) {
		if n.round == g.round {
			n.reach += reach
			return
		}
		if reach*(n.high-n.low) < tol/500 {
			return
		}
		n.round, n.reach = g.round, reach
		if n.opened {
			g.path = append(g.path, n)
		} else {
			g.leaves = append(g.leaves, n)
		}
	}
	visit(root, 1)
	for i := 0; i < len(g.path); i++ {
		n := g.path[i]
		if e := g.update(n); e != nil {
			for _, a := range e.to {
				visit(a.node, n.reach*a.p)
			}
		}
	}
}
