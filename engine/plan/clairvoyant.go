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

// A Sight is the best plan of a person who always knows just what is wrong.
type Sight struct {
	*Problem
	net   *net
	value [][]float64
}

// NewSight works the plan out.
func NewSight(p *Problem) *Sight {
	n := p.newNet()
	return &Sight{p, n, p.clairvoyant(n)}
}

// Cost returns what the plan costs from a setup when just the given modes are wrong, if every
// repair is on offer and remembers nothing: nobody pays less. It is what writing off costs where the modes
// are more than the plan holds.
func (s *Sight) Cost(modes []uint16, setup int) float64 {
	h, ok := s.space.Index(modes)
	if !ok || h >= s.net.n {
		return s.Loss
	}
	return s.value[setup][h]
}

// Next returns the best step when just the given modes are wrong and repairs have failed as tries
// says (model.Untried; nil for none): writing off where they are more than the plan holds. A try
// that changes nothing is taken to be the last one with that repair, so that what goes on
// failing is given up.
func (s *Sight) Next(modes []uint16, setup int, tries [][]int) Step {
	best := Step{Kind: WriteOff}
	h, ok := s.space.Index(modes)
	if !ok || h >= s.net.n {
		return best
	}
	least := s.Loss
	consider := func(step Step, v float64) {
		if s.better(step, v, best, least) {
			best, least = step, v
		}
	}
	consider(Step{Kind: SignOff}, s.signOff(s.net, setup)[h])
	for _, r := range s.repairs {
		rep := &s.model.Repairs[r]
		v := append([]float64(nil), s.value[rep.At]...)
		change := rep.Change
		if tries != nil && tries[r] != nil {
			change = rep.After(tries[r])
			if slices.Max(tries[r]) > 0 {
				v[h] = min(s.Loss, s.signOff(s.net, rep.At)[h])
			}
		}
		s.net.back(v, nil, change)
		w := &s.ways[setup][rep.At]
		for i := len(w.changes) - 1; i >= 0; i-- {
			s.net.back(v, nil, w.changes[i])
		}
		consider(Step{DoRepair, r}, w.cost+s.fixAt[r]+v[h])
	}
	return best
}
