package plan

import (
	"math"
	"slices"
	"sync"
)

// A plan is a node of a policy graph: do a step, then follow another plan, chosen by the
// outcome where the step is a test. Its cost is known for every hypothesis, so that its
// expected cost under any belief is one sum.
//
//	ending:  cost(S) = what it costs under S
//	test:    cost(S) = way and test + sum over o of P(o|S') cost of next[o](S')
//	repair:  cost(S) = way and repair + cost of next[0](S'')
//
// in expectation over what the way (S') and the repair (S”) do to S. A plan takes its tests
// to have given results already, as assume says. It serves wherever they have given no more
// of any outcome: a further result then tells at least as much, for one can always spoil it
// into the draw of the fuller urn, so that the cost is an upper bound there, and exact where
// the counts are the same.
type plan struct {
	step  Step
	setup int
	next  []*plan   // what follows, by outcome of a test
	cost  []float64 // by hypothesis of the net, Currency
	fresh set       // tests it may run before a change touches them
	all   set       // tests it may run at all
	kept  bool      // whether or not it is best anywhere
	// assume[t] is how often each outcome of test t, of fresh, has been seen; nil for never.
	// assume itself is nil where that holds for all.
	assume [][]float64
}

// A library is a set of plans for each setup, whose least cost under a belief is an upper
// bound of the best expected cost, and a good one: it knows that tests will be run later.
//
// It is grown by point-based value iteration: at beliefs that sensible policies reach,
// the best step on top of the plans there are becomes a new plan.
// Source: Pineau, Gordon & Thrun (2003), Point-based value iteration, IJCAI.
type library struct {
	*walker
	plans    [][]*plan // by setup
	positive bool      // no plan costs less than nothing, whatever is wrong
}

func newLibrary(p *Problem) *library {
	n := p.newNet()
	l := &library{walker: newWalker(p, n), positive: p.Loss >= 0 && p.Comeback >= 0 && p.Terms.MinuteValue >= 0}
	l.plans = make([][]*plan, len(p.model.Setups))
	for s := range l.plans {
		off := make([]float64, n.n)
		for h := range off {
			off[h] = p.Loss
		}
		l.add(&plan{step: Step{Kind: SignOff}, setup: s, cost: p.signOff(n, s), kept: true})
		l.add(&plan{step: Step{Kind: WriteOff}, setup: s, cost: off, kept: true})
	}
	for s := range l.plans {
		l.prove(s)
	}
	return l
}

// proofs is how many good intake tests in a row the plainest plans ask for, at the most.
const proofs = 3

// prove adds the plainest plans of a setup: run the intake test one to three times, sign off
// if every outcome was the best one, else write off. With them a repair that has hardly
// been thought of is still worth what it is worth.
func (l *library) prove(setup int) {
	m := l.model
	t := m.Intake
	k := len(m.Tests[t].Outcomes)
	for most := 1; most <= proofs; most++ {
		good := l.ending(m.Root, SignOff)
		for left := 1; left <= most; left++ {
			q := point{setup: m.Root}
			if left == most {
				q.setup = setup // the first one, from where one is
			} else {
				for range most - left {
					q.record = q.record.plus(t, 0, k, len(m.Tests))
				}
			}
			p := &plan{step: Step{DoTest, t}, setup: q.setup, kept: true}
			for o := range k {
				if o == 0 {
					p.next = append(p.next, good)
				} else {
					p.next = append(p.next, l.ending(m.Root, WriteOff))
				}
			}
			l.price(p, &q)
			good = p
		}
		l.add(good)
	}
}

func (l *library) add(p *plan) {
	l.plans[p.setup] = append(l.plans[p.setup], p)
}

// usable reports whether a plan serves, however often the tests in run have given results,
// where those in skip cannot be done.
func (p *plan) usable(run, skip set) bool {
	return !p.fresh.meets(run) && !p.all.meets(skip)
}

// serves reports whether a plan serves at a record where the tests in skip cannot be done.
func (p *plan) serves(r record, skip set) bool {
	if p.all.meets(skip) {
		return false
	}
	if !p.fresh.meets(r.run) {
		return true
	}
	if p.assume == nil {
		return false
	}
	for t := range p.assume {
		if p.fresh.has(t) && r.run.has(t) && !p.allows(t, r.counts[t], -1) {
			return false
		}
	}
	return true
}

// allows reports whether a plan allows for counts of a test's results and, unless o is -1,
// one more of outcome o.
func (p *plan) allows(t int, counts []float64, o int) bool {
	if !p.fresh.has(t) {
		return true
	}
	if p.assume == nil || p.assume[t] == nil {
		return false
	}
	for i, most := range p.assume[t] {
		n := 0.0
		if counts != nil {
			n = counts[i]
		}
		if i == o {
			n++
		}
		if n > most {
			return false
		}
	}
	return true
}

// stretch is after how many hypotheses a sum is looked at that may be too much already: a
// plan that costs more than another need not be added up to its end, as long as no cost is
// below zero. It is a multiple of 4.
const stretch = 16

// dot is the sum of weights times the costs of the hypotheses.
func dot(cost []float64, hyps []int32, w []float64) float64 {
	return dotTo(cost, hyps, w, math.Inf(1))
}

// dotTo is dot, or a part of the sum that is above most.
func dotTo(cost []float64, hyps []int32, w []float64, most float64) float64 {
	var a, b float64
	w = w[:len(hyps)]
	for i := 0; i < len(hyps) && a+b <= most; {
		end := min(i+stretch, len(hyps))
		for ; i+1 < end; i += 2 {
			a += float64(w[i] * cost[hyps[i]])
			b += float64(w[i+1] * cost[hyps[i+1]])
		}
		if i < end {
			a += float64(w[i] * cost[hyps[i]])
			i++
		}
	}
	return a + b
}

// best returns the plan with the least cost for weights w on hypotheses, and that cost. Of
// equal ones it is the oldest. The newest are looked at first, as they are the best mostly.
func (l *library) best(setup int, hyps []int32, w []float64, r record, skip set) (*plan, float64) {
	var best *plan
	least, most := math.Inf(1), math.Inf(1)
	for _, p := range slices.Backward(l.plans[setup]) {
		if !p.serves(r, skip) {
			continue
		}
		if c := dotTo(p.cost, hyps, w, most); c <= least {
			best, least = p, c
			if l.positive {
				most = c
			}
		}
	}
	return best, least
}

// A shelf is the plans of one setup, packed for the hypotheses of one point.
type shelf struct {
	plans []*plan
	cost  []float64 // cost[j*n+i]: plan j's for hypothesis i of the point
	n     int

	positive bool // as the library
}

// shelves keeps shelves for the next backup, as each is as large as the library.
var shelves = sync.Pool{New: func() any { return new(shelf) }}

// pack gathers the plans that are usable at a point.
func (l *library) pack(s *shelf, q *point, skip set) {
	n := len(q.hyps)
	s.plans, s.n, s.positive = s.plans[:0], n, l.positive
	for _, p := range l.plans[q.setup] {
		if p.serves(q.record, skip) {
			s.plans = append(s.plans, p)
		}
	}
	s.cost = slices.Grow(s.cost[:0], len(s.plans)*n)[:len(s.plans)*n]
	for j, p := range s.plans {
		row := s.cost[j*n : j*n+n]
		for i, h := range q.hyps[:len(row)] {
			row[i] = p.cost[h]
		}
	}
}

// best returns the plan that costs least for weights w on the shelf's hypotheses after
// outcome o of test t, which had the counts before, and that cost.
func (s *shelf) best(w []float64, t, o int, counts []float64) (*plan, float64) {
	var best *plan
	least := math.Inf(1)
	n := s.n
next:
	for j, p := range slices.Backward(s.plans) {
		if !p.allows(t, counts, o) {
			continue
		}
		row := s.cost[j*n : j*n+n]
		row = row[:len(w)]
		var a, b, c, d float64
		for i := 0; i < len(w); {
			end := min(i+stretch, len(w))
			for ; i+3 < end; i += 4 {
				a += float64(w[i] * row[i])
				b += float64(w[i+1] * row[i+1])
				c += float64(w[i+2] * row[i+2])
				d += float64(w[i+3] * row[i+3])
			}
			for ; i < end; i++ {
				a += float64(w[i] * row[i])
			}
			if s.positive && (a+b)+(c+d) > least {
				continue next
			}
		}
		if v := (a + b) + (c + d); v <= least {
			best, least = p, v
		}
	}
	return best, least
}

// backup calls each with every step at a point, as a plan on top of the library without its
// costs, and its expected cost. The plan and its next are only lent. With again, tests that
// have results are looked at too; their plans are good for this point alone.
func (l *library) backup(q point, skip set, again bool, limit int, each func(p *plan, v float64)) {
	made := plan{setup: q.setup}
	consider := func(s Step, v float64) {
		made.step = s
		each(&made, v)
	}
	for _, kind := range []StepKind{SignOff, WriteOff} {
		consider(Step{Kind: kind}, dot(l.ending(q.setup, kind).cost, q.hyps, q.p))
	}
	packed := shelves.Get().(*shelf)
	defer shelves.Put(packed)
	var joint [][]float64
	var odds []float64
	for at := range l.model.Setups {
		there := q
		w := &l.ways[q.setup][at]
		if at != q.setup {
			there = l.change(q, at, w.touched, limit, w.changes...)
		}
		loaded := false
		for _, t := range l.tests {
			if l.model.Tests[t].At != at || skip.has(t) || there.run.has(t) && !again {
				continue
			}
			if !loaded {
				loaded = true
				l.pack(packed, &there, skip)
			}
			joint, odds = l.joint(joint, odds, there, t)
			v := w.cost + l.testAt[t]
			made.next = made.next[:0]
			for o := range odds {
				p, c := packed.best(joint[o], t, o, there.of(t))
				made.next = append(made.next, p)
				v += c
			}
			consider(Step{DoTest, t}, v)
		}
		for _, r := range l.repairs {
			if l.model.Repairs[r].At != at {
				continue
			}
			hyps, odds := l.scatter(there, l.model.Repairs[r].Change)
			left := 0.0
			for _, p := range odds {
				left += p
			}
			p, c := l.best(at, hyps, odds, there.minus(l.touched[r]), skip)
			made.next = append(made.next[:0], p)
			consider(Step{DoRepair, r}, w.cost+l.fixAt[r]+c/left)
		}
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

// price works out what a plan made by backup costs under every hypothesis. Where the plan
// repeats a test that has results at a point, the point is given; the costs are then good for
// that point alone.
func (l *library) price(p *plan, at *point) {
	where := l.At(p.step, p.setup)
	way := &l.ways[p.setup][where]
	cost := make([]float64, l.net.n)
	var own float64
	switch p.step.Kind {
	case DoTest:
		t := p.step.Index
		k := len(l.model.Tests[t].Outcomes)
		of, law := l.space.ClassesAmong(t, l.net.n)
		var seen []float64
		if at != nil && !way.touched.has(t) {
			seen = at.of(t)
		}
		if seen != nil {
			law = urnLaw(law, l.model.Tests[t].Steadiness, seen)
		}
		for o, next := range p.next {
			for h := range cost {
				cost[h] += float64(law[int(of[h])*k+o] * next.cost[h])
			}
			p.fresh, p.all = p.fresh.or(next.fresh), p.all.or(next.all)
		}
		p.fresh, p.all = p.fresh.with(t), p.all.with(t)
		p.assume = l.assumed(p.next, t, seen)
		own = l.testAt[t]
	case DoRepair:
		copy(cost, p.next[0].cost)
		l.net.back(cost, nil, l.model.Repairs[p.step.Index].Change)
		p.fresh, p.all = p.next[0].fresh.minus(l.touched[p.step.Index]), p.next[0].all
		p.assume = p.next[0].assume
		own = l.fixAt[p.step.Index]
	}
	for i := len(way.changes) - 1; i >= 0; i-- {
		l.net.back(cost, nil, way.changes[i])
	}
	own += way.cost
	p.fresh = p.fresh.minus(way.touched)
	for h := range cost {
		cost[h] += own
	}
	p.cost = cost
}

// assumed returns what a plan that begins with test t, which has given results as seen, can
// allow for: no more than any of the plans that follow.
func (l *library) assumed(next []*plan, t int, seen []float64) [][]float64 {
	var all [][]float64
	set := func(t int, c []float64) {
		if all == nil {
			all = make([][]float64, len(l.model.Tests))
		}
		all[t] = c
	}
	for u := range l.model.Tests {
		if u == t {
			if seen != nil {
				set(u, seen)
			}
			continue
		}
		var least []float64
		first := true
		for _, p := range next {
			if !p.fresh.has(u) {
				continue
			}
			var c []float64
			if p.assume != nil {
				c = p.assume[u]
			}
			switch {
			case c == nil || !first && least == nil:
				least = nil
			case first:
				least = c
			default:
				both := make([]float64, len(c))
				for i := range c {
					both[i] = min(c[i], least[i])
				}
				least = both
			}
			first = false
		}
		if least != nil {
			set(u, least)
		}
	}
	return all
}

// urnLaw returns the odds of a test's next result, class by class, after counts of results.
func urnLaw(law []float64, kappa float64, counts []float64) []float64 {
	n := 0.0
	for _, c := range counts {
		n += c
	}
	next := make([]float64, len(law))
	for i, p := range law {
		next[i] = (float64(kappa*p) + counts[i%len(counts)]) / (kappa + n)
	}
	return next
}
