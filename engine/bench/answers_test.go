package bench_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

func TestAUnitWhoseModelIsNotAtHandAnswersWhatNeedsNone(t *testing.T) {
	m := load(t, "second")
	u := recorded(m, saw("boot", "asks"), did("clean-lens"), end(trail.WrittenOff))
	u.Model = nil
	assert.Empty(t, u.Costs())
	minutes, money := u.Spent()
	assert.Zero(t, minutes)
	assert.Zero(t, money)
	assert.False(t, u.Told("boot"))
	ended, ok := u.Ended()
	assert.True(t, ok)
	assert.Equal(t, trail.WrittenOff, ended.As)
	without := bench.DefaultTerms(nil)
	assert.Equal(t, "EUR", without.Currency)
	assert.Empty(t, without.Tools, "whose they would be is not known")
	without.Tools, without.Currency = bench.DefaultTerms(m).Tools, bench.DefaultTerms(m).Currency
	assert.Equal(t, bench.DefaultTerms(m), without, "the amounts are the same")
}

func TestWritingOffIsDoneAnywhereAndWithoutDanger(t *testing.T) {
	m := load(t, "second")
	u := worked(t, m, saw("boot", "asks"), into("open"))
	off := plan.Step{Kind: plan.WriteOff}
	assert.Empty(t, u.Way(off))
	assert.Empty(t, u.CautionsHere(off))
	assert.NotEmpty(t, u.Way(plan.Step{Kind: plan.SignOff}), "signed off it has to be closed first")
	rail := plan.Step{Kind: plan.DoTest, Index: test(t, m, "rail")}
	assert.NotEmpty(t, u.CautionsHere(rail), "an open unit is dangerous")
}

func TestMoneyIsThatOfThePerson(t *testing.T) {
	m := load(t, "second")
	u := recorded(m)
	assert.Equal(t, 12.0, u.Money(12), "the model's own")
	u.Trail.Terms.Exchange = 1.25
	assert.Equal(t, 15.0, u.Money(12))
	yen := trail.Terms{Currency: "JPY", Exchange: 160}
	u = recorded(m, trail.Event{Kind: trail.NewTerms, Terms: &yen})
	assert.Equal(t, 1920.0, u.Money(12), "by the terms that stand")
}

func TestToolsComeInTheOrderAskedFor(t *testing.T) {
	m := load(t, "second")
	require.GreaterOrEqual(t, len(m.Tools), 1)
	last, first := m.Tools[len(m.Tools)-1].ID, m.Tools[0].ID
	var ids []model.ToolID
	for _, tool := range bench.Tools(m, []model.ToolID{last, "hammer of another model", first}) {
		ids = append(ids, tool.ID)
	}
	assert.Equal(t, []model.ToolID{last, first}, ids)
}

func TestAStepOfAnotherModelIsNone(t *testing.T) {
	m := load(t, "second")
	_, ok := bench.StepOf(m, "weigh", "")
	assert.False(t, ok)
	step, ok := bench.StepOf(m, "", "clean-lens")
	assert.True(t, ok)
	assert.Equal(t, plan.Step{Kind: plan.DoRepair, Index: repair(t, m, "clean-lens")}, step)
	boot := &m.Tests[test(t, m, "boot")]
	x := 4.2
	assert.Equal(t, -1, bench.OutcomeOf(boot, &trail.Event{Outcome: "sings"}))
	assert.Equal(t, -1, bench.OutcomeOf(boot, &trail.Event{Reading: &x}), "a number where none is taken")
}

func TestLookingBackCanBeStoppedHalfWay(t *testing.T) {
	m := load(t, "second")
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	u := worked(t, m, saw("boot", "asks"), into("open"), saw("rail", "low"))
	stop := errors.New("the person has gone on")
	_, err = u.LookBack(s, func() error { return stop })
	require.ErrorIs(t, err, stop)
	assert.NotNil(t, u.Origin, "what was worked out before stays")
	assert.Nil(t, u.Doubts)
	late, err := u.LookBack(s, func() error { return nil })
	require.NoError(t, err)
	assert.False(t, late)
	assert.Len(t, u.Doubts, 2, "one a result")
}

// What cannot be told apart is not told as a saving, and a test whose one outcome takes any number
// finds none of them far.
func TestNoFigureIsFinerThanItIsKnown(t *testing.T) {
	m := load(t, "second")
	u := worked(t, m, saw("boot", "asks"))
	saves := func(within float64) float64 {
		reasons := u.Reasons(plan.Proposal{Step: plan.Step{Kind: plan.WriteOff}, Within: within,
			Reason: plan.Reason{Other: plan.Step{Kind: plan.SignOff}, Saves: 0.4}})
		last := reasons[len(reasons)-1]
		require.Equal(t, bench.ReasonSaves, last.Kind)
		return last.Money
	}
	assert.Equal(t, 0.4, saves(0.1))
	assert.Zero(t, saves(0.5))
	any := &model.Test{Reading: &model.Reading{}, Outcomes: []model.Outcome{{From: math.Inf(-1), To: math.Inf(1)}}}
	assert.False(t, bench.Far(any, 1e9))
}
