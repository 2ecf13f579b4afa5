package plan

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"pitwise/engine/belief"
	"pitwise/engine/trail"
)

// ErrTerms says that terms cannot be worked with.
var ErrTerms = errors.New("plan: terms")

// New returns the shipping planner for one model and one person's terms. Its searches
// first grow a library of plans, once for the planner, then look ahead on top of it. It is
// safe for concurrent use.
func New(s *belief.Space, terms trail.Terms) (Planner, error) {
	for _, x := range []struct {
		name string
		v    float64
	}{
		{"minute_value", terms.MinuteValue}, {"working_value", terms.WorkingValue},
		{"as_is_value", terms.AsIsValue}, {"comeback_cost", terms.ComebackCost}, {"exchange", terms.Exchange},
	} {
		if math.IsNaN(x.v) || math.IsInf(x.v, 0) {
			return nil, fmt.Errorf("%w: %s is %v", ErrTerms, x.name, x.v)
		}
	}
	return &planner{Problem: NewProblem(s, terms), own: deepRound, beamFor: beamFor}, nil
}

type planner struct {
	*Problem
	mu     sync.Mutex // guards growth and grown until done, and other
	growth *growth
	grown  *library // once it is done
	done   bool

	own     round // how a search grows plans of its own
	beamFor func(small bool) beam
	other   *planner // the keener, made when it is first asked
}

// library returns the plans as they are now, for one search.
func (p *planner) library() *library {
	p.mu.Lock()
	defer p.mu.Unlock()
	from := p.grown
	if from == nil {
		if p.growth == nil {
			p.growth = newGrowth(p.Problem)
		}
		from = p.growth.library
	}
	l := *from
	l.walker = newWalker(p.Problem, l.net)
	l.plans = slices.Clone(l.plans)
	for setup, plans := range l.plans {
		l.plans[setup] = slices.Clip(plans) // what this search adds is its own
	}
	l.low, l.rest, l.least = nil, nil, slices.Clone(l.least)
	for setup, least := range l.least {
		l.least[setup] = slices.Clone(least)
	}
	return &l
}

// Grow does one piece of the library's growth and reports whether that is done.
func (p *planner) Grow() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.done {
		return true
	}
	if p.growth == nil {
		p.growth = newGrowth(p.Problem)
		return false
	}
	if p.growth.work() {
		p.grown, p.growth, p.done = p.growth.library, nil, true
	}
	return p.done
}

// beamFor returns the beam of the settled answer, by measurement (engine/DECISIONS.md).
func beamFor(small bool) beam {
	if small {
		return beam{steps: []int{12, 4}, wide: []int{200, 200, 200}}
	}
	return beam{steps: []int{6}, wide: []int{160, 320}, passed: 2}
}

// Start begins a search.
func (p *planner) Start(at Situation) Search {
	return &search{planner: p, at: at}
}

// Quick is a search without the stages that take long.
func (p *planner) Quick(at Situation) Step {
	for !p.Grow() {
	}
	s := search{planner: p, at: at}
	s.open()
	s.look()
	s.level()
	s.prefer()
	return s.options[0].step
}

// A search goes through stages: what the space has yet to work out; a first answer from the
// plans there are; the growth of the
// library, if it is not grown; some plans of this search's own, from the belief at hand on; all
// steps on top of them; the best of them one step further, one
// by one; the reasons. Where the unit may as well be written off it asks a keener planner (keen.go).
type search struct {
	*planner
	at        Situation
	lib       *library
	beam      beam
	root      point     // the likely hypotheses
	modes     []float64 // the odds of each fault by those
	sound     float64   // and of none
	whole     point     // all hypotheses
	odds      []float64 // of those: the hypotheses beyond them count to those with the most faults
	skip      set
	stage     int
	deep      *growth  // of this search's own plans
	asked     *search  // the keener planner's, where the unit may as well be written off
	share     float64  // of a total of lib, where lib is the keener's; otherwise 0
	options   []option // least first
	next      int      // test that is prepared next
	promising []int    // options that are still to be followed
	follows   map[Step][]Follow
	proposals []Proposal
}

const (
	preparing = iota
	first
	growing
	deepening
	looking
	following
	asking
	telling
	finished
)

// units is what one piece of each stage is taken to cost, in units of Work.
var units = [...]int{preparing: 1, first: 8, growing: 2, deepening: 2, looking: 4, following: 4, asking: 3, telling: 4}

// Work goes on by about n units.
func (s *search) Work(n int) (done bool) {
	for n > 0 && s.stage != finished {
		n -= units[s.stage]
		s.piece()
	}
	return s.stage == finished
}

func (s *search) piece() {
	switch s.stage {
	case preparing:
		// What the space knows of each test is worked out when it is first asked for.
		s.space.ClassesAmong(s.next, s.kept())
		if s.next++; s.next == len(s.model.Tests) {
			s.stage = first
		}
	case first:
		s.open()
		s.look()
		s.propose()
		s.stage = growing
	case growing:
		if s.Grow() {
			s.lib = s.library()
			s.stage = looking
			if !s.small(s.lib.net.n) { // a small problem's library is grown with more care than this
				s.deep = s.lib.deepen(s.root, s.skip, s.own)
				s.stage = deepening
			}
		}
	case deepening:
		if s.deep.work() {
			s.stage = looking
		}
	case looking:
		s.look()
		s.promise()
		s.stage = following
	case following:
		if s.follow() {
			return
		}
		s.level()
		s.prefer()
		s.stage = telling
		if s.doubts() {
			s.asked = s.ask()
			s.stage = asking
		}
	case asking:
		if s.asked.piece(); s.asked.stage == telling {
			s.adopt(s.asked)
			s.stage = telling
		}
	case telling:
		s.propose()
		s.stage = finished
	}
}

// open takes the situation up as points.
func (s *search) open() {
	s.lib = s.library()
	s.beam = s.planner.beamFor(s.small(s.lib.net.n))
	b := s.at.Belief
	for h := range s.lib.net.n {
		if p := b.P(h); p > 0 {
			s.whole.hyps, s.whole.p = append(s.whole.hyps, int32(h)), append(s.whole.p, p)
		}
	}
	s.odds = heavier(s.whole, s.lib.net.full)
	s.root = s.lib.load(b.P, s.at.Setup, s.beam.wide[0])
	s.modes, s.sound = s.modesOf(s.root.hyps, s.root.p)
	s.root.counts = make([][]float64, len(s.model.Tests))
	for t := range s.model.Tests {
		if c := b.Counts(t); c != nil {
			s.root.run = s.root.run.with(t)
			s.root.counts[t] = c
		}
	}
	if s.at.Tries != nil {
		s.root.tries = s.at.Tries
	}
	if s.root.seen != nil && s.at.Seen != nil {
		s.root.seen = s.at.Seen
	}
	for t := range s.model.Tests {
		if t < len(s.at.Skipped) && s.at.Skipped[t] || len(s.model.Missing(&s.model.Tests[t], s.at.Seen)) > 0 {
			s.skip = s.skip.with(t)
		}
	}
}

// heavier returns the odds of a point's hypotheses where those it leaves out are taken to cost what
// those from full on do, as they have more faults still: to leave them out would flatter every step but
// an ending, and a unit with many faults would be looked at for ever.
func heavier(q point, full int) []float64 {
	odds := slices.Clone(q.p)
	at, _ := slices.BinarySearch(q.hyps, int32(full))
	few, most := 0.0, 0.0
	for i, p := range q.p {
		if i < at {
			few += p
		} else {
			most += p
		}
	}
	if most == 0 {
		at, few, most = 0, most, few
	}
	scale := max((1-few)/most, 1)
	for i := at; i < len(odds); i++ {
		odds[i] *= scale
	}
	return odds
}

// look values every step on top of the library, over the whole belief: the unlikely hypotheses
// that the root leaves out are the ones with more faults, and to leave them out would flatter
// every step but writing off.
func (s *search) look() {
	s.options = s.lib.options(s.root, s.skip, s.beam.wide[0], true)
	for i := range s.options {
		o := &s.options[i]
		switch o.step.Kind {
		case SignOff:
			o.value = s.StepCost(o.step, s.at.Setup) + float64(s.Comeback*(1-s.after(s.model.Root).Sound()))
		case WriteOff:
			o.value = s.Loss
		default:
			o.value = s.overall(o.plan)
		}
	}
	s.lib.sort(s.options)
	s.follows = map[Step][]Follow{}
}

// overall returns what a plan costs over the whole belief.
func (s *search) overall(p *plan) float64 {
	if p.cost == nil {
		s.lib.price(p, &s.root)
	}
	return dot(p.cost, s.whole.hyps, s.odds)
}

// follow looks one step further along the next promising option, and reports whether there was one.
// What it finds is a plan again, and so has a cost over the whole belief.
func (s *search) follow() bool {
	if len(s.promising) == 0 {
		return false
	}
	o := &s.options[s.promising[0]]
	s.promising = s.promising[1:]
	var found []Follow
	a := s.lib.ahead(s.root, s.skip, o.step, s.beam, 1, func(outcome int, after point, best option) {
		found = append(found, s.followed(outcome, after, best))
	})
	if v := s.overall(a.plan); v < o.value {
		o.value, o.plan, o.costs, o.plus = v, a.plan, nil, 0
	}
	s.follows[o.step] = found
	return true
}

// promise chooses the steps that are followed: those that look best; and before a way is taken, of the tests that can be run
// on it, those that tell most for their cost: a try before the way home, for whose failing the library has no plan, looks dear.
func (s *search) promise() {
	best := s.options[0].step
	leaves := s.At(best, s.at.Setup) != s.at.Setup
	var passed []int
	telling := map[int]float64{}
	for i, o := range s.options {
		switch {
		case o.step.ends():
		case len(s.promising) < s.beam.steps[0]:
			s.promising = append(s.promising, i)
		case leaves && s.passes(o.step, best):
			passed = append(passed, i)
			telling[i] = s.bits(o.step) / (s.testAt[o.step.Index] + s.trifle())
		}
	}
	slices.SortStableFunc(passed, func(a, b int) int { return cmp.Compare(telling[b], telling[a]) })
	s.promising = append(s.promising, passed[:min(s.beam.passed, len(passed))]...)
}

// level makes all totals valuations of one future: after any step one may go on as is best now.
// After a test, what it shows can be left aside: the runs that follow are then, on average over
// it, draws as if it had not been run. After a repair, the best plan goes on with what is left.
// What it costs to go on so is an upper bound of each step's total, and the total where it is less.
func (s *search) level() {
	s.lib.sort(s.options)
	s.goOn(DoRepair)
	s.lib.sort(s.options)
	s.goOn(DoTest) // on top of what is best with the repairs
	s.lib.sort(s.options)
}

// goOn does so for the steps of one kind.
func (s *search) goOn(kind StepKind) {
	best := s.options[0]
	for i := range s.options {
		o := &s.options[i]
		if o.step.Kind != kind || o.step == best.step {
			continue
		}
		more, ok := s.detour(o.step, best.step)
		if !ok {
			continue
		}
		v := best.value
		costs, plus := best.vector()
		if kind == DoRepair {
			if costs, v = s.onwards(best.plan, o.step.Index); costs == nil {
				continue
			}
			plus = 0
		}
		if more+v < o.value {
			o.value, o.costs, o.plus = more+v, costs, more+plus
		}
	}
}

// detour returns what it costs more to take a step in before another: its own cost, where it is a test on the way, or else with
// the way there and back. It reports whether that breaks nothing that the other step would not.
func (s *search) detour(step, before Step) (float64, bool) {
	if s.passes(step, before) {
		return s.testAt[step.Index], true
	}
	here, at := s.at.Setup, s.At(step, s.at.Setup)
	there, back := &s.ways[here][at], &s.ways[at][here]
	return s.StepCost(step, here) + back.cost, len(there.changes)+len(back.changes) == 0
}

// passes reports whether a step is a test that can be run on the way to another, or where that is done.
func (s *search) passes(step, before Step) bool {
	here, at, end := s.at.Setup, s.At(step, s.at.Setup), s.At(before, s.at.Setup)
	return step.Kind == DoTest && len(s.ways[here][at].moves)+len(s.ways[at][end].moves) == len(s.ways[here][end].moves)
}

// onwards returns what a plan costs after a repair, by hypothesis and over the whole belief; nil where it
// does not serve then.
func (s *search) onwards(p *plan, repair int) ([]float64, float64) {
	rep := &s.model.Repairs[repair]
	after := s.root.mended(s.model, repair, s.touched[repair])
	if p.cost == nil || !p.serves(&after, &s.skip) {
		return nil, 0
	}
	cost := slices.Clone(p.cost)
	s.lib.net.back(cost, nil, rep.After(s.root.tried(repair)))
	return cost, dot(cost, s.whole.hyps, s.odds)
}

// Proposals returns the steps on offer as far as the search has come.
func (s *search) Proposals() []Proposal { return s.proposals }
