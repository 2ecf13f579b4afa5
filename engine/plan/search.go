package plan

import (
	"slices"
)

// A beam says how far a search looks: at each depth, how many of the steps that look
// best one step ahead are followed further, and how many hypotheses a point has there.
type beam struct {
	steps []int // by depth: steps that are followed
	wide  []int // by depth: hypotheses, one entry more than steps

	passed int // tests on the way to the best step that are followed besides
}

// An option is a step and its expected total cost, as far as it is known.
type option struct {
	plan  *plan // that begins with the step; without its cost if it is new
	step  Step
	value float64

	// Where the value is not the plan's, what it is of: these costs by hypothesis, and so much more.
	costs []float64
	plus  float64
}

// vector returns the costs by hypothesis that the value is of, and how much more it is.
func (o *option) vector() ([]float64, float64) {
	if o.costs != nil {
		return o.costs, o.plus
	}
	return o.plan.cost, o.plus
}

// options returns the value of every step at a point on top of the library, least first.
// The first carries its plan; with plans, all do.
func (l *library) options(q point, skip set, wide int, plans bool) []option {
	all := make([]option, 0, len(l.tests)+len(l.repairs)+2)
	best := -1
	l.backup(q, skip, true, wide, nil, func(p *plan, v float64) {
		o := option{step: p.step, value: v}
		first := best < 0 || l.better(o.step, v, all[best].step, all[best].value)
		if first {
			best = len(all)
		}
		switch {
		case o.step.ends():
			o.plan = l.ending(q.setup, o.step.Kind)
		case first || plans:
			o.plan = &plan{step: p.step, setup: p.setup, next: slices.Clone(p.next)}
		}
		all = append(all, o)
	})
	// A plan in the library can be better than the best step on top of it.
	if p, v := l.best(q.setup, q.hyps, q.p, q.record, skip); p != nil {
		for i := range all {
			if all[i].step == p.step && v < all[i].value {
				all[i].value, all[i].plan = v, p
			}
		}
	}
	l.sort(all)
	return all
}

func (l *library) sort(all []option) {
	slices.SortStableFunc(all, func(a, b option) int {
		switch {
		case a.step == b.step:
			return 0
		case l.better(a.step, a.value, b.step, b.value):
			return -1
		}
		return 1
	})
}

// value returns the best option at a point, looking as far as the beam goes from depth.
func (l *library) value(q point, skip set, b beam, depth int) option {
	all := l.options(q, skip, b.wide[depth], false)
	if depth >= len(b.steps) {
		return all[0]
	}
	best := all[0]
	for _, o := range all[:min(b.steps[depth], len(all))] {
		if o.step.ends() {
			continue
		}
		a := l.ahead(q, skip, o.step, b, depth+1, nil)
		if l.better(a.step, a.value, best.step, best.value) {
			best = a
		}
	}
	return best
}

// ends reports whether a step is an ending.
func (s Step) ends() bool { return s.Kind == SignOff || s.Kind == WriteOff }

// ahead returns the option of a step at a point, looking on from depth after it. It calls
// each, if given, with every outcome of a test (0 for a repair), the point after it and the
// best option there.
func (l *library) ahead(q point, skip set, s Step, b beam, depth int, each func(o int, after point, best option)) option {
	wide := b.wide[depth]
	there := l.goTo(q, s, wide)
	a := option{step: s, value: l.StepCost(s, q.setup), plan: &plan{step: s, setup: q.setup}}
	follow := func(o int, p float64, after point) {
		best := l.value(after, skip, b, depth)
		a.value += float64(p * best.value)
		if best.plan.cost == nil {
			l.price(best.plan, &after)
		}
		a.plan.next = append(a.plan.next, best.plan)
		if each != nil {
			each(o, after, best)
		}
	}
	if s.Kind == DoRepair {
		follow(0, 1, l.repair(there, s.Index, wide))
		return a
	}
	joint, odds := l.joint(nil, nil, there, s.Index)
	for o, p := range odds {
		if p > 0 {
			follow(o, p, l.see(there, s.Index, o, joint[o], p, wide))
		} else {
			a.plan.next = append(a.plan.next, l.ending(there.setup, WriteOff))
		}
	}
	return a
}
