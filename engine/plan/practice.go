package plan

import (
	"math"
	"slices"
)

// What every repairer does whatever the totals say, by some cents: common practice, no source. A total is the cost of a plan that is
// written down now, and such a plan gives up too soon to see the use of it (keen.go).

// habits are asked in this order: each takes the option that comes first and returns the one that goes before it, or the same.
var habits = []func(s *search, first int) int{
	(*search).anyhow, (*search).asking, (*search).cure, (*search).mending, (*search).looking, (*search).meeting, (*search).closing,
	(*search).suspecting, (*search).sparing, (*search).trying, (*search).proving, (*search).seeing, (*search).lasting, (*search).enduring, (*search).hunting, (*search).again, (*search).ours,
}

// anyhow returns what goes before a test, the option at first: what is next whatever it shows, where the unit stands for it, and the test can be run after
// it as well. Both are done either way, and what is done first may spare the other: nobody knocks on the case before he wipes the lens all the same.
func (s *search) anyhow(first int) int {
	for range s.options { // from one to the next
		next := s.options[first]
		if next.step.Kind != DoTest {
			return first
		}
		most, otherwise := s.afterwards(next.step)
		i := slices.IndexFunc(s.options, func(o option) bool { return o.step == most })
		if i < 0 || i == first || most.ends() || s.At(most, s.at.Setup) != s.At(next.step, s.at.Setup) || s.stale(most) || s.blind(most) ||
			s.options[i].value > next.value+s.within() || float64(otherwise*s.StepCost(most, s.at.Setup)) > s.StepCost(next.step, s.at.Setup)/2 {
			return first
		}
		first = i
	}
	return first
}

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

// ours returns what goes before a test of their disc, or before another test of everything after a repair of which nothing was seen yet, the option at
// first, if that is hardly dearer: a start with a disc of the bench's own that failed here and was not run since anything touched it, as it shows whether that
// is mended; or, where it was run and failed, what has nothing to do with their disc. Of that one nobody knows, and it can wait until a good one plays.
func (s *search) ours(first int) int {
	next := s.options[first]
	if next.step.Kind != DoTest {
		return first
	}
	test := &s.model.Tests[next.step.Index]
	theirs, starts := s.model.Theirs(test), s.model.EndsAsProof(test)
	if !theirs && (starts || s.ofFew(next.step.Index) || len(s.those(s.unproven)) == 0) {
		return first
	}
	fails := false
	for t := range s.model.Tests {
		fails = fails || s.failed(t) && s.root.run.has(t)
	}
	for i, o := range s.options {
		if o.value > next.value+float64(2*s.within()) {
			break
		}
		if o.step.Kind != DoTest {
			continue
		}
		if o := &s.model.Tests[o.step.Index]; theirs && fails {
			if !s.model.Theirs(o) && !s.stale(s.options[i].step) && s.bits(s.options[i].step) >= slight {
				return i
			}
		} else if (!theirs || starts) && s.failed(o.Index) && s.runs(s.options[i].step) == 0 && s.At(s.options[i].step, s.at.Setup) == s.At(next.step, s.at.Setup) {
			return i
		}
	}
	return first
}

// failed reports whether a test is a start with a disc of the bench's own that failed when it was last run.
func (s *search) failed(t int) bool {
	test := &s.model.Tests[t]
	return s.seen(t) > 0 && s.model.EndsAsProof(test) && !s.model.Theirs(test)
}

// suspecting returns what goes before a repair of what is not known, the option at first, where the unit has started: the test of few faults that needs their disc, was
// not run, costs a quarter of it at the most and tells most for its cost. What plays one disc and not another is not the first to be worked on.
func (s *search) suspecting(first int) int {
	next := s.options[first].step
	if next.Kind != DoRepair || s.knows(next) || !s.started() {
		return first
	}
	found, most := first, 0.0
	for i, o := range s.options {
		if !s.harmless(o.step, next) || !s.model.Theirs(&s.model.Tests[o.step.Index]) || !s.ofFew(o.step.Index) ||
			s.StepCost(o.step, s.at.Setup) > s.StepCost(next, s.at.Setup)/4 {
			continue
		}
		bits := s.bits(o.step)
		if much := bits / (s.StepCost(o.step, s.at.Setup) + s.trifle()); bits >= slight && much > most {
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

// harmless reports whether a step is a test that was not run since anything touched it and is no more dangerous than another step.
func (s *search) harmless(step, other Step) bool {
	return step.Kind == DoTest && s.runs(step) == 0 && s.Hazard(step, s.at.Setup) <= s.Hazard(other, s.at.Setup)
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

// about returns the odds that a test is about: those of the faults that show in it, together.
func (s *search) about(test int) float64 {
	sum := 0.0
	for _, given := range s.model.Tests[test].Given {
		sum += s.modes[given.Mode]
	}
	return sum
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

// mending returns what goes before a test, or a repair on lesser odds, the option at first: the repair of a fault that is known, if it was not
// tried yet, costs a small part of what is lost with the unit, and that test hardly tells whether the fault is there. What lies behind a tray
// that is blocked is judged when it runs.
func (s *search) mending(first int) int {
	next := s.options[first].step
	if next.ends() || next.Kind == DoRepair && s.modes[s.mended(next.Index).Mode] >= known {
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

// few is what part of all faults shows in a test that is about few of them.
const few = 4

// ofFew reports whether a test is about few faults.
func (s *search) ofFew(test int) bool {
	return len(s.model.Tests[test].Given) <= len(s.model.Modes)/few
}

// proving returns what goes before the option at first, or first: where that is the way home with a repair on it of which nothing was seen
// yet, the test of what such a repair is for that is run before that way, costs less than it, and tells most. A plan that gives the unit up
// if the try fails makes little of it.
func (s *search) proving(first int) int {
	next, home := s.options[first], s.model.Root
	if s.at.Setup == home || next.step.Kind == WriteOff || s.At(next.step, s.at.Setup) != home {
		return first
	}
	away := s.those(func(r int) bool { return s.model.Repairs[r].At != home && s.unproven(r) })
	if at := s.sees(away, func(o option) bool {
		return s.passes(o.step, Step{Kind: SignOff}) && s.At(o.step, s.at.Setup) != home && s.testAt[o.step.Index] <= s.ways[s.at.Setup][home].cost
	}); at >= 0 {
		return at
	}
	return first
}

// lasting returns what goes before the option at first, or first: where signing off is as good, and the unit has started, the test on the way out
// that was not run since anything touched it and that is worth most: what would come back of the faults that it would rather show than what is
// sound, less its cost; of one fault, or half of all of them where the test takes a minute or two, as whoever looks for everything never ends. Whoever mended a unit that failed when warm lets it get warm again, and whoever mended one that fell knocks at
// it, however little the totals make of it: what comes back costs hardly more than what is given up, so that a plan would rather not know.
func (s *search) lasting(first int) int {
	if !s.signsOff(first) {
		return first
	}
	found, most := first, 0.0
	for i, o := range s.options {
		if !s.proves(o.step) {
			continue
		}
		shown, one := s.shows(o.step)
		risk := float64(s.Comeback * one)
		if s.testAt[o.step.Index] <= s.Comeback/aMinute {
			risk = float64(s.Comeback * max(one, shown/2))
		}
		if worth := risk - s.testAt[o.step.Index]; shown >= left && worth > most {
			found, most = i, worth
		}
	}
	return found
}

// signsOff reports whether the option at first is to be a test or an ending where signing off is as good, and the unit has started.
func (s *search) signsOff(first int) bool {
	end := slices.IndexFunc(s.options, func(o option) bool { return o.step.Kind == SignOff })
	return s.options[first].step.Kind != DoRepair && end >= 0 && s.options[end].value <= s.options[first].value+s.within() && s.started()
}

// proves reports whether a step is a test on the way to signing off that was not run since anything touched it.
func (s *search) proves(step Step) bool {
	return step.Kind == DoTest && !s.model.Tests[step.Index].Told && !s.root.run.has(step.Index) && s.passes(step, Step{Kind: SignOff})
}

// enduring returns what goes before the option at first, or first: where the unit has started and signing off is as good, or it would be opened
// for a test, and by the owner's word, or the complaint, alone much speaks for faults with which it starts as often as not, the cheapest test of those, if none
// was run since anything touched it. Two starts prove nothing of a unit that stops when it is warm, whatever was mended, and what it is
// opened for has to show first.
func (s *search) enduring(first int) int {
	next, home := s.options[first].step, s.model.Root
	opens := next.Kind == DoTest && s.at.Setup == home && s.At(next, home) != home && s.started()
	if !opens && !s.signsOff(first) {
		return first
	}
	told, passes := s.passing(false)
	if told == nil {
		if told, passes = s.passing(true); told == nil {
			return first
		}
	}
	found, least := first, float64(s.Comeback/aQuarter)
	for i, o := range s.options {
		if o.step.Kind != DoTest || s.testAt[o.step.Index] > least && !s.root.run.has(o.step.Index) {
			continue
		}
		missed := 0.0
		for mode, p := range told {
			misses, _ := s.model.Tests[o.step.Index].Misses(mode)
			missed += float64(p * misses)
		}
		if missed > float64(passes*twoFifths) {
			continue
		}
		if s.root.run.has(o.step.Index) {
			return first // it was seen
		}
		if s.proves(o.step) {
			found, least = i, s.testAt[o.step.Index]
		}
	}
	return found
}

// passing returns how much speaks, by the owner's word or by the complaint alone, for each fault with which the unit starts as often as not, and
// the sum, if it is a good part of all that speaks for any; else nil.
func (s *search) passing(complaint bool) (told []float64, passes float64) {
	told, all := s.told(complaint)
	if passes = s.startsWith(told); passes < float64(all/aFifth) {
		return nil, 0
	}
	return told, passes
}

// startsWith leaves of what speaks for each fault that for those with which the unit starts as often as not, and returns its sum.
func (s *search) startsWith(told []float64) (sum float64) {
	for mode := range told {
		if missed, ok := s.model.Tests[s.model.Proof].Misses(mode); !ok || missed < half {
			told[mode] = 0
		}
		sum += told[mode]
	}
	return sum
}

// A proof that misses a fault half of the time proves nothing about it. Where a fifth of what the owner says is of such faults, a test that
// misses two fifths of them at the most does; aQuarter is what part of what comes back costs that test may cost.
const (
	half      = 0.5
	aFifth    = 5
	twoFifths = 0.4
	aQuarter  = 4
)

// hunting returns what goes before signing off, the option at first: where nothing wrong was seen here and nothing mended, and the owner's word speaks for faults that
// come and go, the test on the way out, of those that were not run and cost a small part of what comes back, that shows most for its cost of what
// speaks for them still, if that is half of it. Nobody hands back, after half an hour of good starts, what somebody else has seen fail.
func (s *search) hunting(first int) int {
	if s.options[first].step.Kind != SignOff || !s.started() {
		return first
	}
	if len(s.those(s.tried)) > 0 {
		return first
	}
	told, _ := s.told(false)
	for t := range s.model.Tests {
		test, outcome := &s.model.Tests[t], s.seen(t)
		if test.Told || outcome < 0 || s.ofFew(t) {
			continue
		}
		if outcome > 0 {
			return first // it was seen to fail
		}
		for mode := range told {
			if missed, ok := test.Misses(mode); ok {
				told[mode] = float64(told[mode] * missed)
			}
		}
	}
	still := s.startsWith(told)
	found, most := first, 0.0
	for i, o := range s.options {
		if !s.proves(o.step) || s.ofFew(o.step.Index) || s.testAt[o.step.Index] > s.Comeback/aQuarter {
			continue
		}
		shown := 0.0
		for mode, p := range told {
			if missed, ok := s.model.Tests[o.step.Index].Misses(mode); ok {
				shown += float64(p * (1 - missed))
			}
		}
		if much := shown / (s.testAt[o.step.Index] + s.trifle()); shown >= float64(half*still) && much > most {
			found, most = i, much
		}
	}
	return found
}

// again returns what goes before signing off, the option at first: a test that a sound unit hardly ever fails, run here with no disc but the
// bench's own, that failed and that nothing has touched since. What was seen to fail is not sound because all else went well.
func (s *search) again(first int) int {
	if s.options[first].step.Kind != SignOff {
		return first
	}
	for i, o := range s.options {
		if o.step.Kind != DoTest || !s.root.run.has(o.step.Index) || s.seen(o.step.Index) <= 0 || s.At(o.step, s.at.Setup) != s.model.Root {
			continue
		}
		if test := &s.model.Tests[o.step.Index]; !s.model.Theirs(test) && test.Healthy[0] >= hardlyFails {
			return i
		}
	}
	return first
}

// hardlyFails is from what odds of its best outcome on a sound unit hardly ever fails a test.
const hardlyFails = 0.95

// told returns how much speaks for each fault before anything was tried, the prior odds and what the owner said, or the complaint alone, and
// their sum.
func (s *search) told(complaint bool) (modes []float64, sum float64) {
	modes = make([]float64, len(s.model.Modes))
	for mode := range modes {
		modes[mode] = s.model.Modes[mode].Prior
		for t := range s.model.Tests {
			test, outcome := &s.model.Tests[t], s.seen(t)
			if row, ok := test.Row(mode); ok && test.Told && outcome >= 0 && (!complaint || t == s.model.Intake) {
				modes[mode] = float64(modes[mode] * row[outcome] / test.Healthy[outcome])
			}
		}
		sum += modes[mode]
	}
	return modes, sum
}

// left is what odds on faults that may be left have to show in a test for its sake; aMinute is what part of what comes back costs, at the most, what is
// looked at for all of them together.
const (
	left    = 0.03
	aMinute = 40
)

// seen returns the last outcome of a test on this unit, -1 for none.
func (s *search) seen(test int) int {
	if test < len(s.at.Seen) {
		return s.at.Seen[test]
	}
	return -1
}

// started reports whether the proof, or another test that at best ends as it does, came out best since anything touched it.
func (s *search) started() bool {
	for t := range s.model.Tests {
		if s.root.run.has(t) && s.seen(t) == 0 && s.model.EndsAsProof(&s.model.Tests[t]) {
			return true
		}
	}
	return false
}

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

// seeing returns what goes before the option at first, or first: where that is a repair that was done twice with nothing seen since of
// what it is for, a test of that. Whoever has done it twice looks whether it helped before he does it again, however small the odds on
// which it pays to go on.
func (s *search) seeing(first int) int {
	if step := s.options[first].step; s.blind(step) {
		if at := s.sees([]int{step.Index}, func(option) bool { return true }); at >= 0 {
			return at
		}
	}
	return first
}

// blind reports whether a step is a repair that was done twice with nothing seen since of what it is for.
func (s *search) blind(step Step) bool {
	return step.Kind == DoRepair && s.unproven(step.Index) && slices.ContainsFunc(s.root.tried(step.Index), func(n int) bool { return n > 1 })
}

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

// tried reports whether a repair was done that may have been in vain.
func (s *search) tried(repair int) bool {
	return slices.ContainsFunc(s.root.tried(repair), func(n int) bool { return n > 0 })
}

// trying returns what goes before a repair, the option at first, if one was done of which nothing was seen yet and after which the unit may be sound:
// the test of what that is for that costs less than it saves then and tells most. Nobody changes the driver before he has seen what the new
// motor did.
func (s *search) trying(first int) int {
	next := s.options[first].step
	if next.Kind != DoRepair {
		return first
	}
	saves := float64(s.sound * s.StepCost(next, s.at.Setup))
	others := s.those(func(r int) bool { return r != next.Index && s.unproven(r) })
	if at := s.sees(others, func(o option) bool { return s.StepCost(o.step, s.at.Setup) < saves }); at >= 0 {
		return at
	}
	return first
}

// unseen returns what goes before giving up a unit that lies open, the option at first: of the tests of few faults that are likely together, that
// were never run and cost a small part of what is given up, the one that tells most for its cost. Whoever has opened a unit does not write it
// off before a look at its board.
func (s *search) unseen(first int) int {
	found, most := first, 0.0
	if s.at.Setup == s.model.Root {
		return first
	}
	for i, o := range s.options {
		if o.step.Kind != DoTest || s.model.Tests[o.step.Index].Told || !s.ofFew(o.step.Index) || s.seen(o.step.Index) >= 0 ||
			s.about(o.step.Index) < 2*unlikely || s.StepCost(o.step, s.at.Setup) > s.Loss/aLoss {
			continue
		}
		bits := s.bits(o.step)
		if much := bits / (s.StepCost(o.step, s.at.Setup) + s.trifle()); bits >= slight && much > most {
			found, most = i, much
		}
	}
	return found
}

// aLoss is what part of what is lost by giving up a test before it may cost.
const aLoss = 20

// aLook is what part of a step's cost a look before it may have.
const aLook = 6

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
