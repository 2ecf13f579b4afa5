package sim

import (
	"cmp"
	"slices"
	"sync"

	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// A Policy chooses the next step of a unit on the bench. One Policy serves one goroutine.
type Policy interface {
	Next(*Bench) (plan.Step, error)
}

// Until is a policy that goes on until Stopped returns an error.
type Until struct {
	Policy
	Stopped func() error
}

// Next implements Policy.
func (u Until) Next(b *Bench) (plan.Step, error) {
	if err := u.Stopped(); err != nil {
		return plan.Step{}, err
	}
	return u.Policy.Next(b)
}

// A Bench is where one unit stands: what is believed of it and what was done.
type Bench struct {
	*plan.Problem
	plan.Situation
	Outcomes []int         // by test: its last outcome since a change touched it; -1 if it was not run since
	Repaired []int         // by repair: how often it was done
	Last     plan.Step     // the last step; the intake test at first
	Path     []byte        // everything done so far, with what came of it
	Events   []trail.Event // the same as a trail has it
	Recalled bool          // the last decision was remembered, not made
	Unit     *Unit         // what is truly wrong: for the clairvoyant alone

	minutes float64 // spent so far
}

func (b *Bench) model() *model.Model { return b.Space().Model() }

// Allows reports whether a repair is on offer: its tools are at hand and what it asks for was
// seen.
func (b *Bench) Allows(repair int) bool {
	m := b.model()
	return slices.Contains(b.Repairs(), repair) && m.Allows(&m.Repairs[repair].OnlyAfter, b.Seen, b.Terms.Tools)
}

// can reports whether a test is a step that can be done.
func (b *Bench) can(test int) bool {
	t := &b.model().Tests[test]
	return !t.Told && slices.Contains(b.Tests(), test) && len(b.model().Missing(t, b.Seen)) == 0
}

// asked returns the cheapest step that may bring what a repair asks for, of those not done
// since a change touched them.
func (b *Bench) asked(repair int) (plan.Step, bool) {
	best, most := plan.Step{}, 0.0
	for _, seen := range b.model().Repairs[repair].OnlyAfter.Any {
		if !b.can(seen.Test) || b.Outcomes[seen.Test] >= 0 {
			continue
		}
		s := plan.Step{Kind: plan.DoTest, Index: seen.Test}
		if cost := b.StepCost(s, b.Setup); best.Kind == "" || cost < most {
			best, most = s, cost
		}
	}
	return best, best.Kind != ""
}

// prove returns the run that proves the unit, if it can be done.
func (b *Bench) prove() (plan.Step, bool) {
	return plan.Step{Kind: plan.DoTest, Index: b.model().Proof}, b.can(b.model().Proof)
}

// proved reports whether the last step was the proof, with its best outcome.
func (b *Bench) proved() bool {
	proof := b.model().Proof
	return b.Last == plan.Step{Kind: plan.DoTest, Index: proof} && b.Outcomes[proof] == 0
}

var (
	signOff  = plan.Step{Kind: plan.SignOff}
	writeOff = plan.Step{Kind: plan.WriteOff}
)

// A Planned policy does what a planner proposes first.
type Planned struct{ Planner plan.Planner }

func (p Planned) Next(b *Bench) (plan.Step, error) {
	s := p.Planner.Start(b.Situation)
	for !s.Work(1 << 20) {
	}
	return s.Proposals()[0].Step, nil
}

// A Quick policy does what a planner's library says by itself; a repair it would do for the third time,
// which so short a sight may go on with for ever, it thinks about as Planned does.
type Quick struct{ Planner plan.Planner }

func (q Quick) Next(b *Bench) (plan.Step, error) {
	s := q.Planner.Quick(b.Situation)
	if s.Kind == plan.DoRepair && b.Repaired[s.Index] >= 2 {
		return Planned(q).Next(b)
	}
	return s, nil
}

// A Memory makes a policy remember what it did after each course of events, for all
// goroutines that share it: many units go the same way for a while, and a policy that
// looks at nothing but what was done does the same each time.
type Memory struct{ steps sync.Map } // plan.Step by path

// Of returns a policy that remembers.
func (m *Memory) Of(p Policy) Policy { return remembering{p, m} }

type remembering struct {
	Policy
	memory *Memory
}

func (r remembering) Next(b *Bench) (plan.Step, error) {
	path := string(b.Path)
	if s, ok := r.memory.steps.Load(path); ok {
		b.Recalled = true
		return s.(plan.Step), nil
	}
	s, err := r.Policy.Next(b)
	if err == nil {
		r.memory.steps.Store(path, s)
	}
	return s, err
}

// Checklist goes through the repairs by prior probability over cost, with the proof
// after each; it signs off on the proof's best outcome and writes off at the end of the list.
// What a repair asks for is looked at first, and a repair that is then not on offer is left
// out.
type Checklist struct {
	order []int
}

func NewChecklist(p *plan.Problem) *Checklist {
	m := p.Space().Model()
	c := &Checklist{order: slices.Clone(p.Repairs())}
	gain := func(r int) float64 {
		sum := 0.0
		for _, f := range m.Repairs[r].Change.Fixes {
			sum += float64(f.P * m.Modes[f.Mode].Prior)
		}
		return sum / (p.StepCost(plan.Step{Kind: plan.DoRepair, Index: r}, m.Root) + 1e-9)
	}
	slices.SortStableFunc(c.order, func(a, b int) int { return cmp.Compare(gain(b), gain(a)) })
	return c
}

func (c *Checklist) Next(b *Bench) (plan.Step, error) {
	if proof, ok := b.prove(); ok && b.Last.Kind == plan.DoRepair {
		return proof, nil
	}
	if b.proved() {
		return signOff, nil
	}
	for _, r := range c.order {
		if b.Repaired[r] > 0 {
			continue
		}
		if b.Allows(r) {
			return plan.Step{Kind: plan.DoRepair, Index: r}, nil
		}
		if look, ok := b.asked(r); ok {
			return look, nil
		}
	}
	return writeOff, nil
}

// sure is how probable one mode must be for the habits to stop testing and repair it.
const sure = 0.8

// A Habit runs tests, the one with the most worth first and each once until a change
// touches it, until one mode is sure, then does that mode's best repair and the proof; it signs off on the proof's best outcome. Where no test is left, it repairs the
// most probable mode; where nothing it can do is left, it writes off.
type Habit struct {
	worth func(b *Bench, test int, cost float64) float64
}

// CheapestFirst takes tests by rising cost, way included.
func CheapestFirst() Habit {
	return Habit{func(_ *Bench, _ int, cost float64) float64 { return -cost }}
}

// Information takes the test with the most bits for its cost, way included.
func Information() Habit {
	return Habit{func(b *Bench, test int, cost float64) float64 { return b.Belief.Bits(test) / (cost + 1e-9) }}
}

func (h Habit) Next(b *Bench) (plan.Step, error) {
	if proof, ok := b.prove(); ok && b.Last.Kind == plan.DoRepair {
		return proof, nil
	}
	if b.proved() {
		return signOff, nil
	}
	modes := b.Belief.Modes(nil)
	top := slices.Index(modes, slices.Max(modes))
	if modes[top] < sure {
		best := -1
		most := 0.0
		for _, t := range b.Tests() {
			if b.Outcomes[t] >= 0 || !b.can(t) {
				continue
			}
			w := h.worth(b, t, b.StepCost(plan.Step{Kind: plan.DoTest, Index: t}, b.Setup))
			if best < 0 || w > most {
				best, most = t, w
			}
		}
		if best >= 0 {
			return plan.Step{Kind: plan.DoTest, Index: best}, nil
		}
	}
	order := make([]int, len(modes))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, c int) int { return cmp.Compare(modes[c], modes[a]) })
	for _, mode := range order {
		if modes[mode] < 1e-3 {
			break
		}
		if r := bestRepair(b, mode, b.Allows); r >= 0 {
			return plan.Step{Kind: plan.DoRepair, Index: r}, nil
		}
		if r := bestRepair(b, mode, func(int) bool { return true }); r >= 0 {
			if look, ok := b.asked(r); ok {
				return look, nil
			}
		}
	}
	return writeOff, nil
}

// bestRepair returns the repair, of those that may be done, that takes a mode away most often
// for its cost, not counting those that were done three times in vain; -1 if there is none.
func bestRepair(b *Bench, mode int, may func(repair int) bool) int {
	best := -1
	most := 0.0
	for _, r := range b.Repairs() {
		if b.Repaired[r] >= 3 || !may(r) {
			continue
		}
		change := b.model().Repairs[r].Change
		if b.Tries != nil {
			change = b.model().Repairs[r].After(b.Tries[r])
		}
		for _, f := range change.Fixes {
			if f.Mode != mode || f.P == 0 {
				continue
			}
			w := f.P / (b.StepCost(plan.Step{Kind: plan.DoRepair, Index: r}, b.Setup) + 1e-9)
			if best < 0 || w > most {
				best, most = r, w
			}
		}
	}
	return best
}

// Clairvoyant always knows just what is wrong, and does any repair whose tools are at hand. Nobody
// does better where no repair remembers its failures, and hardly anybody where some do.
type Clairvoyant struct{ sight *plan.Sight }

func NewClairvoyant(p *plan.Problem) Clairvoyant { return Clairvoyant{plan.NewSight(p)} }

func (c Clairvoyant) Next(b *Bench) (plan.Step, error) {
	return c.sight.Next(b.Unit.Modes(), b.Setup, b.Tries), nil
}
