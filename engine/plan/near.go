package plan

import (
	"math"
	"slices"

	"pitwise/engine/model"
)

// within is how far apart two totals have to be to be told apart, as a share of the least one: ten
// times the search moved the mean cost of shipped models by less (engine/DECISIONS.md).
const within = 0.01

// within returns how finely the totals are known, Currency.
func (s *search) within() float64 {
	least := math.Inf(1)
	for _, o := range s.options {
		least = min(least, o.value)
	}
	return float64(within * math.Abs(least))
}

// prefer puts the step first that is to be proposed, of those that cannot be told apart from the
// one with the least total: a test or a repair before an ending, since what looks like noise
// in money decides whether a unit lives; of these the one with the least hazard, then the repair of what is
// known, a test, the lighter first, any other repair, the one that mends far more for its cost first. A test that was run
// gives way to one that was not or to the repair of what is known, a stale one to any repair or ending too.
// Only a step that gains half of what it costs is taken for another, only one that is to the point, and no test that was run. What
// the habits put first (practice.go, leaving.go) goes before all of that.
func (s *search) prefer() {
	best := s.options[0]
	near := s.within()
	first := 0
	rank := func(o option) []int {
		switch o.step.Kind {
		case WriteOff:
			return []int{2}
		case SignOff:
			return []int{1}
		case DoTest:
			return []int{0, s.Hazard(o.step, s.at.Setup), 0}
		}
		if s.knows(o.step) {
			return []int{0, 0, -1} // what is dangerous about it has to be done anyhow
		}
		return []int{0, s.Hazard(o.step, s.at.Setup), 1}
	}
	gains := func(o option) bool {
		cost := s.StepCost(o.step, s.at.Setup)
		if s.passes(o.step, best.step) {
			cost = s.testAt[o.step.Index]
		}
		return best.value+cost-o.value > cost/2+float64(1e-9*(1+math.Abs(best.value)))
	}
	for i := 1; s.runs(s.options[first].step) > 0 && i < len(s.options) && s.options[i].value <= best.value+near; i++ {
		o := s.options[i]
		news := s.runs(o.step) == 0 && (o.step.Kind == DoTest && gains(o) || s.knows(o.step))
		leads := func() bool { return !s.stale(o.step) && !s.blind(o.step) && (o.step.Kind != DoTest || gains(o)) }
		if news || s.stale(s.options[first].step) && leads() { // what was run gives way to news, what tells no more to whatever leads on
			first = i
		}
	}
	least := s.options[first].step
	for i, o := range s.options {
		if o.value > best.value+near {
			break
		}
		if i == first || s.runs(o.step) > 0 || o.step.ends() || !gains(o) {
			continue
		}
		by := slices.Compare(rank(o), rank(s.options[first]))
		if (by < 0 || by == 0 && s.lighter(o.step, s.options[first].step)) && s.toThePoint(o.step, least) && !s.longer(o.step, s.options[first].step) {
			first = i
		}
	}
	for _, habit := range habits {
		first = habit(s, first)
	}
	if o := s.options[first]; s.blind(o.step) || s.vain(o.step) || s.elsewhere(o.step) || o.step.Kind == DoTest && s.runs(o.step) >= 2*s.enough(o.step.Index) { // the next that leads somewhere, however much dearer
		first = max(0, slices.IndexFunc(s.options, func(o option) bool {
			return !s.stale(o.step) && !s.blind(o.step) && !s.vain(o.step) && (o.step.ends() || gains(o))
		}))
	}
	offered := []option{s.options[first]}
	for i, o := range s.options {
		if i != first && !s.blind(o.step) {
			offered = append(offered, o)
		}
	}
	s.options = offered
}

// toThePoint reports whether a step may be taken for another that costs as much. Signing off gives way to
// tests alone. A test gives way to a test that tells no less, or more for its cost: a disc wiped before a unit
// that stays still is listened to has no hazard, and no sense either; or to a repair of what is known. A repair
// gives way to a test that bears on what it fixes, as any other can wait until after it.
func (s *search) toThePoint(step, other Step) bool {
	switch other.Kind {
	case WriteOff:
		return true
	case SignOff:
		return step.Kind == DoTest
	case DoTest:
		return s.knows(step) || step.Kind == DoTest && s.tells(step, other)
	}
	return step.Kind == DoRepair || s.model.Tests[step.Index].BearsOn(&s.model.Repairs[other.Index])
}

// longer reports whether a test of everything takes more than twice as long as one of few faults does by itself: a unit that did not start
// is not started five times before the drive is opened for a look.
func (s *search) longer(step, other Step) bool {
	return step.Kind == DoTest && other.Kind == DoTest && s.ofFew(other.Index) && !s.ofFew(step.Index) && s.testAt[step.Index] > float64(2*s.testAt[other.Index])
}

// lighter reports whether a test costs less than half of another, as a look comes before an hour's work, or whether a
// repair mends twice as much for its cost: that order is the best one where one fault is sought by mending alone (Heckerman, Breese and
// Rommelse 1995, "Decision-theoretic troubleshooting", from memory).
func (s *search) lighter(step, other Step) bool {
	cost, much := s.StepCost(step, s.at.Setup), s.StepCost(other, s.at.Setup)
	switch {
	case step.Kind == DoTest && other.Kind == DoTest:
		return 2*cost < much
	case step.Kind == DoRepair && other.Kind == DoRepair:
		return float64(s.mends(step.Index)*much) > 2*float64(s.mends(other.Index)*cost)
	}
	return false
}

// tells reports whether a test tells no less than another, or more for its cost: half as much, or a quarter at a quarter of the cost.
func (s *search) tells(step, other Step) bool {
	most, bits := s.bits(other), s.bits(step)
	cost, much := s.StepCost(step, s.at.Setup), s.StepCost(other, s.at.Setup)
	least := most / 2
	if cost <= much/4 {
		least = most / 4
	}
	return bits >= most || bits >= least && float64(bits*much) > float64(most*cost)
}

// known is from what odds on that a repair takes something away the fault counts as known: whoever mends the unit
// will have done this repair.
const known = 0.8

// knows reports whether a step is a repair of what is known.
func (s *search) knows(step Step) bool { return step.Kind == DoRepair && s.mends(step.Index) >= known }

// mends returns the odds on which a repair takes away the fault that it most likely does.
func (s *search) mends(repair int) float64 { return s.mended(repair).P }

// mended returns that fault and those odds.
func (s *search) mended(repair int) model.Chance {
	most := model.Chance{}
	for i, fix := range s.model.Repairs[repair].After(s.root.tried(repair)).Fixes {
		if p := float64(s.modes[fix.Mode] * fix.P); i == 0 || p > most.P {
			most = model.Chance{Mode: fix.Mode, P: p}
		}
	}
	return most
}

// shown returns where a test is run, and the odds there of each hypothesis together with each outcome, and of each outcome.
func (s *search) shown(test Step) (there point, joint [][]float64, odds []float64) {
	there = s.lib.goTo(s.root, test, len(s.root.hyps))
	joint, odds = s.lib.joint(nil, nil, there, test.Index)
	return there, joint, odds
}

// bits returns what a test is expected to tell of the likely hypotheses.
func (s *search) bits(step Step) float64 {
	_, bits := s.lib.foresee(s.lib.goTo(s.root, step, len(s.root.hyps)), step.Index)
	return bits
}

// A test that was run tells no more once an outcome is all but sure, or after so many runs: an
// intermittent fault takes a few starts to show, and a search whose totals are a little too low
// behind a step would propose it for ever.
const (
	sure     = 0.9
	mostRuns = 4
)

// enough is after how many runs with nothing touched between a test tells no more: a start and what answers at times is
// done a few times, what was read off a meter or looked at stands.
func (s *search) enough(test int) float64 {
	t := &s.model.Tests[test]
	if s.model.EndsAsProof(t) {
		return mostRuns
	}
	return min(1+float64(3*t.Steadiness), mostRuns)
}

// stale reports whether a step is a test that was run since the last change that touched it, and
// that tells no more.
func (s *search) stale(step Step) bool {
	runs := s.runs(step)
	if runs == 0 || runs >= s.enough(step.Index) || s.elsewhere(step) {
		return runs > 0
	}
	_, _, odds := s.shown(step)
	return slices.Max(odds) > sure
}

// runs returns how often a test, or one that asks the same, was run since anything touched it, the way to it included.
func (s *search) runs(step Step) (runs float64) {
	if step.Kind != DoTest {
		return 0
	}
	runs = s.ran(step, step.Index)
	for _, t := range s.alike[step.Index] {
		runs += s.ran(step, t)
	}
	return runs
}

// elsewhere reports whether a step is a test that asks what one did that was run since anything touched it, at another place: a sled that was
// watched with the lid up is not watched again because the cover is off. A unit is started again wherever it stands.
func (s *search) elsewhere(step Step) bool {
	return step.Kind == DoTest && !s.model.EndsAsProof(&s.model.Tests[step.Index]) &&
		slices.ContainsFunc(s.alike[step.Index], func(t int) bool { return s.ran(step, t) > 0 })
}

// ran returns how often a test was run since anything touched it, the way to a step included.
func (s *search) ran(step Step, test int) (runs float64) {
	if !s.root.run.has(test) {
		return 0
	}
	there := s.lib.goTo(s.root, step, len(s.root.hyps))
	for _, n := range there.of(test) {
		runs += n
	}
	return runs
}

// Hazard returns how dangerous a step from a setup is: 0 if no caution is to be read for it, else a
// number that is larger the nearer to the front of the model's list its worst caution stands. The
// cautions are those of the setups at both ends of the way and of all around them, of the way, and of
// the step.
func (p *Problem) Hazard(s Step, setup int) int {
	d := p.model.Dangers()
	d.Way(setup, p.At(s, setup))
	switch s.Kind {
	case DoTest:
		d.Add(p.model.Tests[s.Index].Cautions)
	case DoRepair:
		d.Add(p.model.Repairs[s.Index].Cautions)
	}
	return d.Worst()
}
