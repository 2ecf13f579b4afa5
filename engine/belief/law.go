package belief

import (
	"slices"
	"sync"
	"sync/atomic"

	"pitwise/engine/model"
)

// A law is the outcome law of one test, laid out so that no difference of numbers near
// 1 is ever taken. With Q the cumulative sums of a row and r_f(k) = Q_f(k)/Q_h(k),
//
//	F(k|S) = Q_h(k) * prod over f in S of r_f(k),   P(k|S) = F(k|S) - F(k-1|S)
//
// which, telescoped over the factors, is a sum of terms that are not negative:
//
//	P(k|S) = h(k) * prod r_f(k)
//	       + Q_h(k-1) * sum over i of prod_{j<i} r_j(k-1) * d_i(k) * prod_{j>i} r_j(k)
//	d_f(k) = r_f(k) - r_f(k-1) = (p_f(k) Q_h(k-1) - Q_f(k-1) h(k)) / (Q_h(k) Q_h(k-1))
//
// The rows of a model include what a sound unit shows by itself (Henrion); the ratios
// r do not.
// Source: leaky noisy-MAX; Henrion (1989) for the parameters, Díez (1993) for MAX.
type law struct {
	healthy []float64
	below   []float64   // below[k] = Q_h(k-1)
	row     []int       // by mode: its index in ratio and rise, or -1
	ratio   [][]float64 // ratio[i][k] = r(k)
	rise    [][]float64 // rise[i][k] = d(k), k > 0
}

func newLaw(m *model.Model, t *model.Test) law {
	n := len(t.Outcomes)
	l := law{healthy: t.Healthy, below: make([]float64, n), row: make([]int, len(m.Modes))}
	for k := 1; k < n; k++ {
		l.below[k] = l.below[k-1] + t.Healthy[k-1]
	}
	for i := range l.row {
		l.row[i] = -1
	}
	for i, g := range t.Given {
		l.row[g.Mode] = i
		ratio, rise := make([]float64, n), make([]float64, n)
		below := 0.0
		for k, p := range g.P {
			all := l.below[k] + t.Healthy[k]
			ratio[k] = (below + p) / all
			if k > 0 {
				rise[k] = (float64(p*l.below[k]) - float64(below*t.Healthy[k])) / float64(all*l.below[k])
			}
			below += p
		}
		l.ratio = append(l.ratio, ratio)
		l.rise = append(l.rise, rise)
	}
	return l
}

// outcomes fills dst with P(.|S) for the S whose modes that matter here have these rows.
func (l *law) outcomes(dst []float64, rows []int) {
	for k, h := range l.healthy {
		p := h
		for _, i := range rows {
			p = float64(p * l.ratio[i][k])
		}
		if k > 0 {
			for at, i := range rows {
				term := float64(l.below[k] * l.rise[i][k])
				for _, j := range rows[:at] {
					term = float64(term * l.ratio[j][k-1])
				}
				for _, j := range rows[at+1:] {
					term = float64(term * l.ratio[j][k])
				}
				p += term
			}
		}
		dst[k] = max(p, 0) // a row may fall short of the ratio rule by its tolerance
	}
}

// classes sorts the hypotheses by what a test can show of them: all hypotheses that have
// the same modes among the test's given rows look alike to it.
type classes struct {
	work    *atomic.Uint64 // the space's
	of      []int32        // the class of each hypothesis; class 0 is "nothing that matters here"
	n       int            // number of classes
	p       []float64      // p[c*outcomes+k] = P(k|S) for S in class c
	entropy []float64      // of each class's row, bits
	asked   atomic.Uint64  // when it was last asked for
}

// rows returns class c's probabilities.
func (c *classes) row(class, outcomes int) []float64 {
	return c.p[class*outcomes : (class+1)*outcomes]
}

// tablesBytes is how much memory the tables of tests may take; beyond it, those that were asked
// for longest ago go, and are made again when they are asked for.
const tablesBytes = 96 << 20

// classesOf returns the table of a test, making it if need be.
func (s *Space) classesOf(test int) *classes { return s.classesAmong(test, s.Len()) }

// classesAmong returns the table of a test for the first n hypotheses, which must be all of
// some sizes. Its classes are numbered as those of any longer table.
func (s *Space) classesAmong(test, n int) *classes {
	t := &s.tables.whole[test]
	if n < s.Len() {
		t = &s.tables.part[test]
	}
	c := t.Load()
	if c == nil || len(c.of) != n {
		c = s.tables.keep(t, s.newClasses(test, n))
	}
	c.asked.Store(s.tables.clock.Add(1))
	return c
}

// tables are what is kept of the tables of tests: whole ones, and ones for the first few
// sizes of hypotheses. They are safe for concurrent use.
type tables struct {
	whole, part []atomic.Pointer[classes]
	clock       atomic.Uint64
	mu          sync.Mutex // guards bytes, and who comes and goes
	bytes       int
	room        int // for bytes
}

func newTables(tests int) *tables {
	return &tables{whole: make([]atomic.Pointer[classes], tests), part: make([]atomic.Pointer[classes], tests), room: tablesBytes}
}

// keep puts a table in its place and makes room for it. It returns the table, or an equal
// one that was there sooner.
func (t *tables) keep(at *atomic.Pointer[classes], c *classes) *classes {
	t.mu.Lock()
	defer t.mu.Unlock()
	if old := at.Load(); old != nil {
		if len(old.of) == len(c.of) {
			return old
		}
		t.bytes -= old.bytes()
	}
	at.Store(c)
	c.asked.Store(t.clock.Add(1))
	for t.bytes += c.bytes(); t.bytes > t.room; {
		oldest := at
		for _, row := range [2][]atomic.Pointer[classes]{t.whole, t.part} {
			for i := range row {
				if one := row[i].Load(); one != nil && one.asked.Load() < oldest.Load().asked.Load() {
					oldest = &row[i]
				}
			}
		}
		if oldest == at {
			break // the only one
		}
		t.bytes -= oldest.Load().bytes()
		oldest.Store(nil)
	}
	return c
}

func (c *classes) bytes() int { return 4*cap(c.of) + 8*cap(c.p) + 8*cap(c.entropy) }

// newClasses makes the table of a test for the first n hypotheses.
func (s *Space) newClasses(test, n int) *classes {
	l := &s.laws[test]
	outcomes := len(l.healthy)
	c := &classes{work: &s.work, of: make([]int32, n)}
	// Of each class: the class without its last row, that row, and where the classes that
	// hang on it begin in hangs (0 before there is one: few classes have any).
	type hook struct{ from, row, hangs int32 }
	hooks := []hook{{0, -1, 0}}
	// A hypothesis is in the class of the one without its last mode, or, where that mode
	// matters, in a class that hangs on it.
	hangs := make([]int32, 1) // blocks of a class for each row, 0 for none yet
	h := 1
	for size := 1; h < n; size++ {
		last := s.start[size] + size - 1
		for ; h < s.first[size+1]; h++ {
			class := c.of[s.stem[h]]
			if r := l.row[s.flat[last]]; r >= 0 {
				if hooks[class].hangs == 0 {
					hooks[class].hangs = int32(len(hangs))
					hangs = append(hangs, make([]int32, len(l.ratio))...)
				}
				at := int(hooks[class].hangs) + r
				if hangs[at] == 0 {
					hangs[at] = int32(len(hooks))
					hooks = append(hooks, hook{class, int32(r), 0})
				}
				class = hangs[at]
			}
			c.of[h] = class
			last += size
		}
	}
	c.n = len(hooks)
	c.p, c.entropy = make([]float64, c.n*outcomes), make([]float64, c.n)
	var set []int
	for class := range hooks {
		set = set[:0]
		for at := class; at != 0; at = int(hooks[at].from) {
			set = append(set, int(hooks[at].row))
		}
		slices.Reverse(set)
		p := c.row(class, outcomes)
		l.outcomes(p, set)
		c.entropy[class] = Entropy(p)
	}
	return c
}

// Outcomes returns the probability of each outcome of a test when exactly the modes of
// hypothesis h are present, best outcome first, in dst if it is large enough. The
// entries sum to 1 as nearly as the model's rows do.
func (s *Space) Outcomes(dst []float64, test, h int) []float64 {
	return s.OutcomesOf(dst, test, s.Modes(h))
}

// OutcomesOf is Outcomes for the faults that are given, which may be more than are kept.
func (s *Space) OutcomesOf(dst []float64, test int, modes []uint16) []float64 {
	l := &s.laws[test]
	var rows []int
	for _, i := range modes {
		if r := l.row[i]; r >= 0 {
			rows = append(rows, r)
		}
	}
	if cap(dst) < len(l.healthy) {
		dst = make([]float64, len(l.healthy))
	}
	dst = dst[:len(l.healthy)]
	l.outcomes(dst, rows)
	return dst
}

// Classes returns the class of each hypothesis for a test, and the outcome odds of each
// class, class by class: hypotheses of one class look alike to the test. Both slices
// are shared and must not be changed.
func (s *Space) Classes(test int) (of []int32, odds []float64) {
	return s.ClassesAmong(test, s.Len())
}

// ClassesAmong is Classes for the first n hypotheses alone; n must be what FirstOf returns.
func (s *Space) ClassesAmong(test, n int) (of []int32, odds []float64) {
	c := s.classesAmong(test, n)
	return c.of, c.p
}
