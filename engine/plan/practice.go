package plan

import (
	"math"
	"slices"

	"pitwise/engine/model"
)

// What every repairer does whatever the totals say, by some cents: common practice, no source. A total is the cost of a plan that is
// written down now, and such a plan gives up too soon to see the use of it (keen.go).

// unlikely is below what odds of mending anything a repair is one on the off chance.
const unlikely = 0.1

// cure returns what goes before a repair on the off chance, the option at first: one that rather mends than not, if it is
// hardly dearer. Totals of plans say too much for a rag over the lens beside a switch that is probably what is wrong.
func (s *search) cure(first int) int {
	at := s.options[first].step
	if at.Kind != DoRepair || s.mends(at.Index) >= unlikely {
		return first
	}
	for i, o := range s.options {
		if o.value > s.options[first].value+float64(2*s.within()) {
			break
		}
		if o.step.Kind == DoRepair && s.mends(o.step.Index) >= 0.5 {
			return i
		}
	}
	return first
}

// doubtful is from what odds on, up to sure, a fault that a way out may bring is asked about by itself.
const doubtful = 0.2

// closing returns what goes before the option at first, or first: of the tests of few faults where the unit stands now that cost no
// more and were not run yet, the one that tells most for its cost of a fault that the way out to there may have brought.
// A lid that no longer presses its switch looks like a dead motor, and pressing it takes a minute.
func (s *search) closing(first int) int {
	next := s.options[first]
	if next.step.ends() {
		return first
	}
	asks := func(o option) bool {
		if o.step.Kind != DoTest || s.At(o.step, s.at.Setup) != s.at.Setup {
			return false
		}
		test := &s.model.Tests[o.step.Index]
		return !test.Told && len(test.Given) <= len(s.model.Modes)/few && s.testAt[test.Index] <= s.StepCost(next.step, s.at.Setup) &&
			(o.step == next.step || !s.root.run.has(test.Index))
	}
	found, most := first, 0.0
	for _, mode := range s.brought() {
		for i, o := range s.options {
			if o.value > next.value+s.within() || !asks(o) {
				continue
			}
			bits := s.tellsWhether(o.step, func(modes []float64, _ float64) float64 { return modes[mode] })
			if much := bits / (s.testAt[o.step.Index] + s.trifle()); bits >= slight && much > most {
				found, most = i, much
			}
		}
	}
	return found
}

// few is what part of all faults shows in a test that is about few of them.
const few = 4

// proving returns what goes before the option at first, or first: where that is the way home with a repair on it of which nothing was seen
// yet, of the tests that bear on what it fixes and can be run before that way, and cost less, the one that tells most for its cost of whether
// the unit is sound. A plan that gives the unit up if the try fails makes little of it.
func (s *search) proving(first int) int {
	next, home := s.options[first], s.model.Root
	if s.at.Setup == home || next.step.Kind == WriteOff || s.At(next.step, s.at.Setup) != home {
		return first
	}
	var repairs []*model.Repair
	for r := range s.model.Repairs {
		if repair := &s.model.Repairs[r]; repair.At != home && s.unproven(r) {
			repairs = append(repairs, repair)
		}
	}
	ahead := Step{SignOff, 0}
	found, most := first, 0.0
	for i, o := range s.options {
		if !s.passes(o.step, ahead) || s.At(o.step, s.at.Setup) == home || s.testAt[o.step.Index] > s.ways[s.at.Setup][home].cost {
			continue
		}
		test := &s.model.Tests[o.step.Index]
		if s.root.run.has(test.Index) || !slices.ContainsFunc(repairs, test.BearsOn) {
			continue
		}
		bits := s.tellsWhether(o.step, func(_ []float64, sound float64) float64 { return sound })
		if much := bits / (s.testAt[test.Index] + s.trifle()); bits >= slight && much > most {
			found, most = i, much
		}
	}
	return found
}

// unproven reports whether a repair was done and nothing was seen since of what it is for.
func (s *search) unproven(repair int) bool {
	if !slices.ContainsFunc(s.root.tried(repair), func(n int) bool { return n > 0 }) {
		return false
	}
	for t := range s.model.Tests {
		if !s.model.Tests[t].Told && s.root.run.has(t) && s.model.Tests[t].BearsOn(&s.model.Repairs[repair]) {
			return false
		}
	}
	return true
}

// brought returns the faults in doubt that a way out to where the unit stands may bring.
func (s *search) brought() []int {
	var modes []int
	odds, _ := s.modesOf(s.root.hyps, s.root.p)
	for i := range s.model.Setups {
		if s.model.Setups[i].Inside != s.at.Setup {
			continue
		}
		for _, risk := range s.model.Setups[i].Leave.Change.Risks {
			if odds[risk.Mode] >= doubtful && odds[risk.Mode] <= sure {
				modes = append(modes, risk.Mode)
			}
		}
	}
	return modes
}

// tellsWhether returns what a test is expected to tell of whether something holds, bits; part takes the odds of that from those of the
// modes, and of none.
func (s *search) tellsWhether(test Step, part func(modes []float64, sound float64) float64) float64 {
	there := s.lib.goTo(s.root, test, len(s.root.hyps))
	joint, all := s.lib.joint(nil, nil, there, test.Index)
	before := part(s.modesOf(there.hyps, there.p))
	bits := 0.0
	for o, p := range all {
		after := part(s.modesOf(there.hyps, joint[o]))
		for _, x := range []struct{ both, side float64 }{{after, before}, {p - after, 1 - before}} {
			if x.both > 0 && x.side > 0 && p > 0 {
				bits += float64(x.both * math.Log2(x.both/(p*x.side)))
			}
		}
	}
	return bits
}

// blind reports whether a step is a repair that was done twice, with no result of what it is for since: whoever has done it twice
// looks whether it helped before he does it again, however small the odds on which it pays to go on.
func (s *search) blind(step Step) bool {
	return step.Kind == DoRepair && s.unproven(step.Index) && slices.ContainsFunc(s.root.tried(step.Index), func(n int) bool { return n > 1 })
}
