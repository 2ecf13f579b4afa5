package belief

import "pitwise/engine/model"

// A Pair is two hypotheses that differ in one mode: With has it, in Without its
// component is sound.
type Pair struct{ With, Without int32 }

// Along returns which of the two a transition of the mode leads from, and which to.
func (p Pair) Along(t model.Transition) (from, to int32) {
	if t.Enters {
		return p.Without, p.With
	}
	return p.With, p.Without
}

// Pairs returns the pairs of a mode, by rising With. The slice is shared and must not be
// changed.
func (s *Space) Pairs(mode int) []Pair {
	return s.pairs.get(func() [][]Pair {
		all := make([][]Pair, len(s.model.Modes))
		rest := make([]uint16, 0, 6)
		for h := 1; h < s.Len(); h++ {
			modes := s.Modes(h)
			for at, i := range modes {
				rest = append(append(rest[:0], modes[:at]...), modes[at+1:]...)
				without, _ := s.Index(rest)
				all[i] = append(all[i], Pair{int32(h), int32(without)})
			}
		}
		return all
	})[mode]
}

// fullWithout calls f for every hypothesis of the largest size in which the mode's
// component is sound: where the mode cannot enter without being cut.
func (s *Space) fullWithout(mode int, f func(h int)) {
	c := s.model.Components[s.model.Modes[mode].Component]
	first, last := uint16(c.FirstMode), uint16(c.FirstMode+c.ModeCount-1)
	size := len(s.first) - 2
	at := s.start[size]
next:
	for h := s.first[size]; h < s.Len(); h++ {
		modes := s.flat[at : at+size]
		at += size
		for _, i := range modes {
			if first <= i && i <= last {
				continue next
			}
		}
		f(h)
	}
}

// move carries the share p of every mass a[from] over to a[to].
func (a masses) move(from, to int32, p float64) {
	if a.m[from] == 0 || p == 0 {
		return
	}
	m, e := settle(float64(a.m[from]*p), a.e[from])
	a.m[to], a.e[to] = plus(a.m[to], a.e[to], m, e)
	a.scale(int(from), 1-p, 0)
}

// change maps the masses through a change and returns the mass that was cut: first each
// mode in Fixes leaves, then each mode in Risks enters where its component is sound, each
// independently of the others. What would then have more faults than are kept is cut.
func (s *Space) change(a masses, c model.Change) (cut float64, level int32) {
	s.work.Add(uint64((1 + len(c.Fixes) + len(c.Risks)) * s.Len()))
	for t := range c.Transitions() {
		if t.Enters {
			s.fullWithout(t.Mode, func(h int) {
				m, e := settle(float64(a.m[h]*t.P), a.e[h])
				cut, level = plus(cut, level, m, e)
				a.scale(h, 1-t.P, 0)
			})
		}
		for _, p := range s.Pairs(t.Mode) {
			from, to := p.Along(t)
			a.move(from, to, t.P)
		}
	}
	return cut, level
}

// changeBack is the adjoint of change: with a the probability of what came later given
// each hypothesis after the change, it becomes that given each hypothesis before it.
func (s *Space) changeBack(a masses, c model.Change) {
	s.work.Add(uint64((1 + len(c.Fixes) + len(c.Risks)) * s.Len()))
	for t := range c.Backwards() {
		for _, p := range s.Pairs(t.Mode) {
			from, to := p.Along(t)
			a.scale(int(from), 1-t.P, 0)
			m, e := settle(float64(a.m[to]*t.P), a.e[to])
			a.m[from], a.e[from] = plus(a.m[from], a.e[from], m, e)
		}
		if t.Enters {
			s.fullWithout(t.Mode, func(h int) { a.scale(h, 1-t.P, 0) })
		}
	}
}

// Touches reports whether a change touches a test: whether a mode that it may take
// away or bring in stands among the test's given rows. None touches a told test, which
// speaks of the unit as it came in.
func (s *Space) Touches(c model.Change, test int) bool {
	if s.model.Tests[test].Told {
		return false
	}
	l := &s.laws[test]
	for t := range c.Transitions() {
		if l.row[t.Mode] >= 0 {
			return true
		}
	}
	return false
}
