package plan

// A plan is a node of a policy graph: do a step, then follow another plan, chosen by the
// outcome where the step is a test. Its cost is known for every hypothesis, so that its
// expected cost under any belief is one sum.
//
//	ending:  cost(S) = what it costs under S
//	test:    cost(S) = way and test + sum over o of P(o|S') cost of next[o](S')
//	repair:  cost(S) = way and repair + cost of next[0](S'')
//
// in expectation over what the way (S') and the repair (S”) do to S. Outcome odds are
// those of a test that has no results yet: no plan runs one test twice unless a change
// has touched it in between (fresh sees to it), so its cost is exact.
type plan struct {
	step  Step
	setup int
	next  []*plan   // until its cost is known
	then  []Step    // the steps of next
	cost  []float64 // by hypothesis of the net, Currency
	fresh set       // tests it may run before a change touches them
	all   set       // tests it may run at all
	seq   int       // order of making: equal costs go to the older plan
}

// A library is a set of plans for each setup, whose least cost under a belief is an upper
// bound of the best expected cost, and a good one: it knows that tests will be run later.
//
// It is grown by point-based value iteration: at beliefs that sensible policies reach,
// the best step on top of the plans there are becomes a new plan.
// Source: Pineau, Gordon & Thrun (2003), Point-based value iteration, IJCAI.
type library struct {
	*walker
	plans [][]*plan // by setup
	made  int
}

func newLibrary(p *Problem) *library {
	n := p.newNet()
	l := &library{walker: newWalker(p, n)}
	l.plans = make([][]*plan, len(p.model.Setups))
	for s := range l.plans {
		off := make([]float64, n.n)
		for h := range off {
			off[h] = p.Loss
		}
		l.add(&plan{step: Step{Kind: SignOff}, setup: s, cost: p.signOff(n, s)})
		l.add(&plan{step: Step{Kind: WriteOff}, setup: s, cost: off})
	}
	return l
}

func (l *library) add(p *plan) {
	p.seq = l.made
	l.made++
	l.plans[p.setup] = append(l.plans[p.setup], p)
}

// usable reports whether a plan's cost holds where the tests in run have results and
// those in skip cannot be done.
func (p *plan) usable(run, skip set) bool {
	return !p.fresh.meets(run) && !p.all.meets(skip)
}

// dot is the sum of weights times the costs of the hypotheses.
func dot(cost []float64, hyps []int32, w []float64) float64 {
	var a, b float64
	i := 0
	for ; i+1 < len(hyps); i += 2 {
		a += float64(w[i] * cost[hyps[i]])
		b += float64(w[i+1] * cost[hyps[i+1]])
	}
	if i < len(hyps) {
		a += float64(w[i] * cost[hyps[i]])
	}
	return a + b
}

// best returns the plan with the least cost for weights w on hypotheses, and that cost.
func (l *library) best(setup int, hyps []int32, w []float64, run, skip set) (*plan, float64) {
	var best *plan
	least := 0.0
	for _, p := range l.plans[setup] {
		if !p.usable(run, skip) {
			continue
		}
		if c := dot(p.cost, hyps, w); best == nil || c < least {
			best, least = p, c
		}
	}
	return best, least
}

// A shelf is the plans of one setup, packed for the hypotheses of one point.
type shelf struct {
	plans []*plan
	cost  []float64 // cost[j*n+i]: plan j's for hypothesis i of the point
	n     int
}

// pack gathers the plans that are usable at a point.
func (l *library) pack(s *shelf, q *point, skip set) {
	s.plans, s.cost, s.n = s.plans[:0], s.cost[:0], len(q.hyps)
	for _, p := range l.plans[q.setup] {
		if !p.usable(q.run, skip) {
			continue
		}
		s.plans = append(s.plans, p)
		for _, h := range q.hyps {
			s.cost = append(s.cost, p.cost[h])
		}
	}
}

// best returns the plan that costs least for weights w on the shelf's hypotheses, among
// those that do not run test t first (-1: any), and that cost.
func (s *shelf) best(w []float64, t int) (*plan, float64) {
	var best *plan
	least := 0.0
	n := s.n
	for j, p := range s.plans {
		if t >= 0 && p.fresh.has(t) {
			continue
		}
		row := s.cost[j*n : j*n+n]
		row = row[:len(w)]
		var a, b, c, d float64
		i := 0
		for ; i+3 < len(w); i += 4 {
			a += float64(w[i] * row[i])
			b += float64(w[i+1] * row[i+1])
			c += float64(w[i+2] * row[i+2])
			d += float64(w[i+3] * row[i+3])
		}
		for ; i < len(w); i++ {
			a += float64(w[i] * row[i])
		}
		if v := (a + b) + (c + d); best == nil || v < least {
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
	var packed shelf
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
				l.pack(&packed, &there, skip)
			}
			joint, odds = l.joint(joint, odds, there, t)
			v := w.cost + l.testAt[t]
			made.next = made.next[:0]
			for o := range odds {
				p, c := packed.best(joint[o], t)
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
			p, c := l.best(at, hyps, odds, there.run.minus(l.touched[r]), skip)
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
		of, law := l.space.Classes(t)
		if at != nil && at.run.has(t) && !way.touched.has(t) {
			law = urnLaw(law, l.model.Tests[t].Steadiness, at.counts[t])
		}
		for o, next := range p.next {
			for h := range cost {
				cost[h] += float64(law[int(of[h])*k+o] * next.cost[h])
			}
			p.fresh, p.all = p.fresh.or(next.fresh), p.all.or(next.all)
		}
		p.fresh, p.all = p.fresh.with(t), p.all.with(t)
		own = l.testAt[t]
	case DoRepair:
		copy(cost, p.next[0].cost)
		l.net.back(cost, nil, l.model.Repairs[p.step.Index].Change)
		p.fresh, p.all = p.next[0].fresh.minus(l.touched[p.step.Index]), p.next[0].all
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
	for _, next := range p.next {
		p.then = append(p.then, next.step)
	}
	p.next = nil // so that plans nobody needs go
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
