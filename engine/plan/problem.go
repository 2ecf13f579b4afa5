package plan

import (
	"math"
	"slices"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A Problem is the decision problem of one model under one person's terms: what every
// step costs, and what every way of ending costs. It is immutable and safe for concurrent
// use.
type Problem struct {
	space *belief.Space
	model *model.Model
	Terms trail.Terms

	// Loss is what writing off costs: WorkingValue - AsIsValue, Currency.
	Loss float64
	// Comeback is what signing off costs if a fault is left: ComebackCost + Loss, Currency.
	Comeback float64

	ways    [][]way   // from setup, to setup
	tests   []int     // on offer: their tools are at hand
	repairs []int     // on offer: their tools are at hand
	testAt  []float64 // cost of each test itself, Currency
	fixAt   []float64 // cost of each repair itself, Currency
	touched []set     // by repair: the tests that start afresh after it
	alike   [][]int   // by test: the others that ask the same, at another place
	asks    bool      // a repair on offer comes only after a result
	anyway  []bool    // by repair: on offer whatever was seen
}

// A way leads from one setup to another.
type way struct {
	moves          []model.Move
	changes        []model.Change // of the moves, those that do something
	minutes, money float64
	cost           float64
	touched        set // tests that start afresh on it
}

// NewProblem puts a model and the person's terms together.
func NewProblem(s *belief.Space, terms trail.Terms) *Problem {
	m := s.Model()
	p := &Problem{space: s, model: m, Terms: terms}
	p.Loss = terms.WorkingValue - terms.AsIsValue
	p.Comeback = terms.ComebackCost + p.Loss
	for from := range m.Setups {
		var row []way
		for to := range m.Setups {
			row = append(row, p.wayTo(from, to))
		}
		p.ways = append(p.ways, row)
	}
	for i := range m.Repairs {
		p.touched = append(p.touched, p.touches(m.Repairs[i].Change))
	}
	hand := map[model.ToolID]bool{}
	for _, id := range terms.Tools {
		hand[id] = true
	}
	have := func(needs []model.ToolID) bool {
		for _, id := range needs {
			if !hand[id] {
				return false
			}
		}
		return true
	}
	for i := range m.Tests {
		t := &m.Tests[i]
		p.testAt = append(p.testAt, p.Cost(t.Minutes, t.Money))
		if have(t.Needs) && !t.Told {
			p.tests = append(p.tests, i)
		}
		p.alike = append(p.alike, p.asking(t))
	}
	for i := range m.Repairs {
		r := &m.Repairs[i]
		p.fixAt = append(p.fixAt, p.Cost(r.Minutes, r.Money))
		anyway := m.Allows(&r.OnlyAfter, nil, terms.Tools)
		p.anyway = append(p.anyway, anyway)
		if have(r.Needs) {
			p.repairs = append(p.repairs, i)
			p.asks = p.asks || !anyway
		}
	}
	return p
}

// asking returns the other tests that ask what one does: they look alike with every fault, and say the same.
func (p *Problem) asking(test *model.Test) (others []int) {
	for i := range p.model.Tests {
		o := &p.model.Tests[i]
		same := o.At != test.At && o.Steadiness == test.Steadiness && slices.Equal(o.Healthy, test.Healthy) &&
			slices.EqualFunc(o.Outcomes, test.Outcomes, func(a, b model.Outcome) bool { return a.ID == b.ID }) &&
			slices.EqualFunc(o.Given, test.Given, func(a, b model.Row) bool { return a.Mode == b.Mode && slices.Equal(a.P, b.P) })
		if same {
			others = append(others, i)
		}
	}
	return others
}

// Cost returns what minutes, and money of the model's currency, cost together, Currency.
func (p *Problem) Cost(minutes, money float64) float64 {
	return float64(minutes*p.Terms.MinuteValue) + float64(money*p.Terms.Rate())
}

func (p *Problem) wayTo(from, to int) way {
	w := way{moves: p.model.Way(from, to)}
	for _, mv := range w.moves {
		work, _ := p.model.Move(mv)
		w.minutes += work.Minutes
		w.money += work.Money
		if !work.Change.Nothing() {
			w.changes = append(w.changes, work.Change)
			w.touched = w.touched.or(p.touches(work.Change))
		}
	}
	w.cost = p.Cost(w.minutes, w.money)
	return w
}

// touches returns the tests that a change touches.
func (p *Problem) touches(c model.Change) (s set) {
	for t := range p.model.Tests {
		if p.space.Touches(c, t) {
			s = s.with(t)
		}
	}
	return s
}

// Space returns the hypotheses the problem is about.
func (p *Problem) Space() *belief.Space { return p.space }

// Tests returns the tests whose tools are at hand, by rising index; what the owner tells is none
// of them. It must not be changed.
func (p *Problem) Tests() []int { return p.tests }

// Repairs returns the repairs whose tools are at hand, by rising index. It must not be changed.
// Some of them may come only after a result; Open tells which are on offer.
func (p *Problem) Repairs() []int { return p.repairs }

// Open reports whether a repair whose tools are at hand is on offer after what was seen: the last
// outcome of each test by index, -1 for none.
func (p *Problem) Open(repair int, seen []int) bool {
	return p.anyway[repair] || p.model.Repairs[repair].OnlyAfter.Met(seen)
}

// At returns the setup in which a step is done; the root for signing off, and the setup
// that it is given for writing off.
func (p *Problem) At(s Step, setup int) int {
	switch s.Kind {
	case DoTest:
		return p.model.Tests[s.Index].At
	case DoRepair:
		return p.model.Repairs[s.Index].At
	case SignOff:
		return p.model.Root
	}
	return setup
}

// StepCost returns what a step from a setup costs, with its way and without what an ending
// costs, Currency.
func (p *Problem) StepCost(s Step, setup int) float64 {
	cost := p.ways[setup][p.At(s, setup)].cost
	switch s.Kind {
	case DoTest:
		cost += p.testAt[s.Index]
	case DoRepair:
		cost += p.fixAt[s.Index]
	}
	return cost
}

// StepWork returns the minutes and the money, Currency, of a step from a setup, with its way.
func (p *Problem) StepWork(s Step, setup int) (minutes, money float64) {
	w := &p.ways[setup][p.At(s, setup)]
	minutes, money = w.minutes, w.money
	switch s.Kind {
	case DoTest:
		minutes += p.model.Tests[s.Index].Minutes
		money += p.model.Tests[s.Index].Money
	case DoRepair:
		minutes += p.model.Repairs[s.Index].Minutes
		money += p.model.Repairs[s.Index].Money
	}
	return minutes, float64(money * p.Terms.Rate())
}

// WayChanges returns what the way to a step does to the faults, in order.
func (p *Problem) WayChanges(s Step, setup int) []model.Change {
	return p.ways[setup][p.At(s, setup)].changes
}

// Less orders steps where their values tie: endings before repairs before tests, so that a
// step that gains nothing is never taken, then by id.
func (p *Problem) Less(a, b Step) bool {
	if a.Kind != b.Kind {
		return rankOf(a.Kind) < rankOf(b.Kind)
	}
	switch a.Kind {
	case DoTest:
		return p.model.Tests[a.Index].ID < p.model.Tests[b.Index].ID
	case DoRepair:
		return p.model.Repairs[a.Index].ID < p.model.Repairs[b.Index].ID
	}
	return false
}

func rankOf(k StepKind) int {
	switch k {
	case SignOff:
		return 0
	case WriteOff:
		return 1
	case DoRepair:
		return 2
	}
	return 3
}

// better reports whether step a at cost x goes before step b at cost y. Costs that differ
// by less than the rounding of the sums behind them tie.
func (p *Problem) better(a Step, x float64, b Step, y float64) bool {
	const eps = 1e-10
	if d := y - x; d > eps*(1+math.Abs(x)+math.Abs(y)) {
		return true
	} else if d < -eps*(1+math.Abs(x)+math.Abs(y)) {
		return false
	}
	return p.Less(a, b)
}
