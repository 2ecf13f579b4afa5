package lint

import (
	"math"
	"slices"

	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/sim"
	"pitwise/engine/trail"
)

// Effort is how much Advice tries.
type Effort struct {
	Units  int            // simulated units that are played through
	Steps  int            // at most so many steps each
	Seed   uint64         // of the simulated units
	Trails []*trail.Trail // trails of the model, asked about event by event where it may help
}

// Advice looks for tests and repairs that are of no use by the given terms, whose tools
// should be all that the model knows. It plays units through the planner, then asks it about
// situations made for what is left: for a repair, units in which one of its faults is all but
// certain, and the trails wherever one of its faults is likely; for a test, all situations so
// far, whether its outcomes lead on to different steps. What is left after that has been of no
// use in any.
//
// progress, if not nil, is called before each piece of work with the number of tests and
// repairs still to be shown useful.
func Advice(s *belief.Space, terms trail.Terms, effort Effort, progress func(left int)) ([]Finding, error) {
	planner, err := plan.New(s, terms)
	if err != nil {
		return nil, err
	}
	m := s.Model()
	a := &adviser{space: s, model: m, planner: planner, problem: plan.NewProblem(s, terms),
		tests: make([]bool, len(m.Tests)), repairs: make([]bool, len(m.Repairs))}
	tell := func() {
		if progress != nil {
			progress(a.left())
		}
	}
	for n := range effort.Units {
		tell()
		if err := a.play(effort, n); err != nil {
			return nil, err
		}
	}
	for f := range m.Modes {
		tell()
		if err := a.suspect(f); err != nil {
			return nil, err
		}
	}
	for _, t := range effort.Trails {
		tell()
		if err := a.follow(t); err != nil {
			return nil, err
		}
	}
	for i := range m.Tests {
		if !a.tests[i] && !m.Tests[i].Told { // what is told is never a step
			tell()
			if err := a.tryTest(i); err != nil {
				return nil, err
			}
		}
	}
	var all []Finding
	for i, useful := range a.tests {
		if !useful && !m.Tests[i].Told {
			all = append(all, Finding{Unhelpful, []string{string(m.Tests[i].ID)}, "never changed what to do next"})
		}
	}
	for i, useful := range a.repairs {
		if !useful {
			all = append(all, Finding{Unworthy, []string{string(m.Repairs[i].ID)}, "never the best thing to do"})
		}
	}
	return all, nil
}

// An adviser gathers what has been of use.
type adviser struct {
	space   *belief.Space
	model   *model.Model
	planner plan.Planner
	problem *plan.Problem
	tests   []bool
	repairs []bool
	tried   []plan.Situation
}

func (a *adviser) left() int {
	n := 0
	for _, list := range [][]bool{a.tests, a.repairs} {
		for _, useful := range list {
			if !useful {
				n++
			}
		}
	}
	return n
}

// proposals returns what is proposed, best first, and at least writing off.
func (a *adviser) proposals(at plan.Situation) []plan.Proposal {
	search := a.planner.Start(at)
	for !search.Work(1 << 20) {
	}
	if all := search.Proposals(); len(all) > 0 {
		return all
	}
	return []plan.Proposal{{Step: plan.Step{Kind: plan.WriteOff}}}
}

// next returns the step that is proposed first.
func (a *adviser) next(at plan.Situation) plan.Step { return a.proposals(at)[0].Step }

// Near is the part of the expected total by which a repair may cost more than the best
// step and still count as one: what is to be done anyway can mostly be done in any order.
const Near = 0.02

// ask asks for the next step in a situation and notes that it is of use, and so are the
// repairs that are as good.
func (a *adviser) ask(at plan.Situation) plan.Step {
	kept := at
	kept.Belief = at.Belief.Clone()
	a.tried = append(a.tried, kept)
	all := a.proposals(at)
	first := all[0]
	if first.Step.Kind == plan.DoTest {
		a.tests[first.Step.Index] = true
	}
	if first.Step.Kind == plan.WriteOff {
		return first.Step
	}
	for _, p := range all {
		if p.Total > first.Total*(1+Near) {
			break
		}
		if p.Step.Kind == plan.DoRepair {
			a.repairs[p.Step.Index] = true
		}
	}
	return first.Step
}

// play plays one simulated unit through the planner.
func (a *adviser) play(effort Effort, n int) error {
	unit, known := sim.Draw(a.space, effort.Seed, n)
	_, err := sim.Play(a.problem, &asking{a, effort.Steps}, unit, known, nil)
	return err
}

// asking is a policy that does what is proposed, for so many steps.
type asking struct {
	*adviser
	left int
}

func (p *asking) Next(b *sim.Bench) (plan.Step, error) {
	if p.left == 0 {
		return plan.Step{Kind: plan.WriteOff}, nil
	}
	p.left--
	return p.ask(b.Situation), nil
}

// suspect asks about a unit in which the mode is all but certain, standing in the root and
// in each setup of a repair that takes the mode away, and then about one in which the
// repair that was best had been done and the fault still shows, until each of those repairs
// has been first.
func (a *adviser) suspect(f int) error {
	setups := []int{a.model.Root}
	wanted := func() bool {
		for i := range a.model.Repairs {
			if !a.repairs[i] && chance(a.model.Repairs[i].Change.Fixes, f) > 0 {
				return true
			}
		}
		return false
	}
	for i := range a.model.Repairs {
		r := &a.model.Repairs[i]
		if chance(r.Change.Fixes, f) > 0 && !contains(setups, r.At) {
			setups = append(setups, r.At)
		}
	}
	if !wanted() {
		return nil
	}
	at, err := a.about(f)
	if err != nil {
		return err
	}
	for range 3 {
		best := plan.Step{}
		for _, setup := range setups {
			at.Setup = setup
			step := a.ask(at)
			if !wanted() {
				return nil
			}
			if best.Kind == "" || step.Kind == plan.DoRepair {
				best = step
			}
		}
		if best.Kind != plan.DoRepair {
			return nil
		}
		c := a.model.Repairs[best.Index].Change
		if at.Tries != nil {
			c = a.model.Repairs[best.Index].After(at.Tries[best.Index])
		}
		if err := at.Belief.Apply(c); err != nil {
			return err
		}
		at.Tries = a.model.Tried(at.Tries, best.Index)
		if err := a.telling(&at, f, 2); err != nil {
			return err
		}
	}
	return nil
}

// likely is the probability from which a fault is worth asking about in a trail.
const likely = 0.3

// follow asks about a trail after each event that leaves a fault likely which some repair
// not yet of use takes away.
func (a *adviser) follow(t *trail.Trail) error {
	for n := 1; n <= len(t.Events); n++ {
		part := *t
		part.Events = t.Events[:n]
		u, err := bench.Open(a.space, &part)
		if err != nil {
			return err
		}
		now, _ := u.Now()
		worth := false
		for i := range a.repairs {
			for _, c := range a.model.Repairs[i].Change.Fixes {
				worth = worth || !a.repairs[i] && c.P > 0 && now.Modes[c.Mode] >= likely
			}
		}
		if worth {
			a.ask(u.Situation())
		}
	}
	return nil
}

// about returns a situation in which the mode is all but certain, by the results that speak
// for it most, and in which the repairs that take it away have what they ask for, as far as
// the mode would show it.
func (a *adviser) about(f int) (plan.Situation, error) {
	at := plan.Situation{Belief: a.space.Prior(), Tries: a.model.Untried(), Seen: make([]int, len(a.model.Tests))}
	for t := range at.Seen {
		at.Seen[t] = -1
	}
	t := &a.model.Tests[a.model.Intake]
	worst, row := 0, given(t, f)
	for o := 1; o < len(row); o++ {
		if worst == 0 || row[o] > row[worst] {
			worst = o
		}
	}
	if err := observe(&at, a.model, t.Index, worst); err != nil {
		return at, err
	}
	if err := a.telling(&at, f, 8); err != nil {
		return at, err
	}
	for i := range a.model.Repairs {
		r := &a.model.Repairs[i]
		if chance(r.Change.Fixes, f) == 0 || r.OnlyAfter.Met(at.Seen) {
			continue
		}
		test, outcome, most := -1, -1, 0.0
		for _, s := range r.OnlyAfter.Any {
			for _, o := range s.Outcomes {
				if p := given(&a.model.Tests[s.Test], f)[o]; at.Seen[s.Test] < 0 && p > most {
					test, outcome, most = s.Test, o, p
				}
			}
		}
		if test >= 0 {
			if err := observe(&at, a.model, test, outcome); err != nil {
				return at, err
			}
		}
	}
	return at, nil
}

// observe takes a result into a situation.
func observe(at *plan.Situation, m *model.Model, test, outcome int) error {
	at.Seen = slices.Clone(at.Seen)
	at.Seen[test] = outcome
	return at.Belief.Observe(test, belief.Named(&m.Tests[test], outcome))
}

// telling observes up to n results, each of another test, that speak for a mode most as
// things then stand, until it is at 95 %.
func (a *adviser) telling(at *plan.Situation, f, n int) error {
	b := at.Belief
	done := make([]bool, len(a.model.Tests))
	var odds []float64
	for range n {
		if b.Modes(nil)[f] >= 0.95 {
			return nil
		}
		test, outcome, best := -1, -1, 0.0
		for i := range a.model.Tests {
			if done[i] {
				continue
			}
			t := &a.model.Tests[i]
			row := given(t, f)
			odds = b.Predict(odds, i)
			for o := range row {
				// How likely it is under the mode, times how much more likely than now.
				if w := row[o] * (row[o]/odds[o] - 1); w > best {
					test, outcome, best = i, o, w
				}
			}
		}
		if test < 0 {
			return nil
		}
		done[test] = true
		if err := observe(at, a.model, test, outcome); err != nil {
			return err
		}
	}
	return nil
}

// most is about how many situations a test is tried in.
const most = 100

// tryTest looks for a situation in which the test's outcomes lead on to different steps.
func (a *adviser) tryTest(test int) error {
	t := &a.model.Tests[test]
	stride := max(1, len(a.tried)/most)
	for i := 0; i < len(a.tried); i += stride {
		at := a.tried[i]
		odds := at.Belief.Predict(nil, test)
		var steps []plan.Step
		for o := range t.Outcomes {
			if math.IsNaN(odds[o]) || odds[o] < 1e-3 {
				continue
			}
			after := at
			after.Belief = at.Belief.Clone()
			if err := observe(&after, a.model, test, o); err != nil {
				return err
			}
			step := a.next(after)
			if len(steps) > 0 && step != steps[0] {
				a.tests[test] = true
				return nil
			}
			steps = append(steps, step)
		}
	}
	return nil
}
