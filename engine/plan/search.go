package plan

import (
	"slices"
)

// A beam says how far a search looks: at each depth, how many of the steps that look
// best one step ahead are followed further, and how many hypotheses a point has there.
type beam struct {
	steps []int // by depth: steps that are followed
	wide  []int // by depth: hypotheses, one entry more than steps
}

// An option is a step and its expected total cost, as far as it is known.
type option struct {
	step  Step
	value float64
}

// options returns the value of every step at a point on top of the library, least first.
func (l *library) options(q point, skip set, wide int) []option {
	var all []option
	l.backup(q, skip, true, wide, func(s Step, v float64) { all = append(all, option{s, v}) })
	// A plan in the library can be better than the best step on top of it.
	if p, v := l.best(q.setup, q.hyps, q.p, q.run, skip); p != nil {
		for i := range all {
			if all[i].step == p.step && v < all[i].value {
				all[i].value = v
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
	all := l.options(q, skip, b.wide[depth])
	if depth >= len(b.steps) {
		return all[0]
	}
	best := all[0]
	for i, o := range all {
		if i == b.steps[depth] {
			break
		}
		if o.step.Kind == SignOff || o.step.Kind == WriteOff {
			continue
		}
		if l.floor(q, o.step) >= best.value {
			continue
		}
		v := min(o.value, l.ahead(q, skip, o.step, b, depth+1))
		if l.better(o.step, v, best.step, best.value) {
			best = option{o.step, v}
		}
	}
	return best
}

// ahead returns the expected cost of a step at a point, looking on from depth after it.
func (l *library) ahead(q point, skip set, s Step, b beam, depth int) float64 {
	wide := b.wide[depth]
	there := l.goTo(q, s, wide)
	v := l.StepCost(s, q.setup)
	if s.Kind == DoRepair {
		return v + l.value(l.repair(there, s.Index, wide), skip, b, depth).value
	}
	joint, odds := l.joint(nil, nil, there, s.Index)
	for o, p := range odds {
		if p > 0 {
			v += float64(p * l.value(l.see(there, s.Index, o, joint[o], p, wide), skip, b, depth).value)
		}
	}
	return v
}

// floor returns a cost that no plan that begins with a step can beat.
func (l *library) floor(q point, s Step) float64 {
	at := l.At(s, q.setup)
	return l.StepCost(s, q.setup) + dot(l.least[at], q.hyps, q.p)
}
