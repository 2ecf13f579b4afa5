package bench_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

func TestOnlyWhatTheOriginSupportsIsOfferedAsACause(t *testing.T) {
	m := load(t, "example")
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	u := worked(t, m, saw("first-boot", "still"), into("open"), read("rail", 5.0))
	lid, _ := m.Mode("lid.misaligned")
	lens, _ := m.Mode("lens.dirty")
	supply, _ := m.Mode("supply.low")
	late, err := u.LookBack(s, nil)
	require.NoError(t, err)
	assert.False(t, late)
	got := u.Supported()
	require.NotEmpty(t, got)
	assert.Equal(t, lid.Index, got[0], "a lid that does not press is what shows so")
	assert.NotContains(t, got, supply.Index, "its rail was right")
	_ = lens
	for _, i := range got {
		assert.GreaterOrEqual(t, u.Origin.Modes[i], bench.SupportedFrom)
	}
	assert.Nil(t, recorded(m).Supported(), "without odds nothing is offered")
}

func TestTheResultThatSitsWorst(t *testing.T) {
	u := bench.Unit{Doubts: []trail.Doubt{{N: 1, P: 0.4}, {N: 2, P: 0.03}, {N: 3, P: 0.01}, {N: 4, P: 0.02}}}
	d, ok := u.Doubtful()
	assert.True(t, ok)
	assert.Equal(t, trail.Doubt{N: 3, P: 0.01}, d)
	u.Doubts = []trail.Doubt{{N: 1, P: bench.DoubtBelow}}
	_, ok = u.Doubtful()
	assert.False(t, ok)
	m := shipped(t)["tray"]
	complaint, start := test(t, m, "complaint"), test(t, m, "first-boot")
	told := bench.Unit{Model: m, Trail: &trail.Trail{Events: []trail.Event{{N: 1, Kind: trail.Result, Test: "complaint", Outcome: "fades"}}}, Doubts: []trail.Doubt{{N: 1, P: 0.04}}, Account: &trail.Account{Seen: slices.Repeat([]int{-1}, len(m.Tests))}}
	told.Account.Seen[complaint] = 3
	_, ok = told.Doubtful()
	assert.False(t, ok, "a rare complaint alone")
	told.Account.Seen[start] = 0
	_, ok = told.Doubtful()
	assert.False(t, ok, "a unit that fails now and then has started once")
	told.Doubts[0].P = 0.009
	_, ok = told.Doubtful()
	assert.True(t, ok, "a rare complaint of a unit that starts")
}

func TestASuspectWhoseRepairNeedsAToolIsNamed(t *testing.T) {
	m := shipped(t)["top-loader"]
	sled, ok := m.Repair("grease-sled")
	require.True(t, ok)
	mode := sled.Change.Fixes[0].Mode
	u := recorded(m)
	for _, tool := range m.Tools {
		if tool.ID == "grease" {
			continue
		}
		u.Trail.Terms.Tools = append(u.Trail.Terms.Tools, tool.ID)
	}
	u.Trail.Terms.Tools = without(u.Trail.Terms.Tools, "grease")
	odds := trail.Odds{Modes: make([]float64, len(m.Modes))}
	odds.Modes[mode] = 0.34
	u.Account = &trail.Account{Lines: []trail.Line{{Odds: odds}}}
	wants := u.Wants()
	require.Len(t, wants, 1)
	assert.Equal(t, bench.Want{Mode: mode, P: 0.34, Repair: sled.Index, Lacks: []model.ToolID{"grease"}}, wants[0])
	reasons := u.Reasons(plan.Proposal{Step: plan.Step{Kind: plan.WriteOff}})
	assert.Contains(t, kindsOf(reasons), bench.ReasonWants, "a write-off that hangs on a tool says so")
	look := plan.Proposal{Step: plan.Step{Kind: plan.DoTest, Index: m.Proof}}
	assert.NotContains(t, kindsOf(u.Reasons(look)), bench.ReasonWants, "other suspects together are likelier")
	odds.Modes[mode] = 0.84
	assert.Contains(t, kindsOf(u.Reasons(look)), bench.ReasonWants, "what is known, and cannot be mended here, is told beside any step")
	u.Trail.Terms.Tools = append(u.Trail.Terms.Tools, "grease")
	assert.Empty(t, u.Wants())
}

func TestThePartsThatAUnitMayWaitFor(t *testing.T) {
	m := shipped(t)["tray"]
	belt, ok := m.Repair("replace-belt")
	require.True(t, ok)
	require.Positive(t, belt.Money)
	u := recorded(m)
	odds := trail.Odds{Modes: make([]float64, len(m.Modes))}
	odds.Modes[belt.Change.Fixes[0].Mode] = 0.6
	u.Account = &trail.Account{Lines: []trail.Line{{Odds: odds}}}
	spares := u.Spares()
	assert.Contains(t, spares, belt.Index)
	for _, i := range spares {
		assert.GreaterOrEqual(t, m.Repairs[i].Money, bench.PartFrom, m.Repairs[i].ID)
	}
	odds.Modes[belt.Change.Fixes[0].Mode] = 0
	assert.Empty(t, u.Spares(), "nobody is suspected")
}

func without(all []model.ToolID, id model.ToolID) []model.ToolID {
	var rest []model.ToolID
	for _, x := range all {
		if x != id {
			rest = append(rest, x)
		}
	}
	return rest
}

func kindsOf(all []bench.Reason) []bench.ReasonKind {
	var kinds []bench.ReasonKind
	for _, r := range all {
		kinds = append(kinds, r.Kind)
	}
	return kinds
}

func TestReasonsByKindOfStep(t *testing.T) {
	m := load(t, "second")
	nan := math.NaN()
	u := worked(t, m, saw("boot", "asks"), into("open"), saw("rail", "low"), did("clean-lens"))
	none := [2]int{-1, -1}
	other := plan.Reason{Other: plan.Step{Kind: plan.WriteOff}, Saves: 3, Separates: none, SignOff: 20, WriteOff: 70, Proof: nan}
	for _, row := range []struct {
		name string
		p    plan.Proposal
		want []bench.ReasonKind
	}{
		{"a test done before says so", plan.Proposal{Step: plan.Step{Kind: plan.DoTest, Index: test(t, m, "rail")},
			Reason: plan.Reason{Separates: [2]int{0, 2}, Bits: 0.5, Other: other.Other, Saves: 1}},
			[]bench.ReasonKind{bench.ReasonAgain, bench.ReasonSeparates, bench.ReasonSaves}},
		{"what hardly tells two apart is not said to", plan.Proposal{Step: plan.Step{Kind: plan.DoTest, Index: test(t, m, "boot")},
			Reason: plan.Reason{Separates: [2]int{0, 2}, Bits: 0.01, Other: other.Other, Saves: 1}}, []bench.ReasonKind{bench.ReasonSaves}},
		{"one that a repair touched since begins anew", plan.Proposal{Step: plan.Step{Kind: plan.DoTest, Index: test(t, m, "boot")}, Reason: other},
			[]bench.ReasonKind{bench.ReasonSaves}},
		{"a repair says what it mends, that it was done, and what put it on offer", plan.Proposal{Step: plan.Step{Kind: plan.DoRepair, Index: 1}, Reason: other},
			[]bench.ReasonKind{bench.ReasonOpened, bench.ReasonMends, bench.ReasonSaves}},
		{"the second try of a repair", plan.Proposal{Step: plan.Step{Kind: plan.DoRepair, Index: 0}, Reason: other},
			[]bench.ReasonKind{bench.ReasonAgain, bench.ReasonMends, bench.ReasonSaves}},
		{"a sign-off whose proof cannot be run has no word of it", plan.Proposal{Step: plan.Step{Kind: plan.SignOff}, Left: 0.1, Reason: other},
			[]bench.ReasonKind{bench.ReasonLeft, bench.ReasonEnds, bench.ReasonSaves}},
		{"one whose proof can be run has", plan.Proposal{Step: plan.Step{Kind: plan.SignOff}, Reason: plan.Reason{Proof: 2}},
			[]bench.ReasonKind{bench.ReasonLeft, bench.ReasonEnds, bench.ReasonProof}},
		{"a write-off", plan.Proposal{Step: plan.Step{Kind: plan.WriteOff}, Reason: plan.Reason{Other: plan.Step{Kind: plan.WriteOff}}},
			[]bench.ReasonKind{bench.ReasonEnds}},
	} {
		t.Run(row.name, func(t *testing.T) { assert.Equal(t, row.want, kindsOf(u.Reasons(row.p))) })
	}
	for _, r := range u.Reasons(plan.Proposal{Step: plan.Step{Kind: plan.DoTest, Index: test(t, m, "rail")}, Reason: other}) {
		if r.Kind == bench.ReasonAgain {
			assert.Equal(t, 2, r.N, "the second")
		}
	}
}

func TestReadingsThatAreAskedBack(t *testing.T) {
	band := func(meter float64, edges ...float64) *model.Test { // right, high, low
		return &model.Test{Reading: &model.Reading{Absolute: meter}, Outcomes: []model.Outcome{
			{From: edges[0], To: edges[1]}, {From: edges[1], To: math.Inf(1)}, {From: math.Inf(-1), To: edges[0]}}}
	}
	volts := band(0.02, 4.75, 5.25)
	offset := band(0.3, -10, 10)
	share := band(3, 80, 115)
	share.Reading.Unit = "%"
	// A winding: right, off, open, short.
	winding := &model.Test{Reading: &model.Reading{Absolute: 0.3}, Outcomes: []model.Outcome{
		{From: 5, To: 25}, {From: 25, To: 200}, {From: 200, To: math.Inf(1)}, {From: math.Inf(-1), To: 5}}}
	for _, row := range []struct {
		name string
		test *model.Test
		x    float64
		want bool
	}{
		{"a right rail", volts, 5.02, false}, {"a dead rail", volts, 0, false}, {"a meter just below zero", volts, -0.01, false},
		{"a rail that is too high", volts, 6.5, false}, {"12 V on a rail of 5", volts, 12, true}, {"500, the dot forgotten", volts, 500, true},
		{"the leads swapped", volts, -5, true}, {"no number", volts, math.NaN(), true}, {"an overflow", volts, math.Inf(1), true},
		{"an open winding", winding, 2e6, false}, {"a negative resistance", winding, -15, true},
		{"an offset either way", offset, -60, false}, {"volts typed as millivolts", offset, 5000, true},
		{"volts typed as per cent", share, 0.21, true}, {"no current at all", share, 0, false}, {"a share that is small", share, 12, false},
		{"a test that takes no number", &model.Test{}, 12, false},
	} {
		t.Run(row.name, func(t *testing.T) { assert.Equal(t, row.want, bench.Far(row.test, row.x)) })
	}
	for name, m := range shipped(t) {
		for i := range m.Tests {
			x := &m.Tests[i]
			if x.Reading == nil {
				continue
			}
			if x.Reading.Nominal != nil {
				assert.False(t, bench.Far(x, *x.Reading.Nominal), "%s: %s asks its own nominal value back", name, x.ID)
			}
			assert.False(t, bench.Far(x, 0), "%s: %s asks a dead reading back", name, x.ID)
			for _, o := range x.Outcomes {
				if !math.IsInf(o.From, 0) {
					assert.False(t, bench.Far(x, o.From), "%s: %s asks the edge of its own outcome back", name, x.ID)
				}
			}
		}
	}
}
