package plan

import (
	"math/rand/v2"
	"slices"
	"testing"

	"pitwise/engine/belief"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/trail"

	"github.com/stretchr/testify/require"
)

// small makes the problem of a random small model.
func small(t testing.TB, seed uint64) *Problem {
	text, terms := random.Small(rand.New(rand.NewPCG(seed, 7)))
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

func problem(t testing.TB, m *model.Model, terms trail.Terms) *Problem {
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	return NewProblem(s, terms)
}

// A fate is what a policy comes to, over all that can happen from the intake.
type fate struct {
	cost       float64 // expected, Currency
	writtenOff float64 // probability
	comesBack  float64 // probability
	unplayed   float64 // probability of what was not followed to its end: valued at the best known plan
	asked      int     // situations in which the policy was asked
}

// played is a situation that a policy comes to: the truth, as a node, and what is believed.
type played struct {
	node  *node
	b     *belief.Belief
	reach float64
}

// play works out a policy's expected cost by following every outcome, not by drawing units.
// Situations that are less likely than least are not followed but valued at the best plan
// that the solver knows there, or that the policy itself has, if rest tells its cost. Situations with the same
// truth and the same record are one.
func play(t testing.TB, e *Exact, least float64, next func(Situation) (Step, error), rest func(Situation) float64) (f fate) {
	m := e.model
	view := e.tight.view()
	asked := map[*node]Step{}
	var level []played
	for _, s := range e.starts {
		b := e.space.Prior()
		if c := view.counts(s.node, m.Intake); slices.Max(c) > 0 {
			require.NoError(t, b.Observe(m.Intake, belief.Named(&m.Tests[m.Intake], slices.Index(c, 1))))
		}
		level = append(level, played{s.node, b, s.p})
	}
	for depth := 0; len(level) > 0; depth++ {
		require.Less(t, depth, 1000)
		var after []played
		at := map[*node]int{}
		for _, x := range level {
			if x.reach < least {
				v := x.node.high
				if rest != nil {
					v = min(v, rest(Situation{Belief: x.b, Setup: x.node.setup}))
				}
				f.cost += x.reach * v
				f.unplayed += x.reach
				continue
			}
			step, ok := asked[x.node]
			if !ok {
				var err error
				step, err = next(Situation{Belief: x.b, Setup: x.node.setup})
				require.NoError(t, err)
				asked[x.node] = step
				f.asked++
			}
			switch step.Kind {
			case WriteOff:
				f.cost += x.reach * e.Loss
				f.writtenOff += x.reach
				continue
			case SignOff:
				cost := dense(e.lib.ending(x.node.setup, SignOff).cost, x.node.p)
				f.cost += x.reach * cost
				f.comesBack += x.reach * (cost - e.StepCost(step, x.node.setup)) / e.Comeback
				continue
			}
			a := view.acts[x.node.setup]
			i := 0
			for a[i].step != step {
				i++
			}
			edge := edge{act: &a[i]}
			view.expand(x.node, &edge)
			f.cost += x.reach * (a[i].way + a[i].own)
			b := x.b.Clone()
			for _, c := range e.WayChanges(step, x.node.setup) {
				require.NoError(t, b.Apply(c))
			}
			if step.Kind == DoRepair {
				require.NoError(t, b.Apply(m.Repairs[step.Index].Change))
			}
			for _, arc := range edge.to {
				j, ok := at[arc.node]
				if !ok {
					j = len(after)
					at[arc.node] = j
					c := b.Clone()
					if step.Kind == DoTest {
						require.NoError(t, c.Observe(step.Index, belief.Named(&m.Tests[step.Index], arc.outcome)))
					}
					after = append(after, played{arc.node, c, 0})
				}
				after[j].reach += x.reach * arc.p
			}
		}
		level = after
	}
	return f
}

func (g *graph) counts(n *node, t int) []uint8 { return n.counts[g.from[t] : g.from[t]+len(g.laws[t])] }

func dense(cost, p []float64) (v float64) {
	for h, x := range p {
		v += float64(x * cost[h])
	}
	return v
}

// planned asks a planner for its settled proposal.
func planned(p Planner) func(Situation) (Step, error) {
	return func(at Situation) (Step, error) {
		s := p.Start(at)
		for !s.Work(1 << 20) {
		}
		return s.Proposals()[0].Step, nil
	}
}

// shelved tells what the cheapest plan of a planner's library costs in a situation.
func shelved(p Planner) func(Situation) float64 {
	return func(at Situation) float64 {
		s := &search{planner: p.(*planner), at: at}
		s.open()
		_, v := s.lib.best(s.root.setup, s.root.hyps, s.root.p, s.root.record, set{})
		return v
	}
}
