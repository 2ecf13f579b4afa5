package plan

import (
	"slices"
)

// The habits of somebody who has mended something, and of somebody who hands a unit back.

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
// speaks for them still, if that is half of it, or much. Nobody hands back, after half an hour of good starts, what somebody else has seen fail. Nothing that was
// tried before a unit came back counts; then what shows most goes first, and little is enough.
func (s *search) hunting(first int) int {
	if s.options[first].step.Kind != SignOff || !s.started() {
		return first
	}
	seen, back := s.seen, s.at.Back != nil
	if back {
		seen = func(test int) int { return s.at.Back[test] }
		if !s.startedBy(seen) {
			return first // that comes before
		}
	} else if len(s.those(s.tried)) > 0 {
		return first
	}
	told, _ := s.told(false)
	for t := range s.model.Tests {
		test, outcome := &s.model.Tests[t], seen(t)
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
	least := still // no more than half counts
	switch intake := s.model.Intake; {
	case back:
		least = float64(left * still)
	case s.model.Tests[intake].Told && s.seen(intake) > 0: // somebody says that it fails
		least = unheard
	}
	// Of those that show half, the one that shows most for its cost; without any, of those that show enough, the one that shows most.
	found, most, ample := first, 0.0, false
	for i, o := range s.options {
		if o.step.Kind != DoTest || seen(o.step.Index) >= 0 || !back && !s.proves(o.step) || !s.passes(o.step, Step{Kind: SignOff}) ||
			s.ofFew(o.step.Index) || s.testAt[o.step.Index] > s.Comeback/aQuarter {
			continue
		}
		shown := 0.0
		for mode, p := range told {
			if missed, ok := s.model.Tests[o.step.Index].Misses(mode); ok {
				shown += float64(p * (1 - missed))
			}
		}
		much, enough := shown, !back && shown > 0 && shown >= still/2
		if enough {
			much = shown / (s.testAt[o.step.Index] + s.trifle())
		}
		if enough && !ample || enough == ample && much > most && (enough || shown >= least) {
			found, most, ample = i, much, enough
		}
	}
	return found
}

// unheard is how much speaks for faults that come and go, by the owner's word alone, that one more test has to show in any case.
const unheard = 0.006

// again returns what goes before signing off, the option at first: a test that a sound unit hardly ever fails, run here with a disc of the
// bench's own, or with one that is hardly to blame, that failed and that nothing has touched since. What was seen to fail is not sound because all else went well.
func (s *search) again(first int) int {
	if s.options[first].step.Kind != SignOff {
		return first
	}
	for i, o := range s.options {
		if o.step.Kind != DoTest || !s.root.run.has(o.step.Index) || s.seen(o.step.Index) <= 0 || s.At(o.step, s.at.Setup) != s.model.Root {
			continue
		}
		if test := &s.model.Tests[o.step.Index]; test.Healthy[0] >= hardlyFails && (!s.model.Theirs(test) || s.ofDisc(test) < unlikely) {
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

// left is what odds on faults that may be left have to show in a test for its sake, and what share of what is to be feared in a unit that came back; aMinute is what part of what comes back costs, at the most, what is
// looked at for all of them together.
const (
	left    = 0.03
	aMinute = 40
)

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
