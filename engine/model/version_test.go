package model

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	intakeMark = `"intake": true,
     "at": "closed", "minutes": 2, "money": 0,`
	toldIntake = `"intake": true, "told": true,`
	railHead   = `"at": "open", "minutes": 3, "money": 0,`
	bootAfter  = `"only_after": {"any": [{"test": "first-boot", "outcomes": ["still", "asks"]}]}`
)

func secondText(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile("testdata/second.json")
	require.NoError(t, err)
	return text
}

func TestTheExampleOfVersionTwoLoadsWhole(t *testing.T) {
	m, err := Load(secondText(t))
	require.NoError(t, err)
	requireSound(t, m)
	assert.Equal(t, 2, m.Version)
	assert.Equal(t, "EUR", m.Currency)
	assert.Equal(t, []float64{30, 5}, []float64{m.Sources[0].Weight, m.Sources[1].Weight})
	assert.Equal(t, 0, m.Intake)
	assert.Equal(t, 1, m.Proof)
	story := m.Tests[0]
	assert.True(t, story.Told && story.Intake && !story.Proof)
	assert.Equal(t, m.Root, story.At)
	assert.True(t, m.Tests[1].Proof && !m.Tests[1].Told)
	assert.Equal(t, 0.5, m.Repairs[0].Steadiness)
	assert.Equal(t, OnlyAfter{}, m.Repairs[0].OnlyAfter)
	// The file has high before low; the model has the order of the test.
	assert.Equal(t, OnlyAfter{Any: []Seen{{Test: 2, Outcomes: []int{1, 2}}, {Test: 1, Outcomes: []int{2}}}, Strict: true}, m.Repairs[1].OnlyAfter)
}

func TestAModelOfVersionOneMeansWhatItMeant(t *testing.T) {
	// source: formats.md, section 6: without proof the intake test is it; published 200,
	// practice 30, memory 8; no memory, no condition, no currency.
	m, err := Load(exampleText(t))
	require.NoError(t, err)
	assert.Equal(t, 1, m.Version)
	assert.Equal(t, m.Intake, m.Proof)
	assert.Empty(t, m.Currency)
	assert.Equal(t, []float64{30, 8, 200}, []float64{m.Sources[0].Weight, m.Sources[1].Weight, m.Sources[2].Weight})
	for _, r := range m.Repairs {
		assert.Zero(t, r.Steadiness)
		assert.Equal(t, OnlyAfter{}, r.OnlyAfter)
	}
	assert.Equal(t, m.Repairs[0].Change, m.Repairs[0].After([]int{7}), "without steadiness nothing is remembered")
}

func TestEachRuleOfVersionTwoIsHeld(t *testing.T) {
	// source: formats.md, section 6; each row by hand from the example. A row without want
	// is a valid model.
	second := change{`"version": 1`, `"version": 2`}
	late := func(of string) string { return of + `: of version 2, this file is of version 1` }
	for _, row := range []struct {
		name    string
		changes []change
		want    []string
	}{
		{"a version 1 file uses each of it", []change{
			{`"most_faults": 2,`, `"most_faults": 2, "currency": "EUR",`}, {`"cite": "estimate from memory"`, `"cite": "estimate from memory", "weight": 5`},
			{`"intake": true,`, `"intake": true, "told": false, "proof": true,`}, {lastRepair, `"steadiness": 1, ` + bootAfter + `}`}},
			[]string{late("currency"), late("sources.memory.weight"), late("tests[0].told"), late("tests[0].proof"), late("repairs[0].steadiness"), late("repairs[0].only_after")}},
		{"a currency that is none", []change{second, {`"most_faults": 2,`, `"most_faults": 2, "currency": "euro",`}}, []string{`currency: "euro" is not a currency of three capital letters (ISO 4217)`}},
		{"a currency", []change{second, {`"most_faults": 2,`, `"most_faults": 2, "currency": "EUR",`}}, nil},
		{"a weight of nothing", []change{second, {`"cite": "estimate from memory"`, `"cite": "estimate from memory", "weight": 0`}}, []string{`sources.memory.weight: 0, want above 0`}},
		{"a told test has no more than its words and rows", []change{second, {`"intake": true,`, `"intake": true, "told": true, "needs": ["multimeter"], "cautions": ["mains"],`}, {railHead, `"proof": true, ` + railHead}},
			[]string{`tests[0].needs: a told test has none`, `tests[0].cautions: a told test has none`, `tests[0].at: a told test has none`, `tests[0].minutes: a told test has none`, `tests[0].money: a told test has none`}},
		{"a told test may take a reading", []change{second, {railHead, `"told": true,`}, {`"needs": ["multimeter"], "cautions": ["mains"],`, ``}}, nil},
		{"a told intake test", []change{second, {intakeMark, toldIntake}, {railHead, `"proof": true, ` + railHead}}, nil},
		{"a told intake test without a proof", []change{second, {intakeMark, toldIntake}},
			[]string{`tests[0].told: the intake test is told, and no test is the proof: want one with "proof": true`}},
		{"a told proof", []change{second, {intakeMark, toldIntake + ` "proof": true,`}, {railHead, `"proof": true, ` + railHead}}, []string{`tests[0].proof: a told test has none`}},
		{"a second proof", []change{second, {`"intake": true,`, `"intake": true, "proof": true,`}, {railHead, `"proof": true, ` + railHead}}, []string{`tests[1].proof: a second proof, after tests[0]`}},
		{"a proof beside the intake test", []change{second, {railHead, `"proof": true, ` + railHead}}, nil},
		{"a proof that is none", []change{second, {railHead, `"proof": false, ` + railHead}}, nil},
		{"a test that is not told takes what it takes", []change{second, {intakeMark, `"intake": true, "told": false,`}},
			[]string{`tests[0].at: missing`, `tests[0].minutes: missing`, `tests[0].money: missing`}},
		{"a flag that is none", []change{second, {`"intake": true,`, `"intake": true, "told": "yes",`}}, []string{`tests[0].told: a string, want a true or false`}},
		{"a repair with a steadiness of nothing", []change{second, {lastRepair, `"steadiness": 0}`}}, []string{`repairs[0].steadiness: 0, want above 0`}},
		{"a repair that asks for a result", []change{second, {lastRepair, bootAfter + `}`}}, nil},
		{"a repair that asks for nothing", []change{second, {lastRepair, `"only_after": {"any": [], "strict": true}}`}}, []string{`repairs[0].only_after.any: 0 entries, want at least 1`}},
		{"a repair that asks without saying for what", []change{second, {lastRepair, `"only_after": {}}`}}, []string{`repairs[0].only_after.any: missing`}},
		{"a repair that asks for no outcome", []change{second, {lastRepair, `"only_after": {"any": [{"test": "rail", "outcomes": []}]}}`}}, []string{`repairs[0].only_after.any[0].outcomes: 0 entries, want at least 1`}},
		{"a repair that asks for what there is not", []change{second, {lastRepair, `"only_after": {"any": [{"test": "rail", "outcomes": ["asks", "low", "low"]}, {"test": "noise", "outcomes": ["loud"]}]}}`}}, []string{
			`repairs[0].only_after.any[0].outcomes[0]: no outcome of the test "rail" has the id "asks"`, `repairs[0].only_after.any[0].outcomes[2]: "low" is in the list already`,
			`repairs[0].only_after.any[1].test: no test has the id "noise"`}},
		{"an unknown field of what it asks for", []change{second, {lastRepair, `"only_after": {"any": [{"test": "rail", "outcomes": ["low"], "title": "x"}]}}`}}, []string{`repairs[0].only_after.any[0].title: unknown field`}},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.Equal(t, row.want, lines(t, edited(t, row.changes...)))
		})
	}
}

func TestARepairRemembersItsFailures(t *testing.T) {
	m, err := Load(secondText(t))
	require.NoError(t, err)
	swap, ok := m.Repair("swap-supply")
	require.True(t, ok)
	require.Equal(t, []Chance{{Mode: 0, P: 0.1}, {Mode: 2, P: 0.95}}, swap.Change.Fixes)
	for _, row := range []struct {
		name  string
		tries []int
		want  []float64
	}{
		// source: by hand: kappa = 1, so p after n tries is p/(1+n).
		{"never tried", []int{0, 0}, []float64{0.1, 0.95}},
		{"not said", nil, []float64{0.1, 0.95}},
		{"the supply tried once", []int{0, 1}, []float64{0.1, 0.475}},
		{"both tried, the lid's switch three times", []int{3, 1}, []float64{0.025, 0.475}},
	} {
		t.Run(row.name, func(t *testing.T) {
			got := swap.After(row.tries)
			for i, want := range row.want {
				assert.InDelta(t, want, got.Fixes[i].P, 1e-15)
			}
			assert.Equal(t, swap.Change.Risks, got.Risks)
		})
	}
	assert.Equal(t, 0.1, swap.Change.Fixes[0].P, "the model itself stays")
	assert.Equal(t, 0.95, swap.Change.Fixes[1].P)
}

func TestTheSecondExampleNeedsItsVersion(t *testing.T) {
	text := strings.Replace(string(secondText(t)), `"version": 2`, `"version": 1`, 1)
	assert.Len(t, lines(t, []byte(text)), 7, "one defect for each use of it")
}

func TestTriesAreCountedUntilTheFaultMayHaveComeInAnew(t *testing.T) {
	m, err := Load(secondText(t))
	require.NoError(t, err)
	clean, swap := 0, 1
	start := m.Untried()
	assert.Equal(t, [][]int{{0}, {0, 0}}, start)
	one := m.Tried(m.Tried(start, clean), clean)
	assert.Equal(t, [][]int{{2}, {0, 0}}, one)
	// The supply's own risk is a misaligned lid, which it may also fix.
	two := m.Tried(one, swap)
	assert.Equal(t, [][]int{{2}, {0, 1}}, two)
	assert.Equal(t, [][]int{{2}, {0, 1}}, m.Disturbed(two, m.Setups[1].Leave.Change))
	assert.Equal(t, [][]int{{0}, {0, 0}}, m.Disturbed(two, Change{Risks: []Chance{{Mode: 1}, {Mode: 2}}}), "a risk of 0 names it too")
	assert.Equal(t, [][]int{{0}, {0, 0}}, start, "counts are never changed in place")
	assert.Equal(t, [][]int{{2}, {0, 1}}, two)

	plain, err := Load(exampleText(t))
	require.NoError(t, err)
	assert.Nil(t, plain.Untried(), "no repair remembers")
	assert.Nil(t, plain.Tried(nil, 0))
}

func TestARepairIsOnOfferOnlyAfterWhatItAsksFor(t *testing.T) {
	m, err := Load(secondText(t))
	require.NoError(t, err)
	asks := m.Repairs[1].OnlyAfter // rail low or high, or boot still; strict
	lax := asks
	lax.Strict = false
	onlyRail := OnlyAfter{Any: asks.Any[:1]}
	const none = -1
	for _, row := range []struct {
		name  string
		after OnlyAfter
		seen  []int
		tools []ToolID
		want  bool
	}{
		{"a repair that asks for nothing", OnlyAfter{}, nil, nil, true},
		{"nothing seen", asks, []int{none, none, none}, []ToolID{"multimeter"}, false},
		{"nothing said of what was seen", asks, nil, []ToolID{"multimeter"}, false},
		{"a right rail", asks, []int{none, none, 0}, []ToolID{"multimeter"}, false},
		{"a low rail", asks, []int{none, none, 1}, []ToolID{"multimeter"}, true},
		{"a right rail, and it never spins", asks, []int{none, 2, 0}, []ToolID{"multimeter"}, true},
		{"no meter, but another test", lax, []int{none, none, none}, nil, false},
		{"no meter, and no other test", onlyRail, []int{none, none, none}, nil, true},
		{"no meter, no other test, and strict", OnlyAfter{Any: asks.Any[:1], Strict: true}, []int{none, none, none}, nil, false},
		{"a meter, and no other test", onlyRail, []int{none, none, none}, []ToolID{"multimeter"}, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.Equal(t, row.want, m.Allows(&row.after, row.seen, row.tools))
		})
	}
}
