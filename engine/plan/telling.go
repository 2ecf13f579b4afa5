package plan

import (
	"math"
	"slices"

	"pitwise/engine/model"
)

// What the habits ask of a situation: what was done and seen, and what a test would tell.

// afterwards returns what is most likely next after a test, and the odds that it is something else.
func (s *search) afterwards(test Step) (most Step, otherwise float64) {
	there, joint, odds := s.shown(test)
	next := map[Step]float64{}
	for o, p := range odds {
		if p <= 0 {
			continue
		}
		after := s.lib.see(there, test.Index, o, joint[o], p, len(there.hyps))
		best, _ := s.lib.best(after.setup, after.hyps, after.p, after.record, s.skip)
		if next[best.step] += p; next[best.step] > next[most] {
			most = best.step
		}
	}
	return most, 1 - next[most]
}

// hardlyDearer returns the first test for which something holds and that is hardly dearer than the option at first; that one if there is none.
func (s *search) hardlyDearer(first int, holds func(test Step) bool) int {
	for i, o := range s.options {
		if o.value > s.options[first].value+float64(2*s.within()) {
			break
		}
		if o.step.Kind == DoTest && holds(o.step) {
			return i
		}
	}
	return first
}

// ownStart reports whether a test is a start with a disc of the bench's own.
func (s *search) ownStart(test int) bool {
	return s.model.EndsAsProof(&s.model.Tests[test]) && !s.model.Theirs(&s.model.Tests[test])
}

// failed reports whether a start with a disc of the bench's own failed when it was last run.
func (s *search) failed(test int) bool { return s.seen(test) > 0 && s.ownStart(test) }

// harmless reports whether a step is a test that was not run since anything touched it and is no more dangerous than another step.
func (s *search) harmless(step, other Step) bool {
	return step.Kind == DoTest && s.runs(step) == 0 && s.Hazard(step, s.at.Setup) <= s.Hazard(other, s.at.Setup)
}

// about returns the odds that a test is about: those of the faults that show in it, together.
func (s *search) about(test int) float64 {
	sum := 0.0
	for _, given := range s.model.Tests[test].Given {
		sum += s.modes[given.Mode]
	}
	return sum
}

// few is what part of all faults shows in a test that is about few of them.
const few = 4

// ofFew reports whether a test is about few faults.
func (s *search) ofFew(test int) bool {
	return len(s.model.Tests[test].Given) <= len(s.model.Modes)/few
}

// seen returns the last outcome of a test on this unit, -1 for none.
func (s *search) seen(test int) int {
	if test < len(s.at.Seen) {
		return s.at.Seen[test]
	}
	return -1
}

// started reports whether the proof, or another test that at best ends as it does, came out best since anything touched it.
func (s *search) started() bool {
	return s.startedBy(func(test int) int {
		if !s.root.run.has(test) {
			return -1
		}
		return s.seen(test)
	})
}

// startedBy is started by the last outcomes of tests.
func (s *search) startedBy(seen func(test int) int) bool {
	for t := range s.model.Tests {
		if seen(t) == 0 && s.model.EndsAsProof(&s.model.Tests[t]) {
			return true
		}
	}
	return false
}

// ofDisc returns the odds of what shows in a test of everything and not in the proof: with their disc, and not with another.
func (s *search) ofDisc(test *model.Test) (disc float64) {
	for _, given := range test.Given {
		if _, ok := s.model.Tests[s.model.Proof].Row(given.Mode); !ok {
			disc += s.modes[given.Mode]
		}
	}
	return disc
}

// showed reports whether a look at few faults, with nothing touched since, has shown what a repair rather mends than not.
func (s *search) showed(repair int) bool {
	for t := range s.model.Tests {
		test, outcome := &s.model.Tests[t], s.seen(t)
		if outcome <= 0 || test.Told || !s.ofFew(t) || !s.root.run.has(t) {
			continue
		}
		for _, fix := range s.model.Repairs[repair].Change.Fixes {
			if row, ok := test.Row(fix.Mode); ok && fix.P >= half && row[outcome]/test.Healthy[outcome] >= unmistakable {
				return true
			}
		}
	}
	return false
}

// unmistakable is how many times likelier with a fault than without it what a look shows has to be, to show it.
const unmistakable = 100

// shows returns the odds that a fault is there and a test comes out otherwise than best for it, of all faults and of one at the most.
func (s *search) shows(test Step) (all, one float64) {
	there, joint, _ := s.shown(test)
	with, sound := s.modesOf(there.hyps, there.p)
	best, right := s.modesOf(there.hyps, joint[0])
	if sound <= 0 {
		return 0, 0
	}
	for mode, p := range with {
		shown := max(float64(p*(right/sound))-best[mode], 0)
		all, one = all+shown, max(one, shown)
	}
	return all, one
}

// twice reports whether a step is a repair that was done twice already.
func (s *search) twice(step Step) bool {
	return step.Kind == DoRepair && slices.ContainsFunc(s.root.tried(step.Index), func(n int) bool { return n > 1 })
}

// vain reports whether a step is a repair that was done twice and is expected to help less than half as often as the first time.
func (s *search) vain(step Step) bool {
	if !s.twice(step) {
		return false
	}
	now := s.mended(step.Index)
	return slices.ContainsFunc(s.model.Repairs[step.Index].Change.Fixes, func(fix model.Chance) bool {
		return fix.Mode == now.Mode && now.P < float64(s.modes[fix.Mode]*fix.P)/2
	})
}

// blind reports whether a step is a repair that was done twice with nothing seen since of what it is for.
func (s *search) blind(step Step) bool { return s.twice(step) && s.unproven(step.Index) }

// sees returns, of the tests of what some repairs are for that were not run since and may be taken, the one that tells most for its cost of
// whether the unit is sound; -1 if none tells of it.
func (s *search) sees(repairs []int, may func(option) bool) int {
	at, _ := s.mostTelling(func(o option) bool {
		test := &s.model.Tests[o.step.Index]
		return !test.Told && !s.root.run.has(test.Index) && may(o) &&
			slices.ContainsFunc(repairs, func(r int) bool { return test.BearsOn(&s.model.Repairs[r]) })
	}, func(_ []float64, sound float64) float64 { return sound })
	return at
}

// mostTelling returns, of the tests that may be taken, the one that tells most for its cost of whether something holds, and how much; -1
// if none tells of it. A way that is taken anyhow costs nothing.
func (s *search) mostTelling(may func(option) bool, part func(modes []float64, sound float64) float64) (at int, most float64) {
	at = -1
	for i, o := range s.options {
		if o.step.Kind != DoTest || !may(o) {
			continue
		}
		cost := s.StepCost(o.step, s.at.Setup)
		if s.passes(o.step, Step{Kind: SignOff}) {
			cost = s.testAt[o.step.Index]
		}
		bits := s.tellsWhether(o.step, part)
		if much := bits / (cost + s.trifle()); bits >= slight && much > most {
			at, most = i, much
		}
	}
	return at, most
}

// tellingMost returns, of the tests that may be taken, the one that tells most for its cost, the way there with it; the option at first if none tells anything.
func (s *search) tellingMost(first int, may func(test Step) bool) int {
	found, most := first, 0.0
	for i, o := range s.options {
		if o.step.Kind != DoTest || !may(o.step) {
			continue
		}
		bits := s.bits(o.step)
		if much := bits / (s.StepCost(o.step, s.at.Setup) + s.trifle()); bits >= slight && much > most {
			found, most = i, much
		}
	}
	return found
}

// those returns the repairs of which something holds.
func (s *search) those(holds func(repair int) bool) (repairs []int) {
	for r := range s.model.Repairs {
		if holds(r) {
			repairs = append(repairs, r)
		}
	}
	return repairs
}

// unproven reports whether a repair was done and nothing was seen since of what it is for.
func (s *search) unproven(repair int) bool {
	if !s.tried(repair) {
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
	for i := range s.model.Setups {
		if s.model.Setups[i].Inside != s.at.Setup {
			continue
		}
		for _, risk := range s.model.Setups[i].Leave.Change.Risks {
			if s.modes[risk.Mode] >= doubtful && s.modes[risk.Mode] <= sure {
				modes = append(modes, risk.Mode)
			}
		}
	}
	return modes
}

// tellsWhether returns what a test is expected to tell of whether something holds, bits; part takes the odds of that from those of the
// modes, and of none.
func (s *search) tellsWhether(test Step, part func(modes []float64, sound float64) float64) float64 {
	there, joint, all := s.shown(test)
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

// tried reports whether a repair was done that may have been in vain.
func (s *search) tried(repair int) bool {
	return slices.ContainsFunc(s.root.tried(repair), func(n int) bool { return n > 0 })
}

// halves reports whether a test may, in one case of thirty, halve the odds of a fault.
func (s *search) halves(test Step, mode int) bool {
	there, joint, odds := s.shown(test)
	before, _ := s.modesOf(there.hyps, there.p)
	for o, p := range odds {
		if after, _ := s.modesOf(there.hyps, joint[o]); p >= 1.0/30 && after[mode] <= float64(p*before[mode])/2 {
			return true
		}
	}
	return false
}
