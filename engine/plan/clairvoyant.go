package plan

import (
	"math"
	"slices"
)

// clairvoyant returns, for each setup and hypothesis, the least expected cost of a person
// who always knows just what is wrong: no plan does better. Hypotheses are those of net.
//
// A repair that may fail is tried until it works or is no longer worth it, so a state can
// lead back to itself; that loop is summed as a geometric series, and the sweeps run
// until no value moves.
func (p *Problem) clairvoyant(net *net) [][]float64 {
	setups := len(p.model.Setups)
	value := make([][]float64, setups)
	// Without any repair: the cheaper of the two endings.
	for s := range value {
		value[s] = p.signOff(net, s)
		for h, v := range value[s] {
			value[s][h] = min(v, p.Loss)
		}
	}
	x := make([]float64, net.n)
	self := make([]float64, net.n)
	for range 100 {
		moved := 0.0
		for _, r := range p.repairs {
			rep := &p.model.Repairs[r]
			// after the repair one stands at its setup
			copy(x, value[rep.At])
			clear(self)
			net.back(x, self, rep.Change)
			for s := range value {
				w := &p.ways[s][rep.At]
				y, loop := x, self
				if len(w.changes) > 0 || s != rep.At {
					y = append([]float64(nil), x...)
					loop = nil
					for i := len(w.changes) - 1; i >= 0; i-- {
						net.back(y, nil, w.changes[i])
					}
				}
				cost := w.cost + p.fixAt[r]
				for h := range y {
					v := cost + y[h]
					if loop != nil && loop[h] > 0 && loop[h] < 1 {
						// y holds the loop at its present value; take it out and sum it
						v = (cost + y[h] - float64(loop[h]*value[s][h])) / (1 - loop[h])
					}
					if d := value[s][h] - v; d > 0 {
						value[s][h] = v
						moved = max(moved, d)
					}
				}
			}
		}
		if moved <= 1e-9*(1+math.Abs(p.Loss)) {
			break
		}
	}
	return value
}

// signOff returns the expected cost of signing off from a setup, by hypothesis.
func (p *Problem) signOff(net *net, setup int) []float64 {
	w := &p.ways[setup][p.model.Root]
	v := make([]float64, net.n)
	for h := range v {
		if h > 0 {
			v[h] = p.Comeback
		}
	}
	for i := len(w.changes) - 1; i >= 0; i-- {
		net.back(v, nil, w.changes[i])
	}
	for h := range v {
		v[h] += w.cost
	}
	return v
}

// A Sight is the best plan of a person who always knows just what is wrong. Next serves one
// goroutine.
type Sight struct {
	*Problem
	walker *walker
	value  [][]float64 // by setup and hypothesis, if repairs remember nothing
	out    [][]float64 // the same of signing off
}

// NewSight works the plan out.
func NewSight(p *Problem) *Sight {
	n := p.newNet()
	s := &Sight{p, newWalker(p, n), p.clairvoyant(n), nil}
	for setup := range p.model.Setups {
		s.out = append(s.out, p.signOff(n, setup))
	}
	return s
}

// Cost returns what the plan costs from a setup when just the given modes are wrong, if every
// repair is on offer and remembers nothing: nobody pays less. It is what writing off costs where the modes
// are more than the plan holds.
func (s *Sight) Cost(modes []uint16, setup int) float64 {
	h, ok := s.space.Index(modes)
	if !ok || h >= s.walker.net.n {
		return s.Loss
	}
	return s.value[setup][h]
}

// Next returns the best step when just the given modes are wrong and repairs have failed as tries
// says (model.Untried; nil if none remembers): writing off where they are more than the plan holds.
// What repairs remember is followed through as many failures as insight says.
func (s *Sight) Next(modes []uint16, setup int, tries [][]int) Step {
	h, ok := s.space.Index(modes)
	if !ok || h >= s.walker.net.n {
		return Step{Kind: WriteOff}
	}
	step, _ := s.next(int32(h), setup, tries, insight)
	return step
}

// insight is after how many failures in a row from now on a unit is taken to be given up.
const insight = 3

// next returns the best step under a hypothesis, and what it costs with all that follows: a failure that
// leaves the hypothesis as it is counts, whatever else happens is taken to be met as if repairs
// remembered nothing.
func (s *Sight) next(h int32, setup int, tries [][]int, failures int) (best Step, least float64) {
	best, least = Step{Kind: WriteOff}, s.Loss
	if s.better(Step{Kind: SignOff}, s.out[setup][h], best, least) {
		best, least = Step{Kind: SignOff}, s.out[setup][h]
	}
	if failures == 0 {
		return best, least
	}
	for _, r := range s.repairs {
		if home := s.model.Repairs[r].At == s.model.Root && setup != s.model.Root; !home && !s.mends(r, h) {
			continue // one that is done at the root shows at least what closing up has broken
		}
		step := Step{DoRepair, r}
		from := point{hyps: []int32{h}, p: []float64{1}, setup: setup, record: record{tries: tries}}
		after := s.walker.repair(s.walker.goTo(from, step, s.walker.net.n), r, s.walker.net.n)
		v := s.StepCost(step, setup)
		for i, g := range after.hyps {
			left := s.value[after.setup][g]
			if g == h && tries != nil && v < least {
				_, left = s.next(h, after.setup, after.tries, failures-1)
			}
			v += float64(after.p[i] * left)
		}
		if s.better(step, v, best, least) {
			best, least = step, v
		}
	}
	return best, least
}

// mends reports whether a repair may take away a fault of a hypothesis.
func (s *Sight) mends(repair int, h int32) bool {
	for _, f := range s.model.Repairs[repair].Change.Fixes {
		if f.P > 0 && slices.Contains(s.space.Modes(int(h)), uint16(f.Mode)) {
			return true
		}
	}
	return false
}
