package belief

import (
	"errors"
	"fmt"
	"sync"
	"sync/atomic"

	"pitwise/engine/model"
)

// MaxHypotheses is the most hypotheses that a space holds: as many as a model may keep.
const MaxHypotheses = model.MaxHypotheses

// ErrTooLarge says that a model has more than MaxHypotheses hypotheses.
var ErrTooLarge = errors.New("belief: too many hypotheses")

// A Space lists the hypotheses that a model keeps: hypothesis 0 is "all sound", then
// all single faults, then all pairs, and so on, each size in the order of its modes.
type Space struct {
	model *model.Model
	first []int    // first[k]: index of the first hypothesis with k faults; last entry: their number
	flat  []uint16 // the modes of all hypotheses of size 1, then of size 2, …
	start []int    // start[k]: where size k begins in flat
	stem  []int32  // stem[h]: hypothesis h without its last mode

	below  [][]int // below[j][m]: how many j-sets follow a mode before m, over modes of m's component and those before it
	prior  masses  // b0, normalised
	beyond float64 // 1 - the mass of the kept hypotheses before normalising

	laws   []law
	tables *tables
	work   atomic.Uint64
	pairs  slot[[][]Pair] // by mode
}

// A slot holds something that is made when it is first asked for.
type slot[T any] struct {
	once sync.Once
	v    T
}

func (s *slot[T]) get(make func() T) T {
	s.once.Do(func() { s.v = make() })
	return s.v
}

// NewSpace lists every hypothesis of m with at most m.MostFaults faults. The error is
// ErrTooLarge, wrapped, where there are more than MaxHypotheses.
func NewSpace(m *model.Model) (*Space, error) {
	s := &Space{model: m}
	k := min(m.MostFaults, len(m.Components))
	sets := sets(m, k)
	n := 0
	for size := 0; size <= k; size++ {
		s.first = append(s.first, n)
		n += sets[size][0]
		if n > MaxHypotheses {
			return nil, fmt.Errorf("%w: more than %d", ErrTooLarge, MaxHypotheses)
		}
	}
	s.first = append(s.first, n)
	s.rank(sets, k)
	s.list(k)
	s.stem = make([]int32, s.Len())
	for h := 1; h < s.Len(); h++ {
		modes := s.Modes(h)
		stem, _ := s.Index(modes[:len(modes)-1])
		s.stem[h] = int32(stem)
	}
	s.weigh(k)
	for i := range m.Tests {
		s.laws = append(s.laws, newLaw(m, &m.Tests[i]))
	}
	s.tables = newTables(len(m.Tests))
	return s, nil
}

// sets returns e with e[j][c] the number of ways to put j faults on the components
// from c on, clipped just above MaxHypotheses.
func sets(m *model.Model, k int) [][]int {
	e := make([][]int, k+1)
	for j := range e {
		e[j] = make([]int, len(m.Components)+1)
	}
	for c := len(m.Components); c >= 0; c-- {
		e[0][c] = 1
	}
	for j := 1; j <= k; j++ {
		for c := len(m.Components) - 1; c >= 0; c-- {
			e[j][c] = min(e[j][c+1]+e[j-1][c+1]*m.Components[c].ModeCount, MaxHypotheses+1)
		}
	}
	return e
}

// rank makes the tables from which Index works out where a hypothesis stands.
func (s *Space) rank(sets [][]int, k int) {
	m := s.model
	s.below = make([][]int, k)
	for j := range s.below {
		s.below[j] = make([]int, len(m.Modes)+1)
		for i := range m.Modes {
			s.below[j][i+1] = s.below[j][i] + sets[j][m.Modes[i].Component+1]
		}
	}
}

func (s *Space) list(k int) {
	m := s.model
	s.start = make([]int, k+2)
	for size := 1; size <= k; size++ {
		s.start[size+1] = s.start[size] + size*(s.first[size+1]-s.first[size])
	}
	s.flat = make([]uint16, 0, s.start[k+1])
	set := make([]uint16, 0, k)
	var put func(from, left int)
	put = func(from, left int) {
		if left == 0 {
			s.flat = append(s.flat, set...)
			return
		}
		for i := from; i < len(m.Modes); i++ {
			c := m.Components[m.Modes[i].Component]
			set = append(set, uint16(i))
			put(c.FirstMode+c.ModeCount, left-1)
			set = set[:len(set)-1]
		}
	}
	for size := 1; size <= k; size++ {
		put(0, size)
	}
}

// weigh works out the prior: w(S) is the product of the priors of the modes in S and
// of the soundness of all other components.
func (s *Space) weigh(k int) {
	m := s.model
	faulty := make([]float64, len(m.Components))
	sound := make([]float64, len(m.Components))
	odds := make([]float64, len(m.Modes)) // of a mode against its component being sound
	for c, comp := range m.Components {
		for i := comp.FirstMode; i < comp.FirstMode+comp.ModeCount; i++ {
			faulty[c] += m.Modes[i].Prior
		}
		sound[c] = 1 - faulty[c]
		for i := comp.FirstMode; i < comp.FirstMode+comp.ModeCount; i++ {
			odds[i] = m.Modes[i].Prior / sound[c]
		}
	}
	s.prior = newMasses(s.Len())
	for h := range s.prior.m {
		s.prior.m[h] = 1
		for _, i := range s.Modes(h) {
			s.prior.scale(h, odds[i], 0)
		}
	}
	s.prior.normalise() // the empty hypothesis has mass 1, so this cannot fail

	// The number of faults over all hypotheses, component by component: its tail is
	// what is never kept, as a sum of positive terms.
	tail := 0.0
	count := make([]float64, k+1)
	count[0] = 1
	for c := range m.Components {
		tail += float64(count[k] * faulty[c])
		for j := k; j >= 0; j-- {
			count[j] = float64(count[j] * sound[c])
			if j > 0 {
				count[j] += float64(count[j-1] * faulty[c])
			}
		}
	}
	s.beyond = tail
}

// Work returns how many masses have been multiplied or moved so far by all that was done in this
// space: what time is in proportion to, and the same on every machine.
func (s *Space) Work() uint64 { return s.work.Load() }

// Model returns the model whose hypotheses these are.
func (s *Space) Model() *model.Model { return s.model }

// Len returns the number of hypotheses.
func (s *Space) Len() int { return s.first[len(s.first)-1] }

// Size returns |S|, the number of faults of hypothesis h.
func (s *Space) Size(h int) int {
	k := 0
	for h >= s.first[k+1] {
		k++
	}
	return k
}

// Modes returns the modes of hypothesis h as indices in the model's Modes, rising. The
// slice is shared and must not be changed.
func (s *Space) Modes(h int) []uint16 {
	k := s.Size(h)
	at := s.start[k] + k*(h-s.first[k])
	return s.flat[at : at+k : at+k]
}

// Index returns the hypothesis that has just the given modes, which must be rising and
// of different components. It reports false if there are more than are kept.
func (s *Space) Index(modes []uint16) (int, bool) {
	k := len(modes)
	if k > len(s.below) {
		return 0, false
	}
	h := s.first[k]
	from := 0 // the first mode of the components that are still free
	for i, mode := range modes {
		left := s.below[k-1-i]
		h += left[mode] - left[from]
		c := s.model.Components[s.model.Modes[mode].Component]
		from = c.FirstMode + c.ModeCount
	}
	return h, true
}

// FirstOf returns the index of the first hypothesis with the given number of faults; Len
// if there is none.
func (s *Space) FirstOf(size int) int {
	if size >= len(s.first) {
		return s.Len()
	}
	return s.first[size]
}
