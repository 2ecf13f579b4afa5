package plan_test

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/sim"
	"pitwise/engine/trail"
)

// A bench is a shipped model with all its tools and the terms of formats.md's example.
type bench struct {
	space   *belief.Space
	terms   trail.Terms
	planner plan.Planner
}

func newBench(t testing.TB, id string) bench {
	t.Helper()
	m, err := catalog.Load(id)
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	terms := trail.Terms{MinuteValue: 0.5, Currency: "EUR", WorkingValue: 60, AsIsValue: 10, ComebackCost: 40}
	for _, tool := range m.Tools {
		terms.Tools = append(terms.Tools, tool.ID)
	}
	p, err := plan.New(s, terms)
	require.NoError(t, err)
	return bench{s, terms, p}
}

// intake returns the situation after an outcome of the intake test.
func (b bench) intake(t testing.TB, outcome int) plan.Situation {
	t.Helper()
	m := b.space.Model()
	x := b.space.Prior()
	require.NoError(t, x.Observe(m.Intake, belief.Named(&m.Tests[m.Intake], outcome)))
	return plan.Situation{Belief: x, Setup: m.Root}
}

// settle works a search to its end in slices of so many units.
func settle(s plan.Search, slice int) []plan.Proposal {
	for !s.Work(slice) {
	}
	return s.Proposals()
}

func TestTheAnswerDoesNotDependOnHowTheWorkIsSliced(t *testing.T) {
	b := newBench(t, "top-loader")
	at := b.intake(t, 2)
	want := settle(b.planner.Start(at), 1<<20)
	assert.Equal(t, want, settle(b.planner.Start(at), 1), "by the smallest slices")
	assert.Equal(t, want, settle(newBench(t, "top-loader").planner.Start(at), 5), "by another planner")
}

func TestASearchLeavesTheBeliefAsItWas(t *testing.T) {
	b := newBench(t, "top-loader")
	at := b.intake(t, 1)
	before := at.Belief.Modes(nil)
	settle(b.planner.Start(at), 100)
	assert.Equal(t, before, at.Belief.Modes(nil))
	assert.Equal(t, 0, at.Setup)
}

func TestAFirstAnswerComesLongBeforeTheSettledOne(t *testing.T) {
	b := newBench(t, "top-loader")
	s := b.planner.Start(b.intake(t, 2))
	assert.Empty(t, s.Proposals())
	n := 0
	for ; len(s.Proposals()) == 0; n++ {
		require.False(t, s.Work(8), "the first proposal comes before the last")
	}
	left := 0
	for ; !s.Work(8); left++ {
	}
	assert.Greater(t, left, 3*n)
}

func TestProposalsAreWholeAndInOrder(t *testing.T) {
	for _, e := range catalog.Models() {
		t.Run(e.ID, func(t *testing.T) {
			b := newBench(t, e.ID)
			m := b.space.Model()
			steps := 2
			for i := range m.Tests {
				if !m.Tests[i].Told {
					steps++
				}
			}
			for i := range m.Repairs {
				if m.Allows(&m.Repairs[i].OnlyAfter, nil, b.terms.Tools) {
					steps++
				}
			}
			for outcome := 1; outcome < len(m.Tests[m.Intake].Outcomes); outcome++ {
				all := settle(b.planner.Start(b.intake(t, outcome)), 1<<20)
				require.Equal(t, steps, len(all), "every test, every repair that asks for nothing, and both endings are on offer")
				assert.True(t, slices.IsSortedFunc(all[1:], func(a, b plan.Proposal) int {
					return cmp.Compare(math.Round(a.Total*1e7), math.Round(b.Total*1e7)) // values that tie are in order of their ids
				}))
				for _, p := range all {
					check(t, m, b.terms, p)
				}
				first := all[0]
				near := first.Within + 1e-9
				if m.EndsAsProof(&m.Tests[first.Step.Index]) && first.Step.Kind == plan.DoTest {
					near += float64(b.terms.MinuteValue*first.Minutes) + first.Money // a unit is started once whatever the totals say: it costs its price at most
				}
				assert.GreaterOrEqual(t, first.Reason.Saves, -near, "what goes before cannot be told apart")
				assert.LessOrEqual(t, first.Total, first.Reason.WriteOff+near, "writing off is always open")
				for _, p := range all {
					assert.GreaterOrEqual(t, p.Total, first.Total-near)
				}
			}
		})
	}
}

// check holds one proposal to what its fields promise.
func check(t *testing.T, m *model.Model, terms trail.Terms, p plan.Proposal) {
	t.Helper()
	require.False(t, math.IsNaN(p.Total) || math.IsInf(p.Total, 0))
	spent := terms.MinuteValue*p.Minutes + p.Money
	assert.GreaterOrEqual(t, p.Minutes, 0.0)
	at := m.Root
	switch p.Step.Kind {
	case plan.DoTest:
		test := &m.Tests[p.Step.Index]
		at = test.At
		require.Len(t, p.Outcomes, len(test.Outcomes))
		sum := 0.0
		for o, f := range p.Outcomes {
			assert.Equal(t, o, f.Outcome)
			sum += f.P
			assert.True(t, f.Odds >= 0 && f.Odds <= 1+1e-9)
		}
		assert.InDelta(t, 1, sum, 1e-9)
		assert.GreaterOrEqual(t, p.Bits, 0.0)
		assert.LessOrEqual(t, p.Bits, math.Log2(float64(len(test.Outcomes)))+1e-9)
		assert.GreaterOrEqual(t, p.Total, spent-1e-9, "what follows a test is never worth less than nothing here")
	case plan.DoRepair:
		at = m.Repairs[p.Step.Index].At
	case plan.SignOff:
		assert.True(t, p.Left > 0 && p.Left <= 1)
		assert.InDelta(t, spent+p.Left*(terms.ComebackCost+terms.WorkingValue-terms.AsIsValue), p.Total, 1e-9, "formats.md, section 3")
	case plan.WriteOff:
		assert.InDelta(t, terms.WorkingValue-terms.AsIsValue, p.Total, 1e-9, "formats.md, section 3")
		assert.Empty(t, p.Way)
		return
	}
	require.Equal(t, m.Way(m.Root, at), p.Way)
}

func TestATestWhoseToolsAreMissingIsNotOnOffer(t *testing.T) {
	b := newBench(t, "top-loader")
	m := b.space.Model()
	b.terms.Tools = nil
	p, err := plan.New(b.space, b.terms)
	require.NoError(t, err)
	offered := 0
	for _, p := range settle(p.Start(b.intake(t, 3)), 1<<20) {
		switch p.Step.Kind {
		case plan.DoTest:
			offered++
			assert.Empty(t, m.Tests[p.Step.Index].Needs, m.Tests[p.Step.Index].ID)
			for _, f := range p.Outcomes {
				if f.Next.Kind == plan.DoTest {
					assert.Empty(t, m.Tests[f.Next.Index].Needs, "nor is it planned for later")
				}
			}
		case plan.DoRepair:
			assert.Empty(t, m.Repairs[p.Step.Index].Needs, m.Repairs[p.Step.Index].ID)
		}
	}
	assert.GreaterOrEqual(t, offered, 10, "tests that need no tool")
}

func TestASkippedTestIsNotProposedNowOrNext(t *testing.T) {
	b := newBench(t, "top-loader")
	at := b.intake(t, 2)
	first := settle(b.planner.Start(at), 1<<20)[0]
	require.Equal(t, plan.DoTest, first.Step.Kind)
	at.Skipped = make([]bool, len(b.space.Model().Tests))
	at.Skipped[first.Step.Index] = true
	for _, p := range settle(b.planner.Start(at), 1<<20) {
		assert.NotEqual(t, first.Step, p.Step)
		for _, f := range p.Outcomes {
			assert.NotEqual(t, first.Step, f.Next)
		}
	}
}

// A unit must come to an end by itself: a step that gains nothing is never proposed, however
// often it is done in vain.
func TestNoUnitGoesOnForEver(t *testing.T) {
	units := 2
	if testing.Short() {
		units = 1
	}
	fixed, families := 0.0, catalog.Models()
	for _, e := range families {
		t.Run(e.ID, func(t *testing.T) {
			b := newBench(t, e.ID)
			b.terms.WorkingValue = 150 // so that giving up is no way out
			planner, err := plan.New(b.space, b.terms)
			require.NoError(t, err)
			p := plan.NewProblem(b.space, b.terms)
			runs, err := sim.PlayAll(p, func() (sim.Policy, error) { return sim.Planned{Planner: planner}, nil }, 21, units, 2, nil, nil)
			require.NoError(t, err)
			for n, r := range runs {
				assert.Less(t, r.Steps, 80, "unit %d", n)
			}
			fixed += sim.Summarise(runs).Fixed
		})
	}
	assert.Greater(t, fixed/float64(len(families)), 0.6, "most units pay under these terms")
}

func TestTermsThatAreNoNumbersAreRefused(t *testing.T) {
	b := newBench(t, "top-loader")
	b.terms.ComebackCost = math.NaN()
	_, err := plan.New(b.space, b.terms)
	require.ErrorIs(t, err, plan.ErrTerms)
	assert.ErrorContains(t, err, "comeback_cost")
}
