package plan

import (
	"math"
	"slices"
)

// A growth makes a library better in small pieces of work: it explores the beliefs that
// the present plans, and some that try other steps, are likely to reach from the intake,
// then makes plans for them from the last to the first.
type growth struct {
	*library
	rounds []round
	round  int
	points []reached // of this round
	open   []reached // by falling reach, not yet looked at
	sweep  int
	at     int   // next point of the sweep, counting down
	skip   set   // tests that are in no new plan
	told   []int // questions to the owner besides the intake
}

type round struct {
	points int
	sweeps int
	wide   int // hypotheses of a point
}

// A reached point is one that a policy comes to with some probability.
type reached struct {
	point
	reach float64
	found *found // in this round; nil where it is not remembered
}

// mostPicks is how many picks of a round are remembered, some 2 MB: the points of a shipped model, and
// some of the largest.
const mostPicks = 100_000

// small reports whether a problem is small enough to be looked at with more care: few
// hypotheses, and few steps to weigh at each point.
func (p *Problem) small(hypotheses int) bool {
	return hypotheses <= 200 && hypotheses*(len(p.tests)+len(p.repairs)) <= 2000
}

// roundsFor returns the rounds of a growth, by measurement (engine/DECISIONS.md): few points
// first, to have plans to explore with. Where there are few hypotheses a point costs little,
// and more are worth their time.
func roundsFor(small bool) []round {
	if small {
		return []round{{40, 2, 200}, {150, 2, 200}, {400, 3, 200}, {1000, 3, 200}}
	}
	return []round{{40, 2, 96}, {100, 2, 128}, {160, 2, 128}}
}

func newGrowth(p *Problem) *growth {
	l := plainLibrary(p)
	g := &growth{library: l, rounds: roundsFor(p.small(l.net.n))}
	for t := range p.model.Tests {
		if p.model.Tests[t].Told && t != p.model.Intake {
			g.told = append(g.told, t)
		}
	}
	g.start()
	return g
}

// deepRound is how a search grows plans of its own, keenRound how the keener planner does, by
// measurement (engine/DECISIONS.md).
var (
	deepRound = round{50, 1, 128}
	keenRound = round{300, 1, 128}
)

// deepen returns a growth of a library from one belief on. The plans that were grown from the intake are
// for what units mostly look like; an owner's odd answers, or a run of odd results, lead to where the best of
// them is to write the unit off.
func (l *library) deepen(from point, skip set, r round) *growth {
	return &growth{library: l, rounds: []round{r}, open: []reached{{point: from, reach: 1}}, skip: skip}
}

// start opens the beliefs after each result that brings a unit to the bench. Half of the owners
// are taken to say no more; the others to answer one more question.
func (g *growth) start() {
	g.points, g.open, g.sweep = nil, nil, 0
	prior := g.space.Prior()
	wide := g.rounds[g.round].wide
	q := g.load(prior.P, g.model.Root, 4*wide)
	joint, odds := g.joint(nil, nil, q, g.model.Intake)
	for o := 1; o < len(odds); o++ {
		if odds[o] > 0 {
			reach := odds[o] / (1 - odds[0])
			if len(g.told) > 0 {
				reach /= 2
				g.tell(g.see(q, g.model.Intake, o, joint[o], odds[o], 4*wide), reach, wide)
			}
			g.push(reached{point: g.see(q, g.model.Intake, o, joint[o], odds[o], wide), reach: reach})
		}
	}
}

// tell opens what an owner's answer to one more question leads to.
func (g *growth) tell(q point, reach float64, wide int) {
	for _, t := range g.told {
		joint, odds := g.joint(nil, nil, q, t)
		for o, p := range odds {
			if p > 0 {
				g.push(reached{point: g.see(q, t, o, joint[o], p, wide), reach: reach * p / float64(len(g.told))})
			}
		}
	}
}

func (g *growth) push(r reached) {
	at, _ := slices.BinarySearchFunc(g.open, r.reach, func(x reached, reach float64) int {
		if x.reach > reach {
			return -1
		}
		return 1
	})
	g.open = slices.Insert(g.open, at, r)
	if left := g.left(); len(g.open) > left {
		g.open = slices.Delete(g.open, left, len(g.open))
	}
}

// left returns how many points of the round are still to be looked at.
func (g *growth) left() int { return g.rounds[g.round].points - len(g.points) }

// room reports whether a point of so much reach can come to be looked at still.
func (g *growth) room(reach float64) bool {
	left := g.left()
	return len(g.open) < left || left > 0 && reach >= g.open[left-1].reach
}

// work does one piece of work, a few milliseconds at most, and reports whether the
// library is grown.
func (g *growth) work() (done bool) {
	if g.round == len(g.rounds) {
		return true
	}
	r := g.rounds[g.round]
	switch {
	case len(g.points) < r.points && len(g.open) > 0:
		q := g.open[0]
		g.open = g.open[1:]
		if (len(g.points)+1)*g.picks() <= mostPicks {
			q.found = &found{}
		}
		g.points = append(g.points, q)
		g.explore(q, r.wide)
		g.at = len(g.points) - 1
	case g.sweep < r.sweeps:
		q := g.points[g.at]
		var best *plan
		var v float64
		g.backup(q.point, g.skip, true, r.wide, q.found, func(p *plan, x float64) {
			if best == nil || g.better(p.step, x, best.step, v) {
				best, v = &plan{step: p.step, setup: p.setup, next: slices.Clone(p.next)}, x
			}
		})
		if _, have := g.best(q.setup, q.hyps, q.p, q.record, g.skip); have-v > 1e-6*(1+math.Abs(have)) {
			g.price(best, &q.point)
			g.add(best)
		}
		if g.at--; g.at < 0 {
			g.sweep++
			g.at = len(g.points) - 1
		}
	default:
		g.prune()
		if g.round++; g.round < len(g.rounds) {
			g.start()
		}
	}
	return g.round == len(g.rounds)
}

// explore opens what may come after a point: what follows the best step, the second
// best, and the test that tells most for its cost, the better ones with more of the reach.
func (g *growth) explore(q reached, wide int) {
	type choice struct {
		step Step
		v    float64
	}
	var all []choice
	g.backup(q.point, g.skip, true, wide, q.found, func(p *plan, v float64) {
		if p.step.Kind == DoRepair || p.step.Kind == DoTest && g.tells(q.point, p.step.Index) {
			all = append(all, choice{p.step, v})
		}
	})
	if len(all) == 0 {
		return
	}
	slices.SortFunc(all, func(a, b choice) int {
		if g.better(a.step, a.v, b.step, b.v) {
			return -1
		}
		return 1
	})
	shares := map[Step]float64{}
	order := []Step{}
	give := func(s Step, share float64) {
		if shares[s] == 0 {
			order = append(order, s)
		}
		shares[s] += share
	}
	give(all[0].step, 0.6)
	if len(all) > 1 {
		give(all[1].step, 0.15)
	}
	if s, ok := g.telling(q.point); ok {
		give(s, 0.15)
	}
	if s, ok := g.mending(q.point); ok {
		give(s, 0.1)
	}
	if s, ok := g.opening(q.point); ok {
		give(s, 0.1)
	}
	for _, s := range order {
		g.follow(q, s, shares[s], wide)
	}
}

// tells reports whether a test can tell anything about the hypotheses of a point.
func (g *growth) tells(q point, t int) bool {
	of, _ := g.space.ClassesAmong(t, g.net.n)
	for _, h := range q.hyps {
		if of[h] != of[q.hyps[0]] {
			return true
		}
	}
	return false
}

// follow opens what comes after a step.
func (g *growth) follow(q reached, s Step, share float64, wide int) {
	reach := q.reach * share
	if !g.room(reach) {
		return
	}
	there := g.goTo(q.point, s, wide)
	if s.Kind == DoRepair {
		g.push(reached{point: g.repair(there, s.Index, wide), reach: reach})
		return
	}
	joint, odds := g.joint(nil, nil, there, s.Index)
	for o, p := range odds {
		if p > 1e-9 && g.room(reach*p) {
			g.push(reached{point: g.see(there, s.Index, o, joint[o], p, wide), reach: reach * p})
		}
	}
}

// telling returns the test that sharpens the odds most for its cost: the expected gain
// in the sum of squares, which needs no logarithm.
func (g *growth) telling(q point) (best Step, ok bool) {
	most := 0.0
	before := 0.0
	for _, p := range q.p {
		before += float64(p * p)
	}
	var joint [][]float64
	var odds []float64
	for _, t := range g.tests {
		joint, odds = g.joint(joint, odds, q, t)
		after := 0.0
		for o, p := range odds {
			if p > 0 {
				sum := 0.0
				for _, x := range joint[o] {
					sum += float64(x * x)
				}
				after += sum / p
			}
		}
		s := Step{DoTest, t}
		if gain := (after - before) / (g.StepCost(s, q.setup) + g.trifle()); gain > most {
			most, best, ok = gain, s, true
		}
	}
	return best, ok
}

// trifle is a cost that keeps a step that costs nothing from being worth everything.
func (p *Problem) trifle() float64 { return float64(1e-3 * (1 + math.Abs(p.Loss))) }

// mending returns the repair that takes away most of the odds of being at fault for its cost.
func (g *growth) mending(q point) (best Step, ok bool) {
	most := 0.0
	modes, _ := g.modesOf(q.hyps, q.p)
	for _, r := range g.repairs {
		if !g.Open(r, q.seen) {
			continue
		}
		gain := 0.0
		for _, f := range g.model.Repairs[r].After(q.tried(r)).Fixes {
			gain += float64(f.P * modes[f.Mode])
		}
		s := Step{DoRepair, r}
		gain /= g.StepCost(s, q.setup) + g.trifle()
		if gain > most {
			most, best, ok = gain, s, true
		}
	}
	return best, ok
}

// keep marks a plan and all that may follow it. Without what follows, a step would be the
// only way to it, and would be done again and again for its sake.
func (g *growth) keep(p *plan, marked map[*plan]bool) {
	if marked[p] {
		return
	}
	marked[p] = true
	for _, next := range p.next {
		g.keep(next, marked)
	}
}

// prune keeps the plans that are best at some point, what follows them, and those that are
// kept anyway.
func (g *growth) prune() {
	keep := map[*plan]bool{}
	for _, q := range g.points {
		p, _ := g.best(q.setup, q.hyps, q.p, q.record, g.skip)
		g.keep(p, keep)
	}
	before := g.plans
	g.clear(len(before), g.net.n)
	for _, plans := range before {
		for _, p := range plans {
			if keep[p] || p.kept {
				g.add(p)
			}
		}
	}
}
