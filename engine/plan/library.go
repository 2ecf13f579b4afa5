package plan

import (
	"math"
	"math/bits"
	"slices"
	"sync"

	"pitwise/engine/model"
)

// A plan is a node of a policy graph: do a step, then follow another plan, chosen by the
// outcome where the step is a test. Its cost is known for every hypothesis, so that its
// expected cost under any belief is one sum: the cost is what the literature calls an alpha
// vector.
//
//	ending:  cost(S) = what it costs under S
//	test:    cost(S) = way and test + sum over o of P(o|S') cost of next[o](S')
//	repair:  cost(S) = way and repair + cost of next[0](S'')
//
// in expectation over what the way (S') and the repair (S”) do to S. A plan takes its tests
// to have given results already, as assume says. It serves wherever they have given no more
// of any outcome: a further result then tells at least as much, for one can always spoil it
// into the draw of the fuller urn, so that the cost is an upper bound there, and exact where
// the counts are the same. So it is with the failures that its repairs remember: it serves
// where there were no more than it takes there to have been. A repair that comes only after a
// result stands in a plan where that result is among what the plan needs.
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
	tries  []tried // failures it takes its repairs to have had, by rising repair
	needs  []need  // results it counts on, by rising test

	// Of its own step, after the way: what its test had shown, what its repair had failed, and the
	// result that puts its repair on offer. All else follows from these and from next.
	shown []float64
	had   []int
	opens []need
}

// tried says how many failures of each fix of a repair a plan allows for.
type tried struct {
	repair int
	most   []int
}

// A need is a test whose last outcome has to be one of a set, bit o for outcome o.
type need struct {
	test     int
	outcomes uint16
}

// A library is a set of plans for each setup, whose least cost under a belief is an upper
// bound of the best expected cost, and a good one: it knows that tests will be run later.
//
// It is grown by point-based value iteration: at beliefs that sensible policies reach,
// the best step on top of the plans there are becomes a new plan.
// Source: Pineau, Gordon & Thrun (2003), Point-based value iteration, IJCAI.
type library struct {
	*walker
	plans [][]*plan   // by setup
	least [][]float64 // by setup and hypothesis: no plan there costs less

	low, rest []float64 // scratch of pick
}

// newLibrary returns a library that has no plan yet.
func newLibrary(p *Problem) *library {
	n := p.newNet()
	l := &library{walker: newWalker(p, n)}
	l.clear(len(p.model.Setups), n.n)
	return l
}

// plainLibrary returns a library of the plainest plans, from which it is grown.
func plainLibrary(p *Problem) *library {
	l := newLibrary(p)
	n := l.net
	for s := range l.plans {
		off := make([]float64, n.n)
		for h := range off {
			off[h] = p.Loss
		}
		l.add(&plan{step: Step{Kind: SignOff}, setup: s, cost: p.signOff(n, s), kept: true})
		l.add(&plan{step: Step{Kind: WriteOff}, setup: s, cost: off, kept: true})
	}
	if slices.Contains(p.tests, p.model.Proof) {
		for s := range l.plans {
			l.prove(s)
		}
	}
	for _, r := range p.repairs {
		l.mend(r)
	}
	return l
}

// mend adds the plainest plans with a repair: do it, prove it, and sign off or write off; from its
// own setup, from the root, and from where the tests are run that put it on offer, once for each of
// them. With them a test that opens a rare repair is worth what it is worth, whether or not a likely
// course of events comes by. Those of one setup share their costs.
func (l *library) mend(repair int) {
	r := &l.model.Repairs[repair]
	var proof *plan
	for _, q := range l.plans[r.At] {
		if q.step == (Step{DoTest, l.model.Proof}) {
			proof = q // the one that asks for the most runs
		}
	}
	if proof == nil {
		proof = l.ending(r.At, SignOff)
	}
	from := []int{r.At}
	note := func(setup int) {
		if !slices.Contains(from, setup) {
			from = append(from, setup)
		}
	}
	note(l.model.Root)
	for _, s := range r.OnlyAfter.Any {
		note(l.model.Tests[s.Test].At)
	}
	for _, setup := range from {
		q := point{setup: setup, record: l.fresh()}
		var costs []float64
		for _, s := range l.openings(repair) {
			if s.Outcomes != nil {
				q.seen = slices.Clone(q.seen)
				for t := range q.seen {
					q.seen[t] = -1
				}
				q.seen[s.Test] = s.Outcomes[0]
			}
			p := &plan{step: Step{DoRepair, repair}, setup: setup, next: []*plan{proof}, kept: true}
			l.price(p, &q)
			if costs != nil {
				p.cost = costs
			}
			costs = p.cost
			l.add(p)
		}
	}
}

// openings returns what puts a repair on offer: the results it asks for, or one that asks for
// nothing.
func (l *library) openings(repair int) []model.Seen {
	if l.anyway[repair] {
		return []model.Seen{{}}
	}
	return l.model.Repairs[repair].OnlyAfter.Any
}

// proofs is how many good proofs in a row the plainest plans ask for, at the most.
const proofs = 3

// prove adds the plainest plans of a setup: run the proof one to three times, sign off
// if every outcome was the best one, else write off. With them a repair that has hardly
// been thought of is still worth what it is worth.
func (l *library) prove(setup int) {
	m := l.model
	t := m.Proof
	k := len(m.Tests[t].Outcomes)
	for most := 1; most <= proofs; most++ {
		good := l.ending(m.Root, SignOff)
		for left := 1; left <= most; left++ {
			q := point{setup: m.Root, record: l.fresh()}
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
	least := l.least[p.setup]
	for h, c := range p.cost[:len(least)] {
		if c < least[h] { // not min, which is a call as WebAssembly
			least[h] = c
		}
	}
}

// clear takes all plans out, and makes room for those of so many setups and hypotheses.
func (l *library) clear(setups, hypotheses int) {
	l.plans, l.least = make([][]*plan, setups), make([][]float64, setups)
	for s := range l.least {
		l.least[s] = slices.Repeat([]float64{math.Inf(1)}, hypotheses)
	}
}

// serves reports whether a plan serves at a record where the tests in skip cannot be done.
func (p *plan) serves(r *record, skip *set) bool {
	return p.nearly(r, skip) && (len(p.needs) == 0 || p.met(r.seen, -1, 0))
}

// nearly is serves but for what the plan needs to have been seen.
func (p *plan) nearly(r *record, skip *set) bool {
	if p.all.meets(skip) {
		return false
	}
	for _, t := range p.tries {
		for i, n := range r.tries[t.repair] {
			if n > t.most[i] {
				return false
			}
		}
	}
	if !p.fresh.meets(&r.run) {
		return true
	}
	if p.assume == nil {
		return false
	}
	for word, run := range r.run {
		for both := p.fresh[word] & run; both != 0; both &= both - 1 {
			if t := word<<6 + bits.TrailingZeros64(both); !p.allows(t, r.counts[t], -1) {
				return false
			}
		}
	}
	return true
}

// met reports whether what a plan needs was seen, if test t has shown outcome o since: whatever it showed,
// where o is -1; t is -1 for none.
func (p *plan) met(seen []int, t, o int) bool {
	for _, n := range p.needs {
		last := o
		switch {
		case n.test != t:
			last = seen[n.test]
		case o < 0:
			continue
		}
		if last < 0 || n.outcomes>>last&1 == 0 {
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

// stretch is after how many hypotheses a sum is looked at that may be too much already: a plan need not be
// added up to its end where what is left, at the least that any plan there costs, makes it dearer than another.
// It is a multiple of 4. What is added between two looks is written out: a turn of a loop is dear as WebAssembly.
const stretch = 16

// beyond returns a cost that only a plan that is truly dearer comes to, however its sum is rounded.
func beyond(cost float64) float64 { return cost + float64(1e-9*(1+math.Abs(cost))) }

// dot is the sum of weights times the costs of the hypotheses.
func dot(cost []float64, hyps []int32, w []float64) float64 {
	v, _ := dotTo(cost, hyps, w, nil, math.Inf(1))
	return v
}

// dotTo is dot, unless the sum is above most, counting for what is not added yet what rest says: what hypotheses
// cost at the least from each stretch on.
func dotTo(cost []float64, hyps []int32, w []float64, rest []float64, most float64) (v float64, ok bool) {
	var a, b float64
	w = w[:len(hyps)]
	i := 0
	for ; i+stretch <= len(hyps); i += stretch {
		h, x := (*[stretch]int32)(hyps[i:]), (*[stretch]float64)(w[i:])
		for j := 0; j < stretch; j += 4 {
			a += float64(x[j] * cost[h[j]])
			b += float64(x[j+1] * cost[h[j+1]])
			a += float64(x[j+2] * cost[h[j+2]])
			b += float64(x[j+3] * cost[h[j+3]])
		}
		if rest != nil && a+b+rest[i/stretch+1] > most {
			return 0, false
		}
	}
	for ; i+1 < len(hyps); i += 2 {
		a += float64(w[i] * cost[hyps[i]])
		b += float64(w[i+1] * cost[hyps[i+1]])
	}
	if i < len(hyps) {
		a += float64(w[i] * cost[hyps[i]])
	}
	return a + b, true
}

// leastFrom fills rest with the sum of weights times least costs from each stretch on.
func leastFrom(rest, least, w []float64) []float64 {
	stretches := (len(w) + stretch - 1) / stretch
	rest = slices.Grow(rest[:0], stretches+1)[:stretches+1]
	rest[stretches] = 0
	least = least[:len(w)]
	i := len(w) - 1
	for s := stretches - 1; s >= 0; s-- {
		var a, b float64
		for ; i >= s*stretch+3; i -= 4 {
			x, y := (*[4]float64)(w[i-3:]), (*[4]float64)(least[i-3:])
			a += float64(x[3] * y[3])
			b += float64(x[2] * y[2])
			a += float64(x[1] * y[1])
			b += float64(x[0] * y[0])
		}
		for ; i >= s*stretch; i-- {
			a += float64(w[i] * least[i])
		}
		rest[s] = rest[s+1] + (a + b)
	}
	return rest
}

// A pick is the plan that costs least somewhere, and what it costs there.
type pick struct {
	plan *plan
	cost float64
}

// none is the pick of no plans.
var none = pick{cost: math.Inf(1)}

// or returns the pick of two sets of plans, of which this is that of the older ones.
func (p pick) or(newer pick) pick {
	if newer.plan == nil || p.plan != nil && p.cost <= newer.cost {
		return p
	}
	return newer
}

// best returns the plan with the least cost for weights w on hypotheses, and that cost. Of
// equal ones it is the oldest. The newest are looked at first, as they are the best mostly.
func (l *library) best(setup int, hyps []int32, w []float64, r record, skip set) (*plan, float64) {
	p := l.pick(l.plans[setup], none, hyps, w, r, skip)
	return p.plan, p.cost
}

// pick is best of what was picked from older plans and of some newer ones.
func (l *library) pick(plans []*plan, older pick, hyps []int32, w []float64, r record, skip set) pick {
	if len(plans) == 0 {
		return older
	}
	newer := pick{cost: older.cost}
	l.low = slices.Grow(l.low[:0], len(hyps))[:len(hyps)]
	gather(l.low, l.least[plans[0].setup], hyps)
	l.rest = leastFrom(l.rest, l.low, w)
	for _, p := range slices.Backward(plans) {
		if !p.serves(&r, &skip) {
			continue
		}
		if c, ok := dotTo(p.cost, hyps, w, l.rest, beyond(newer.cost)); ok && c <= newer.cost {
			newer = pick{p, c}
		}
	}
	return older.or(newer)
}

// A shelf is the plans of one setup, packed for the hypotheses of one point.
type shelf struct {
	plans []*plan
	cost  []float64 // cost[j*n+i]: plan j's for hypothesis i of the point
	least []float64 // by hypothesis of the point: no plan costs less
	rest  []float64 // as leastFrom fills it
	n     int
	may   []int // plans that may serve after the test at hand, whatever it shows
}

// shelves keeps shelves for the next backup, as each is as large as the library.
var shelves = sync.Pool{New: func() any { return new(shelf) }}

// pack gathers those of some plans that may serve after a test at a point.
func (l *library) pack(s *shelf, plans []*plan, q *point, skip set) {
	n := len(q.hyps)
	s.plans, s.n = s.plans[:0], n
	for _, p := range plans {
		if p.nearly(&q.record, &skip) {
			s.plans = append(s.plans, p)
		}
	}
	s.cost = slices.Grow(s.cost[:0], len(s.plans)*n)[:len(s.plans)*n]
	for j, p := range s.plans {
		gather(s.cost[j*n:j*n+n], p.cost, q.hyps)
	}
	s.least = slices.Grow(s.least[:0], n)[:n]
	gather(s.least, l.least[q.setup], q.hyps)
}

// gather fills a row with what some hypotheses cost.
func gather(row, cost []float64, hyps []int32) {
	i := 0
	for ; i+4 <= len(row); i += 4 {
		h, to := (*[4]int32)(hyps[i:]), (*[4]float64)(row[i:])
		to[0], to[1], to[2], to[3] = cost[h[0]], cost[h[1]], cost[h[2]], cost[h[3]]
	}
	for ; i < len(row); i++ {
		row[i] = cost[hyps[i]]
	}
}

// turn lays out the plans that may serve after test t at a record.
func (s *shelf) turn(t int, r record) {
	s.may = s.may[:0]
	word, bit := t>>6, uint64(1)<<(t&63)
	for j, p := range s.plans {
		if (p.fresh[word]&bit == 0 || p.assume != nil && p.assume[t] != nil) && (len(p.needs) == 0 || p.met(r.seen, t, -1)) {
			s.may = append(s.may, j)
		}
	}
}

// best returns the plan that costs least for weights w on the shelf's hypotheses after
// outcome o of test t at a record, for which it was turned, of those of the shelf and what was picked from older ones.
func (s *shelf) best(older pick, w []float64, t, o int, r record) pick {
	newer := pick{cost: older.cost}
	n := s.n
	counts := r.of(t)
	s.rest = leastFrom(s.rest, s.least, w)
	most := beyond(newer.cost)
next:
	for k := len(s.may) - 1; k >= 0; k-- {
		j := s.may[k]
		row := s.cost[j*n : j*n+n]
		row = row[:len(w)]
		var a, b, c, d float64
		i := 0
		for ; i+stretch <= len(w); i += stretch {
			x, y := (*[stretch]float64)(w[i:]), (*[stretch]float64)(row[i:])
			a += float64(x[0] * y[0])
			b += float64(x[1] * y[1])
			c += float64(x[2] * y[2])
			d += float64(x[3] * y[3])
			a += float64(x[4] * y[4])
			b += float64(x[5] * y[5])
			c += float64(x[6] * y[6])
			d += float64(x[7] * y[7])
			a += float64(x[8] * y[8])
			b += float64(x[9] * y[9])
			c += float64(x[10] * y[10])
			d += float64(x[11] * y[11])
			a += float64(x[12] * y[12])
			b += float64(x[13] * y[13])
			c += float64(x[14] * y[14])
			d += float64(x[15] * y[15])
			if (a+b)+(c+d)+s.rest[i/stretch+1] > most {
				continue next
			}
		}
		for ; i+3 < len(w); i += 4 {
			a += float64(w[i] * row[i])
			b += float64(w[i+1] * row[i+1])
			c += float64(w[i+2] * row[i+2])
			d += float64(w[i+3] * row[i+3])
		}
		for ; i < len(w); i++ {
			a += float64(w[i] * row[i])
		}
		if v := (a + b) + (c + d); v <= newer.cost {
			if p := s.plans[j]; p.allows(t, counts, o) && p.met(r.seen, t, o) {
				newer, most = pick{p, v}, beyond(v)
			}
		}
	}
	return older.or(newer)
}

// What was found at a point: the picks of its steps, in the order in which backup comes by them, from so
// many plans of each setup.
type found struct {
	picks []pick
	of    []int
}

// picks returns how many there are at a point.
func (p *Problem) picks() int {
	n := len(p.repairs)
	for _, t := range p.tests {
		n += len(p.model.Tests[t].Outcomes)
	}
	return n
}

// backup calls each with every step at a point, as a plan on top of the library without its
// costs, and its expected cost. The plan and its next are only lent. With again, tests that
// have results are looked at too; their plans are good for this point alone. Where had is given, it is what the
// last backup of this point with all else as it is found, or empty: only plans that came since are
// looked at, and it becomes what is found now.
func (l *library) backup(q point, skip set, again bool, limit int, had *found, each func(p *plan, v float64)) {
	if had == nil {
		had = &found{}
	}
	if had.of == nil {
		had.of, had.picks = make([]int, len(l.plans)), make([]pick, 0, l.picks())
	}
	picked := 0
	older := func() *pick {
		if picked++; picked > len(had.picks) {
			had.picks = append(had.picks, none)
		}
		return &had.picks[picked-1]
	}
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
			there = l.travel(q, at, limit)
		}
		plans := l.plans[at][had.of[at]:]
		had.of[at] = len(l.plans[at])
		loaded := false
		for _, t := range l.tests {
			if l.model.Tests[t].At != at || skip.has(t) || there.run.has(t) && !again {
				continue
			}
			if !loaded {
				loaded = true
				l.pack(packed, plans, &there, skip)
			}
			if len(packed.plans) > 0 {
				joint, odds = l.joint(joint, odds, there, t)
				packed.turn(t, there.record)
			}
			v := w.cost + l.testAt[t]
			made.next = made.next[:0]
			for o := range l.model.Tests[t].Outcomes {
				best := older()
				if len(packed.plans) > 0 {
					*best = packed.best(*best, joint[o], t, o, there.record)
				}
				made.next = append(made.next, best.plan)
				v += best.cost
			}
			consider(Step{DoTest, t}, v)
		}
		for _, r := range l.repairs {
			if l.model.Repairs[r].At != at || !l.Open(r, there.seen) {
				continue
			}
			hyps, odds := l.scatter(there, l.model.Repairs[r].After(there.tried(r)))
			left := 0.0
			for _, p := range odds {
				left += p
			}
			best := older()
			*best = l.pick(plans, *best, hyps, odds, there.mended(l.model, r, l.touched[r]), skip)
			made.next = append(made.next[:0], best.plan)
			consider(Step{DoRepair, r}, w.cost+l.fixAt[r]+best.cost/left)
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

// price works out what a plan made by backup at a point costs under every hypothesis, and where
// else it serves.
func (l *library) price(p *plan, at *point) {
	way := &l.ways[p.setup][l.At(p.step, p.setup)]
	here := at.minus(way.touched).disturbed(l.model, way.changes)
	switch p.step.Kind {
	case DoTest:
		p.shown = here.of(p.step.Index)
	case DoRepair:
		p.had, p.opens = here.tried(p.step.Index), l.opener(p.step.Index, here.seen)
	}
	l.work(p)
}

// work works a plan out from its own step and from what follows it.
func (l *library) work(p *plan) {
	where := l.At(p.step, p.setup)
	way := &l.ways[p.setup][where]
	cost := make([]float64, l.net.n)
	var own float64
	switch p.step.Kind {
	case DoTest:
		t := p.step.Index
		k := len(l.model.Tests[t].Outcomes)
		of, law := l.space.ClassesAmong(t, l.net.n)
		if p.shown != nil {
			law = urnLaw(law, l.model.Tests[t].Steadiness, p.shown)
		}
		for o, next := range p.next {
			costs, h := next.cost[:len(cost)], 0
			for ; h+4 <= len(cost); h += 4 {
				class, more, sum := (*[4]int32)(of[h:]), (*[4]float64)(costs[h:]), (*[4]float64)(cost[h:])
				sum[0] += float64(law[int(class[0])*k+o] * more[0])
				sum[1] += float64(law[int(class[1])*k+o] * more[1])
				sum[2] += float64(law[int(class[2])*k+o] * more[2])
				sum[3] += float64(law[int(class[3])*k+o] * more[3])
			}
			for ; h < len(cost); h++ {
				cost[h] += float64(law[int(of[h])*k+o] * costs[h])
			}
			p.fresh, p.all = p.fresh.or(next.fresh), p.all.or(next.all)
			p.tries = leastTried(p.tries, next.tries)
			p.needs = allNeeds(p.needs, next.needs, t)
		}
		p.fresh, p.all = p.fresh.with(t), p.all.with(t)
		p.assume = l.assumed(p.next, t, p.shown)
		own = l.testAt[t]
	case DoRepair:
		r := p.step.Index
		copy(cost, p.next[0].cost)
		l.net.back(cost, nil, l.model.Repairs[r].After(p.had))
		p.fresh, p.all = p.next[0].fresh.minus(l.touched[r]), p.next[0].all
		p.assume = p.next[0].assume
		p.tries = l.before(p.next[0].tries, r, p.had, l.model.Repairs[r].Change)
		p.needs = allNeeds(p.next[0].needs, p.opens, -1)
		own = l.fixAt[r]
	}
	for _, c := range way.changes {
		p.tries = l.before(p.tries, -1, nil, c)
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

// leastTried returns what allows for no more failures than either of two does.
func leastTried(a, b []tried) []tried {
	if len(b) == 0 {
		return a
	}
	var all []tried
	for len(a) > 0 || len(b) > 0 {
		switch {
		case len(b) == 0 || len(a) > 0 && a[0].repair < b[0].repair:
			all, a = append(all, a[0]), a[1:]
		case len(a) == 0 || b[0].repair < a[0].repair:
			all, b = append(all, b[0]), b[1:]
		default:
			most := slices.Clone(a[0].most)
			for i := range most {
				most[i] = min(most[i], b[0].most[i])
			}
			all, a, b = append(all, tried{a[0].repair, most}), a[1:], b[1:]
		}
	}
	return all
}

// before returns what failures a plan allows for before a change, if what follows allows for
// tries. The change is that of a repair that had failed so often, or of a setup step, with repair -1.
func (l *library) before(tries []tried, repair int, had []int, c model.Change) []tried {
	var all []tried
	for _, t := range tries {
		most := slices.Clone(t.most)
		bound := false
		for i, f := range l.model.Repairs[t.repair].Change.Fixes {
			switch {
			case slices.ContainsFunc(c.Risks, func(x model.Chance) bool { return x.Mode == f.Mode }):
				most[i] = math.MaxInt // they start afresh
			case t.repair == repair && most[i] < math.MaxInt:
				most[i]--
			}
			bound = bound || most[i] < math.MaxInt
		}
		if bound {
			all = append(all, tried{t.repair, most})
		}
	}
	if repair >= 0 && had != nil {
		all = leastTried(all, []tried{{repair, had}})
	}
	return all
}

// opener returns the result by which a repair is on offer, as a need; nil if it is without.
func (l *library) opener(repair int, seen []int) []need {
	if l.anyway[repair] {
		return nil
	}
	for _, s := range l.model.Repairs[repair].OnlyAfter.Any {
		if o := seen[s.Test]; o >= 0 && slices.Contains(s.Outcomes, o) {
			n := need{test: s.Test}
			for _, o := range s.Outcomes {
				n.outcomes |= 1 << o
			}
			return []need{n}
		}
	}
	return nil
}

// allNeeds returns the needs of both, without those on test t, which has just been run.
func allNeeds(a, b []need, t int) []need {
	if len(b) == 0 {
		return a
	}
	var all []need
	for len(a) > 0 || len(b) > 0 {
		var next need
		switch {
		case len(b) == 0 || len(a) > 0 && a[0].test < b[0].test:
			next, a = a[0], a[1:]
		case len(a) == 0 || b[0].test < a[0].test:
			next, b = b[0], b[1:]
		default:
			next = need{a[0].test, a[0].outcomes & b[0].outcomes}
			a, b = a[1:], b[1:]
		}
		if next.test != t {
			all = append(all, next)
		}
	}
	return all
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
