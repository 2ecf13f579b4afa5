package plan

import (
	"slices"
)

// What every repairer does whatever the totals say, by some cents: common practice, no source. A total is the cost of a plan that is
// written down now, and such a plan gives up too soon to see the use of it (keen.go).

// habits are asked in this order: each takes the option that comes first and returns the one that goes before it, or the same.
var habits = []func(s *search, first int) int{
	(*search).anyhow, (*search).asking, (*search).cure, (*search).mending, (*search).looking, (*search).meeting, (*search).closing,
	(*search).another, (*search).suspecting, (*search).sparing, (*search).trying, (*search).proving, (*search).seeing, (*search).lasting, (*search).enduring, (*search).hunting, (*search).again, (*search).theirs, (*search).ours, (*search).righting,
}

// anyhow returns what goes before a test, the option at first: what is next whatever it shows, where the unit stands for it, and the test can be run after
// it as well. Both are done either way, and what is done first may spare the other: nobody knocks on the case before he wipes the lens all the same.
func (s *search) anyhow(first int) int {
	for passed := map[int]bool{}; !passed[first]; { // of two that lead to each other the one that came first stays
		passed[first] = true
		first = s.leads(first)
	}
	return first
}

// leads returns the option that goes so before another, or that one.
func (s *search) leads(from int) int {
	next := s.options[from]
	if next.step.Kind != DoTest {
		return from
	}
	most, otherwise := s.afterwards(next.step)
	i := slices.IndexFunc(s.options, func(o option) bool { return o.step == most })
	if i < 0 || most.ends() || s.At(most, s.at.Setup) != s.At(next.step, s.at.Setup) || s.stale(most) || s.blind(most) ||
		s.options[i].value > next.value+s.within() || float64(otherwise*s.StepCost(most, s.at.Setup)) > s.StepCost(next.step, s.at.Setup)/2 {
		return from
	}
	return i
}

// ours returns what goes before a start of their disc, or before another test of everything after a repair of which nothing was seen yet, the option at
// first: a start with a disc of the bench's own that failed here and was not run since anything touched it, if that is hardly dearer. What failed shows
// whether it is mended; of their disc nobody knows.
func (s *search) ours(first int) int {
	next := s.options[first]
	if next.step.Kind != DoTest {
		return first
	}
	test := &s.model.Tests[next.step.Index]
	starts, theirs := s.model.EndsAsProof(test), s.model.Theirs(test)
	if starts != theirs || !starts && (s.ofFew(test.Index) || len(s.those(s.unproven)) == 0) {
		return first
	}
	return s.hardlyDearer(first, func(o Step) bool {
		return s.failed(o.Index) && s.runs(o) == 0 && s.At(o, s.at.Setup) == s.At(next.step, s.at.Setup)
	})
}

// theirs returns what goes before a test of their disc, the option at first, while a disc of the bench's own does not play: a test that tells something and
// has nothing to do with theirs, if it is hardly dearer. That can wait until a good one plays.
func (s *search) theirs(first int) int {
	next := s.options[first].step
	if next.Kind != DoTest || !s.model.Theirs(&s.model.Tests[next.Index]) {
		return first
	}
	for t := range s.model.Tests {
		if s.failed(t) && s.root.run.has(t) {
			return s.hardlyDearer(first, func(o Step) bool {
				return !s.model.Theirs(&s.model.Tests[o.Index]) && !s.stale(o) && s.bits(o) >= slight
			})
		}
	}
	return first
}

// another returns what goes before a repair of what is not known, or before the unit is opened, the option at first, where it failed with their disc and no
// disc of the bench's own was started yet: a start with that, if it is hardly dearer. Whoever works on a drive for a bad disc loses his evening.
func (s *search) another(first int) int {
	next := s.options[first].step
	works := next.Kind == DoRepair && !s.knows(next) || next.Kind == DoTest && s.At(next, s.at.Setup) != s.at.Setup
	if !works || s.at.Setup != s.model.Root {
		return first
	}
	disc := 0.0
	for t := range s.model.Tests {
		test := &s.model.Tests[t]
		if !s.model.EndsAsProof(test) || s.seen(t) < 0 {
			continue
		}
		if !s.model.Theirs(test) {
			return first
		}
		if s.seen(t) > 0 {
			disc += s.ofDisc(test)
		}
	}
	if disc < unlikely {
		return first
	}
	return s.hardlyDearer(first, func(o Step) bool { return s.ownStart(o.Index) && s.model.Tests[o.Index].At == s.model.Root })
}

// suspecting returns what goes before a repair of what is not known, the option at first, where the unit has started: the test of few faults that needs their disc, was
// not run, costs a quarter of it at the most and tells most for its cost. What plays one disc and not another is not the first to be worked on.
func (s *search) suspecting(first int) int {
	next := s.options[first].step
	if next.Kind != DoRepair || s.knows(next) || !s.started() {
		return first
	}
	return s.tellingMost(first, func(o Step) bool {
		return s.harmless(o, next) && s.model.Theirs(&s.model.Tests[o.Index]) && s.ofFew(o.Index) && s.StepCost(o, s.at.Setup) <= s.StepCost(next, s.at.Setup)/4
	})
}

// righting returns what goes before anything else, the option at first: the repair of what a look has shown to be wrong since anything touched it, if it was
// not tried yet and costs a small part of what is lost. Whoever sees a cable half out puts it in before he switches on, whatever
// else he takes to be wrong.
func (s *search) righting(first int) int {
	found, most := first, 0.0
	for i, o := range s.options {
		if o.step.Kind != DoRepair || s.tried(o.step.Index) {
			continue
		}
		cost := s.StepCost(o.step, s.at.Setup)
		if much := s.mends(o.step.Index) / (cost + s.trifle()); cost <= s.Loss/aLoss && much > most && s.showed(o.step.Index) {
			found, most = i, much
		}
	}
	return found
}

// unlikely is below what odds of mending anything a repair is one on the off chance.
const unlikely = 0.1

// cure returns what goes before a repair on the off chance, the option at first: one that rather mends than not, if it is hardly
// dearer, or else the first look at what it mends that was not taken and is no more dangerous, if that is dearer by less than half
// of what the repair costs. Totals of plans say too much for a rag over the lens beside a switch that is probably what is wrong, and
// for one over a disc that has just started.
func (s *search) cure(first int) int {
	at := s.options[first].step
	if at.Kind != DoRepair || s.mends(at.Index) >= unlikely {
		return first
	}
	test := first
	near, half := float64(2*s.within()), s.StepCost(at, s.at.Setup)/2
	for i, o := range s.options {
		dearer := o.value - s.options[first].value
		if dearer > max(near, half) {
			break
		}
		if o.step.Kind == DoRepair && s.mends(o.step.Index) >= 0.5 && dearer <= near {
			return i
		}
		if test == first && s.harmless(o.step, at) && s.ofFew(o.step.Index) && s.model.Tests[o.step.Index].BearsOn(&s.model.Repairs[at.Index]) &&
			s.bits(o.step) >= something {
			test = i
		}
	}
	return test
}

// something is what a look at what is hardly wrong has to be expected to tell, bits.
const something = 0.005

// asking returns what goes before a test on the off chance, the option at first: of the tests that are hardly dearer in all, cost at most
// twice as much, are no more dangerous and about likelier faults, the one that tells most for its cost, if that is four times as much. Their
// disc is not carried to another unit before anybody has listened to a drive that stays still.
func (s *search) asking(first int) int {
	next := s.options[first]
	if next.step.Kind != DoTest || s.about(next.step.Index) >= unlikely {
		return first
	}
	much := func(o option) float64 { return s.bits(o.step) / (s.StepCost(o.step, s.at.Setup) + s.trifle()) }
	found, most := first, float64(4*much(next))
	for i, o := range s.options {
		if o.value > next.value+float64(2*s.within()) {
			break
		}
		if !s.harmless(o.step, next.step) || s.about(o.step.Index) < unlikely || s.StepCost(o.step, s.at.Setup) > float64(2*s.StepCost(next.step, s.at.Setup)) {
			continue
		}
		if tells := much(o); tells > most {
			found, most = i, tells
		}
	}
	return found
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
		if o.value > s.options[0].value+s.within() || s.At(o.step, s.at.Setup) != s.at.Setup {
			return false
		}
		test := &s.model.Tests[o.step.Index]
		return !test.Told && s.ofFew(test.Index) && s.testAt[test.Index] <= s.StepCost(next.step, s.at.Setup) &&
			(o.step == next.step || !s.root.run.has(test.Index))
	}
	found, most := first, 0.0
	for _, mode := range s.brought() {
		at, much := s.mostTelling(asks, func(modes []float64, _ float64) float64 { return modes[mode] })
		if much > most {
			found, most = at, much
		}
	}
	return found
}

// mending returns what goes before a test, a repair on lesser odds or giving up, the option at first: the repair of a fault that is known, if it was not
// tried yet, costs a small part of what is lost with the unit, and that test hardly tells whether the fault is there. What lies behind a tray
// that is blocked is judged when it runs.
func (s *search) mending(first int) int {
	next := s.options[first].step
	if next.Kind == SignOff || next.Kind == DoRepair && s.modes[s.mended(next.Index).Mode] >= known {
		return first
	}
	for i, o := range s.options {
		if o.step.Kind != DoRepair || s.tried(o.step.Index) {
			continue
		}
		fix := s.mended(o.step.Index)
		odds, most := s.modes[fix.Mode], s.Loss/aFifth
		if odds >= certain {
			most = s.Loss / 2
		}
		if odds < known || fix.P < odds/2 || s.StepCost(o.step, s.at.Setup) > most {
			continue
		}
		if next.Kind == DoTest && s.tellsWhether(next, func(modes []float64, _ float64) float64 { return modes[fix.Mode] }) > hardly {
			continue
		}
		return i
	}
	return first
}

// certain is from what odds on a fault is mended that costs as much as half of what is lost with the unit.
const certain = 0.95

// hardly is below how many bits a test hardly tells whether a fault is there that is known.
const hardly = 0.05

// meeting returns what goes before the first repair of a unit, before it is opened for the first time or leaves, and before any test that
// takes as long, the option at first: a start, the shortest, if neither one nor anything wrong was seen here and it is not known what to
// mend. Nobody takes apart what somebody else says does not work, or knocks on it, or sells on what somebody else says works.
func (s *search) meeting(first int) int {
	next, home := s.options[first].step, s.model.Root
	if !s.model.Tests[s.model.Intake].Told || s.knows(next) || s.at.Setup != home {
		return first
	}
	for t := range s.model.Tests {
		if test, outcome := &s.model.Tests[t], s.seen(t); !test.Told && (outcome > 0 || outcome == 0 && s.model.EndsAsProof(test)) {
			return first
		}
	}
	found := first
	for i, o := range s.options {
		if o.step.Kind == DoTest && s.model.EndsAsProof(&s.model.Tests[o.step.Index]) && s.At(o.step, home) == home &&
			(next.ends() || s.Hazard(o.step, home) <= s.Hazard(next, home)) && (found == first || s.StepCost(o.step, home) < s.StepCost(s.options[found].step, home)) {
			found = i
		}
	}
	if next.Kind == DoTest && s.At(next, home) == home && s.StepCost(next, home) < s.StepCost(s.options[found].step, home) {
		return first
	}
	return found
}

// looking returns what goes before the option at first: of the tests of few faults on the way to it that were not run, are no more dangerous and
// cost a small part of what it does, the one that tells most for its cost; before a repair, of those that may halve the odds on which it
// mends, whether it is what is needed. Nobody buys a board before a minute's look at the solder, or fits another pick-up on trial before one at
// the cable.
func (s *search) looking(first int) int {
	next := s.options[first].step
	if next.Kind == WriteOff {
		return s.unseen(first)
	}
	if next.ends() {
		return first
	}
	cost, found, most := s.StepCost(next, s.At(next, s.at.Setup)), first, 0.0 // without the way
	mode := 0
	if next.Kind == DoRepair {
		mode = s.mended(next.Index).Mode
	}
	for i, o := range s.options {
		if o.step == next || !s.harmless(o.step, next) || s.model.Tests[o.step.Index].Told || !s.ofFew(o.step.Index) ||
			!s.passes(o.step, next) || s.testAt[o.step.Index] > cost/aLook {
			continue
		}
		bits, least := 0.0, slight
		if next.Kind == DoTest {
			if s.about(o.step.Index) >= unlikely {
				bits, least = s.bits(o.step), slight/2
			}
		} else if s.halves(o.step, mode) {
			bits = s.tellsWhether(o.step, func(modes []float64, _ float64) float64 { return modes[mode] })
		}
		if much := bits / (s.testAt[o.step.Index] + s.trifle()); bits >= least && much > most {
			found, most = i, much
		}
	}
	return found
}

// sparing returns what goes before a repair of what is not known, the option at first: where the unit stands, one that was not tried, costs a small
// part of it and saves more than twice its own cost on the odds on which it mends. Nobody buys a pick-up before the lens is wiped that lies open.
func (s *search) sparing(first int) int {
	next := s.options[first].step
	if next.Kind != DoRepair || s.knows(next) {
		return first
	}
	cost, found, most := s.StepCost(next, s.At(next, s.at.Setup)), first, 0.0 // without the way
	for i, o := range s.options {
		if o.step.Kind != DoRepair || o.step == next || s.model.Repairs[o.step.Index].At != s.at.Setup || s.tried(o.step.Index) ||
			s.Hazard(o.step, s.at.Setup) > s.Hazard(next, s.at.Setup) {
			continue
		}
		price, mends := s.fixAt[o.step.Index], s.mends(o.step.Index)
		if price <= cost/aLook && mends >= unlikely && float64(mends*cost) > 2*price && mends > most {
			found, most = i, mends
		}
	}
	return found
}

// unseen returns what goes before giving up a unit, the option at first: a test of what was mended and not tried yet, before the way home; or, if the unit
// was opened, of the tests of few faults that are likely together, that were never run, the one that tells most for its cost; each at a small part of what is
// given up. Whoever has mended something tries it, and whoever has opened a unit does not write it off before a look at its board.
func (s *search) unseen(first int) int {
	small := func(o Step) bool { return s.StepCost(o, s.at.Setup) <= s.Loss/aLoss }
	if at := s.sees(s.those(s.unproven), func(o option) bool {
		return small(o.step) && (s.at.Setup == s.model.Root || s.At(o.step, s.at.Setup) != s.model.Root)
	}); at >= 0 {
		return at
	}
	opened := s.at.Setup != s.model.Root
	for t := range s.model.Tests {
		opened = opened || s.seen(t) >= 0 && s.model.Tests[t].At != s.model.Root
	}
	if !opened {
		return first
	}
	return s.tellingMost(first, func(o Step) bool {
		return !s.model.Tests[o.Index].Told && s.ofFew(o.Index) && s.seen(o.Index) < 0 && s.about(o.Index) >= 2*unlikely && small(o)
	})
}

// aLoss is what part of what is lost by giving up a test before it may cost, or putting right what was seen.
const aLoss = 14

// aLook is what part of a step's cost a look before it may have.
const aLook = 6
