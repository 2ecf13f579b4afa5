package exact

import (
	"encoding/binary"
	"math/bits"

	"pitwise/engine/plan"
)

// A past is what was done so far, as far as it bears on what comes next. It is immutable.
type past struct {
	runs   runs
	counts []uint8 // by test and outcome, since a change touched the test; nil in a loose graph

	tries [][]int // as those of a plan.Situation
	tried string  // the same, to compare
	opens opens
}

// bears reports whether a lower bound that is known after k holds after n too: no test was run more
// often there, the same repairs failed as often, and no more of them are on offer.
func (k *past) bears(n *past) bool {
	return k.runs.within(&n.runs) && k.tried == n.tried && n.opens.within(k.opens) && (k.counts == nil || n.counts != nil && fewer(k.counts, n.counts))
}

// serves reports whether a plan that was found after k can be followed after n: no test was run
// more often, the same repairs failed as often, and no fewer are on offer.
func (k *past) serves(n *past) bool {
	return n.runs.within(&k.runs) && k.tried == n.tried && k.opens.within(n.opens) && fewer(n.counts, k.counts)
}

// fewer reports whether no count of a is above that of b.
func fewer(a, b []uint8) bool {
	for i, c := range a {
		if c > b[i] {
			return false
		}
	}
	return true
}

// remember gives a past its tries.
func (k *past) remember(tries [][]int) {
	k.tries = tries
	var key []byte
	for _, row := range tries {
		for _, n := range row {
			key = binary.AppendUvarint(key, uint64(n))
		}
	}
	k.tried = string(key)
}

// runs is how often each test was run since it was touched, four bits a test, at most 7.
type runs [mostTests / 16]uint64

func (r runs) of(t int) int { return int(r[t>>4]>>(4*(t&15))) & 7 }
func (r runs) with(t, most int) runs {
	if r.of(t) < most {
		r[t>>4] += 1 << (4 * (t & 15))
	}
	return r
}

// without returns r with some tests never run.
func (r runs) without(tests []int) runs {
	for _, t := range tests {
		r[t>>4] &^= 7 << (4 * (t & 15))
	}
	return r
}

// within reports whether no test was run more often in r than in o.
func (r *runs) within(o *runs) bool {
	const top = 0x8888888888888888
	for i, x := range r {
		if ((o[i]|top)-x)&top != top {
			return false
		}
	}
	return true
}

// opens is what the last result of each test that some repair asks for opens, a bit for each demand
// of a gate; nil where no repair asks.
type opens []uint64

// within reports whether all that o opens is open in x as well.
func (o opens) within(x opens) bool {
	for i, m := range o {
		if m&^x[i] != 0 {
			return false
		}
	}
	return true
}

// A gate knows which results put which repairs on offer.
type gate struct {
	tests   []int      // that repairs ask for, rising
	index   []int      // by test: its place in tests, -1 for none
	mask    [][]uint64 // by place and outcome: the demands that it meets
	demands [][]uint64 // by repair: those of its demands, by place; nil if it is on offer whatever was seen
}

// newGate reads the demands of the repairs at hand. ok is false for more than 64 of one test.
func newGate(p *plan.Problem) (g *gate, ok bool) {
	m := p.Space().Model()
	g = &gate{index: make([]int, len(m.Tests)), demands: make([][]uint64, len(m.Repairs))}
	asked := make([]bool, len(m.Tests))
	for _, r := range p.Repairs() {
		if !p.Open(r, nil) {
			for _, s := range m.Repairs[r].OnlyAfter.Any {
				asked[s.Test] = true
			}
		}
	}
	for t := range m.Tests {
		g.index[t] = -1
		if asked[t] {
			g.index[t] = len(g.tests)
			g.tests = append(g.tests, t)
			g.mask = append(g.mask, make([]uint64, len(m.Tests[t].Outcomes)))
		}
	}
	next := make([]int, len(g.tests))
	for _, r := range p.Repairs() {
		if p.Open(r, nil) {
			continue
		}
		g.demands[r] = make([]uint64, len(g.tests))
		for _, s := range m.Repairs[r].OnlyAfter.Any {
			i := g.index[s.Test]
			if next[i] == 64 {
				return nil, false
			}
			g.demands[r][i] |= 1 << next[i]
			for _, o := range s.Outcomes {
				g.mask[i][o] |= 1 << next[i]
			}
			next[i]++
		}
	}
	return g, true
}

// offers reports whether a repair is on offer.
func (g *gate) offers(repair int, o opens) bool {
	if g.demands[repair] == nil {
		return true
	}
	for i, m := range g.demands[repair] {
		if m&o[i] != 0 {
			return true
		}
	}
	return false
}

// after returns what is open after an outcome of a test; with also, what was open stays so.
func (g *gate) after(o opens, test, outcome int, also bool) opens {
	i := g.index[test]
	if i < 0 {
		return o
	}
	m := g.mask[i][outcome]
	if also {
		m |= o[i]
	}
	if m == o[i] {
		return o
	}
	next := append(opens(nil), o...)
	next[i] = m
	return next
}

// opensMore reports whether some outcome of a test opens what is not open.
func (g *gate) opensMore(o opens, test int) bool {
	i := g.index[test]
	if i < 0 {
		return false
	}
	for _, m := range g.mask[i] {
		if m&^o[i] != 0 {
			return true
		}
	}
	return false
}

// of returns what the last outcomes of all tests open, -1 for none; nil for none at all.
func (g *gate) of(seen []int) opens {
	if len(g.tests) == 0 {
		return nil
	}
	o := make(opens, len(g.tests))
	for i, t := range g.tests {
		if seen != nil && seen[t] >= 0 {
			o[i] = g.mask[i][seen[t]]
		}
	}
	return o
}

// all is what is open where everything is.
func (g *gate) all() opens {
	if len(g.tests) == 0 {
		return nil
	}
	o := make(opens, len(g.tests))
	for i := range o {
		for _, m := range g.mask[i] {
			o[i] |= m
		}
	}
	return o
}

// seen returns last outcomes, by test, that open no more than is open, and as much as one outcome
// of each can.
func (g *gate) seen(o opens) []int {
	seen := make([]int, len(g.index))
	for t, i := range g.index {
		seen[t] = -1
		if i < 0 {
			continue
		}
		most := 0
		for k, m := range g.mask[i] {
			if n := bits.OnesCount64(m); m&^o[i] == 0 && n > most {
				seen[t], most = k, n
			}
		}
	}
	return seen
}
