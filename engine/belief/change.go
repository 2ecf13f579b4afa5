package belief

import "pitwise/engine/model"

// A Pair is two hypotheses that differ in one mode: With has it, in Without its
// component is sound.
type Pair struct{ With, Without int32 }

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
	for _, f := range c.Fixes {
		for _, p := range s.Pairs(f.Mode) {
			a.move(p.With, p.Without, f.P)
		}
	}
	for _, r := range c.Risks {
		s.fullWithout(r.Mode, func(h int) {
			m, e := settle(float64(a.m[h]*r.P), a.e[h])
			cut, level = plus(cut, level, m, e)
			a.scale(h, 1-r.P, 0)
		})
		for _, p := range s.Pairs(r.Mode) {
			a.move(p.Without, p.With, r.P)
		}
	}
	return cut, level
}

// changeBack is the adjoint of change: with a the probability of what came later given
// each hypothesis after the change, it becomes that given each hypothesis before it.
func (s *Space) changeBack(a masses, c model.Change) {
	s.work.Add(uint64((1 + len(c.Fixes) + len(c.Risks)) * s.Len()))
	blend := func(at, other int32, p float64) {
		a.scale(int(at), 1-p, 0)
		m, e := settle(float64(a.m[other]*p), a.e[other])
		a.m[at], a.e[at] = plus(a.m[at], a.e[at], m, e)
	}
	for i := len(c.Risks) - 1; i >= 0; i-- {
		r := c.Risks[i]
		for _, p := range s.Pairs(r.Mode) {
			blend(p.Without, p.With, r.P)
		}
		s.fullWithout(r.Mode, func(h int) { a.scale(h, 1-r.P, 0) })
	}
	for i := len(c.Fixes) - 1; i >= 0; i-- {
		f := c.Fixes[i]
		for _, p := range s.Pairs(f.Mode) {
			blend(p.With, p.Without, f.P)
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
	for _, f := range c.Fixes {
		if l.row[f.Mode] >= 0 {
			return true
		}
	}
	for _, r := range c.Risks {
		if l.row[r.Mode] >= 0 {
			return true
		}
	}
	return false
}
