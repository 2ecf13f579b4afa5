package exact

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pitwise/engine/belief"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"

	"github.com/stretchr/testify/require"
)

// small makes the problem of a random small model.
func small(t testing.TB, seed uint64) *plan.Problem {
	text, terms := random.Small(rand.New(rand.NewPCG(seed, 7)))
	return loaded(t, text, terms)
}

// second makes the problem of a random small model of version 2.
func second(t testing.TB, seed uint64) *plan.Problem {
	text, terms := random.SmallSecond(rand.New(rand.NewPCG(seed, 8)))
	return loaded(t, text, terms)
}

func loaded(t testing.TB, text []byte, terms random.Terms) *plan.Problem {
	m, err := model.Load(text)
	require.NoError(t, err)
	return problem(t, m, trail.Terms{
		MinuteValue: terms.MinuteValue, Tools: tools(terms.Tools),
		WorkingValue: terms.WorkingValue, AsIsValue: terms.AsIsValue, ComebackCost: terms.ComebackCost,
	})
}

func tools(ids []string) (all []model.ToolID) {
	for _, id := range ids {
		all = append(all, model.ToolID(id))
	}
	return all
}

func problem(t testing.TB, m *model.Model, terms trail.Terms) *plan.Problem {
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	return plan.NewProblem(s, terms)
}

// A fate is what a policy comes to, over all that can happen from the intake.
type fate struct {
	cost       float64 // expected, Currency
	writtenOff float64 // probability
	comesBack  float64 // probability
	unplayed   float64 // probability of what was not followed to its end: valued at the best known plan
	asked      int     // situations in which the policy was asked
}

// played is a situation that a policy comes to: the truth, as a node, and what is known of it.
type played struct {
	node  *node
	b     *belief.Belief
	seen  []int
	reach float64
}

func (x *played) situation() plan.Situation {
	return plan.Situation{Belief: x.b, Setup: x.node.setup, Tries: x.node.tries, Seen: x.seen}
}

// play works out a policy's expected cost by following every outcome, not by drawing units.
// Situations that are less likely than least are not followed but valued at the best plan
// that the solver knows there, or that the policy itself has, if rest tells its cost. Situations with the same
// truth and the same record are one.
func play(t testing.TB, e *Solution, least float64, next func(plan.Situation) (plan.Step, error), rest func(plan.Situation) float64) (f fate) {
	m := e.Space().Model()
	view := e.tight.view()
	asked := map[*node]plan.Step{}
	var level []played
	for _, s := range e.starts {
		b := e.Space().Prior()
		for i, o := range s.results {
			if o >= 0 {
				require.NoError(t, b.Observe(i, belief.Named(&m.Tests[i], o)))
			}
		}
		level = append(level, played{s.node, b, s.results, s.p})
	}
	for depth := 0; len(level) > 0; depth++ {
		require.Less(t, depth, 1000)
		var after []played
		at := map[*node]int{}
		for _, x := range level {
			if x.reach < least {
				v := x.node.high
				if rest != nil {
					v = min(v, rest(x.situation()))
				}
				f.cost += x.reach * v
				f.unplayed += x.reach
				continue
			}
			step, ok := asked[x.node]
			if !ok {
				var err error
				step, err = next(x.situation())
				require.NoError(t, err)
				asked[x.node] = step
				f.asked++
			}
			switch step.Kind {
			case plan.WriteOff:
				f.cost += x.reach * e.Loss
				f.writtenOff += x.reach
				continue
			case plan.SignOff:
				cost := dense(e.signOff(x.node.setup), x.node.p)
				f.cost += x.reach * cost
				f.comesBack += x.reach * (cost - e.StepCost(step, x.node.setup)) / e.Comeback
				continue
			case plan.DoRepair:
				require.True(t, e.Open(step.Index, x.seen), "a repair that is not on offer was chosen")
			}
			a := view.acts[x.node.setup]
			i := slices.IndexFunc(a, func(a act) bool { return a.step == step })
			edge := edge{act: &a[i]}
			view.expand(x.node, &edge)
			f.cost += x.reach * (a[i].way + a[i].own)
			b := x.b.Clone()
			tries := x.node.tries
			for _, c := range e.WayChanges(step, x.node.setup) {
				require.NoError(t, b.Apply(c))
				tries = m.Disturbed(tries, c)
			}
			if step.Kind == plan.DoRepair {
				var failed []int
				if tries != nil {
					failed = tries[step.Index]
				}
				require.NoError(t, b.Apply(m.Repairs[step.Index].After(failed)))
			}
			for _, arc := range edge.to {
				j, ok := at[arc.node]
				if !ok {
					j = len(after)
					at[arc.node] = j
					c, seen := b.Clone(), x.seen
					if step.Kind == plan.DoTest {
						require.NoError(t, c.Observe(step.Index, belief.Named(&m.Tests[step.Index], arc.outcome)))
						if seen != nil {
							seen = slices.Clone(seen)
							seen[step.Index] = arc.outcome
						}
					}
					after = append(after, played{arc.node, c, seen, 0})
				}
				after[j].reach += x.reach * arc.p
			}
		}
		level = after
	}
	return f
}

// signOff is the cost of signing off from a setup, by hypothesis.
func (e *Solution) signOff(setup int) []float64 {
	i := slices.IndexFunc(e.plans[setup], func(v plan.Vector) bool { return v.Step.Kind == plan.SignOff })
	return e.plans[setup][i].Cost
}

func dense(cost, p []float64) (v float64) {
	for h, x := range p {
		v += float64(x * cost[h])
	}
	return v
}

// planned asks a planner for its settled proposal.
func planned(p plan.Planner) func(plan.Situation) (plan.Step, error) {
	return func(at plan.Situation) (plan.Step, error) { return settled(p, at).Step, nil }
}

// settled is what a planner puts first once it has looked as far as it will.
func settled(p plan.Planner, at plan.Situation) plan.Proposal {
	s := p.Start(at)
	for !s.Work(1 << 20) {
	}
	return s.Proposals()[0]
}

// shelved tells what the cheapest plan of the planner's library costs in a situation.
func (e *Solution) shelved(at plan.Situation) float64 {
	least := math.Inf(1)
	counts := make([][]float64, len(e.Space().Model().Tests))
	for t := range counts {
		counts[t] = at.Belief.Counts(t)
	}
	p := make([]float64, e.tight.n)
	for h := range p {
		p[h] = at.Belief.P(h)
	}
	for i := range e.plans[at.Setup] {
		if v := &e.plans[at.Setup][i]; v.Holds(counts, at.Tries, at.Seen) {
			least = min(least, dense(v.Cost, p))
		}
	}
	return least
}

// nothing is the past of a unit on which nothing was done.
func (g *graph) nothing() past {
	return g.past(func(int, int) float64 { return 0 }, nil, nil)
}
