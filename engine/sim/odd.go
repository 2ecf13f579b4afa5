package sim

import (
	"slices"

	"pitwise/engine/plan"
)

// Odd counts what a repairer would shake his head at.
type Odd struct {
	// Repeated is how often a repair was done for the third time, or a later one, with no new
	// result since the first of those.
	Repeated int
	// Unmeasured is how often a repair was done without a result that it asks for, and how often
	// a weighty one (model.Repair.Weighty) was done with no result yet that bears on what it
	// fixes, but for what the owner said, the intake test and the proof.
	Unmeasured int
	// Unproven is how often the way home from a repair was taken, into the root setup, without
	// a result since that bears on what the repair fixes, where such a test could have been done
	// on the way.
	Unproven int
	// SignedOff is how often a unit was signed off with a fault in.
	SignedOff int
}

func (o *Odd) add(more Odd) {
	o.Repeated += more.Repeated
	o.Unmeasured += more.Unmeasured
	o.Unproven += more.Unproven
	o.SignedOff += more.SignedOff
}

// A watch looks out for what is odd in one evening.
type watch struct {
	bench   *Bench
	row     []int   // by repair: how often it was done since the last result
	looked  []bool  // by test: whether it was done, the owner's word, intake and proof left out
	mended  int     // the last repair that was done away from the root with no telling result since; -1 if none
	bearing [][]int // by repair: the tests that bear on what it fixes, told ones left out
}

func newWatch(b *Bench) *watch {
	m := b.model()
	w := &watch{bench: b, row: make([]int, len(m.Repairs)), looked: make([]bool, len(m.Tests)), mended: -1, bearing: make([][]int, len(m.Repairs))}
	for r := range m.Repairs {
		for t := range m.Tests {
			if !m.Tests[t].Told && m.Tests[t].BearsOn(&m.Repairs[r]) {
				w.bearing[r] = append(w.bearing[r], t)
			}
		}
	}
	return w
}

// step looks at a step before it is done.
func (w *watch) step(s plan.Step, odd *Odd) {
	b := w.bench
	m := b.model()
	if s.Kind == plan.WriteOff {
		return
	}
	if at := b.At(s, b.Setup); at == m.Root && b.Setup != m.Root && w.mended >= 0 {
		if slices.ContainsFunc(w.bearing[w.mended], func(t int) bool { return w.onTheWay(t) }) {
			odd.Unproven++
		}
		w.mended = -1
	}
	switch s.Kind {
	case plan.DoRepair:
		r := &m.Repairs[s.Index]
		if w.row[s.Index]++; w.row[s.Index] >= 3 {
			odd.Repeated++
		}
		blind := r.Weighty() && !slices.ContainsFunc(w.bearing[s.Index], func(t int) bool { return w.looked[t] })
		if blind || !r.OnlyAfter.Met(b.Seen) {
			odd.Unmeasured++
		}
		if r.At != m.Root {
			w.mended = s.Index
		}
	case plan.DoTest:
		clear(w.row)
		if s.Index != m.Intake && s.Index != m.Proof {
			w.looked[s.Index] = true
		}
		if w.mended >= 0 && slices.Contains(w.bearing[w.mended], s.Index) {
			w.mended = -1
		}
	}
}

// onTheWay reports whether a test can be done in a setup that the unit stands in or leaves on
// its way to the root, the root left out.
func (w *watch) onTheWay(test int) bool {
	b := w.bench
	m := b.model()
	if !b.can(test) {
		return false
	}
	for at := b.Setup; at != m.Root; at = m.Setups[at].Inside {
		if m.Tests[test].At == at {
			return true
		}
	}
	return false
}
