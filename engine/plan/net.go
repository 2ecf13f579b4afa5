package plan

import "pitwise/engine/model"

// A net is the hypotheses that a plan works with, the first n of the space (all of it, or
// those with few faults where it is large), with the steps between them.
type net struct {
	n     int
	full  int       // index of the first hypothesis of the largest size
	plus  [][]int32 // by mode and hypothesis: with the mode added; -1 if cut, or if its component is at fault
	minus [][]int32 // by mode and hypothesis: with the mode taken away; -1 if it has not got it
	room  [][]bool  // by mode and hypothesis of the largest size: its component is sound, so that it would be cut
}

// A plan works with netSize hypotheses at the most, and with no more than leave netLaws
// outcome odds in the tables of all tests.
const (
	netSize = 20_000
	netLaws = 8_000_000
)

// kept returns how many hypotheses the plans for a problem work with.
func (p *Problem) kept() int {
	outcomes := 0
	for i := range p.model.Tests {
		outcomes += len(p.model.Tests[i].Outcomes)
	}
	most := min(netSize, netLaws/outcomes)
	top := p.space.Size(p.space.Len() - 1)
	for top > 1 && p.space.FirstOf(top+1) > most {
		top--
	}
	return p.space.FirstOf(top + 1)
}

func (p *Problem) newNet() *net {
	s, m := p.space, p.model
	n := &net{n: p.kept()}
	n.full = s.FirstOf(s.Size(n.n - 1))
	n.plus, n.minus, n.room = make([][]int32, len(m.Modes)), make([][]int32, len(m.Modes)), make([][]bool, len(m.Modes))
	used := make([]bool, len(m.Modes))
	note := func(c model.Change) {
		for t := range c.Transitions() {
			used[t.Mode] = true
		}
	}
	for i := range m.Setups {
		note(m.Setups[i].Enter.Change)
		note(m.Setups[i].Leave.Change)
	}
	for i := range m.Repairs {
		note(m.Repairs[i].Change)
	}
	sound := make([][]bool, len(m.Components)) // in the hypotheses of the largest size
	for c := range sound {
		sound[c] = make([]bool, n.n-n.full)
		for h := range sound[c] {
			sound[c][h] = true
		}
	}
	for h := n.full; h < n.n; h++ {
		for _, i := range s.Modes(h) {
			sound[m.Modes[i].Component][h-n.full] = false
		}
	}
	for i := range m.Modes {
		if !used[i] {
			continue
		}
		n.plus[i], n.minus[i] = make([]int32, n.n), make([]int32, n.n)
		for h := range n.n {
			n.plus[i][h], n.minus[i][h] = -1, -1
		}
		for _, pair := range s.Pairs(i) {
			if int(pair.With) >= n.n {
				break
			}
			n.plus[i][pair.Without], n.minus[i][pair.With] = pair.With, pair.Without
		}
		n.room[i] = sound[m.Modes[i].Component]
	}
	return n
}

// along returns by hypothesis where a transition leads; -1 where it does not happen, or is cut.
func (n *net) along(t model.Transition) []int32 {
	if t.Enters {
		return n.plus[t.Mode]
	}
	return n.minus[t.Mode]
}

// cuts reports whether a transition takes a hypothesis out of the net.
func (n *net) cuts(t model.Transition, h int32) bool {
	return t.Enters && int(h) >= n.full && n.room[t.Mode][int(h)-n.full]
}

// back turns the value of each hypothesis after a change into its value before it. What
// would be cut is taken to stay as it is. Where self is given, it receives the probability
// that the hypothesis stays as it is.
func (n *net) back(v, self []float64, c model.Change) {
	for h := range self {
		self[h] = 1
	}
	for t := range c.Backwards() {
		for h, to := range n.along(t) {
			if to >= 0 {
				v[h] = float64((1-t.P)*v[h]) + float64(t.P*v[to])
				if self != nil {
					self[h] = float64(self[h] * (1 - t.P))
				}
			}
		}
	}
}
