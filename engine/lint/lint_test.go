package lint

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// small is a model with one of everything that Rows looks for, made by hand; edits
// (old, new, …) must each hit.
const small = `{"format": "pitwise/model", "version": 1, "id": "small", "revision": "1", "title": "Small", "most_faults": 2,
 "tools": [{"id": "iron"}],
 "setups": [{"id": "closed"}, {"id": "open", "inside": "closed", "enter": {"minutes": 5, "money": 0}, "leave": {"minutes": 5, "money": 0}}],
 "components": [
  {"id": "lens", "modes": [{"id": "dirty", "prior": 0.2}]},
  {"id": "mirror", "modes": [{"id": "dull", "prior": 0.1}]},
  {"id": "motor", "modes": [{"id": "worn", "prior": 0.05}, {"id": "open", "prior": 0.05}]}],
 "tests": [
  {"id": "boot", "why": "Whether the disc is read.", "intake": true, "at": "closed", "minutes": 1, "money": 0, "outcomes": [{"id": "yes"}, {"id": "late"}, {"id": "no"}],
   "healthy": [0.9, 0.05, 0.05], "given": {"lens.dirty": [0.3, 0.3, 0.4], "mirror.dull": [0.25, 0.3, 0.45], "motor.worn": [0.2, 0.2, 0.6], "motor.open": [0.01, 0.01, 0.98]}, "steadiness": 2},
  {"id": "look", "at": "open", "minutes": 1, "money": 0, "outcomes": [{"id": "clear"}, {"id": "grey"}],
   "healthy": [0.9, 0.1], "given": {"lens.dirty": [0.2, 0.8], "mirror.dull": [0.6, 0.4]}, "steadiness": 1}],
 "repairs": [
  {"id": "wipe", "at": "open", "minutes": 3, "money": 0, "fixes": {"lens.dirty": 0.9, "mirror.dull": 0.6}, "risks": {}},
  {"id": "motor", "at": "open", "minutes": 9, "money": 9, "needs": ["iron"], "fixes": {"motor.worn": 0.9, "motor.open": 0.9}, "risks": {}}]}`

func space(t *testing.T, edits ...string) *belief.Space {
	t.Helper()
	text := small
	for i := 0; i < len(edits); i += 2 {
		require.Contains(t, text, edits[i])
		text = strings.Replace(text, edits[i], edits[i+1], 1)
	}
	m, err := model.Load([]byte(text))
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	return s
}

func TestAModelWithoutOdditiesComesOutClean(t *testing.T) {
	assert.Empty(t, Rows(space(t)))
}

func TestRowsFindsWhatIsOdd(t *testing.T) {
	for _, test := range []struct {
		name  string
		edits []string
		want  Finding
	}{
		{"two modes that every test shows alike",
			[]string{`"mirror.dull": [0.6, 0.4]`, `"mirror.dull": [0.3, 0.7]`},
			// By hand: boot differs by (0.05 + 0 + 0.05)/2, look by (0.1 + 0.1)/2.
			Finding{Twins, []string{"lens.dirty", "mirror.dull"}, "the best test, look, differs by 0.10, want 0.25"}},
		{"two modes that no test shows",
			[]string{`, "motor.worn": [0.2, 0.2, 0.6], "motor.open": [0.01, 0.01, 0.98]`, ``},
			Finding{Twins, []string{"motor.worn", "motor.open"}, "no test shows a difference"}},
		{"a mode that no test shows",
			[]string{`, "motor.open": [0.01, 0.01, 0.98]`, ``},
			Finding{Unseen, []string{"motor.open"}, "no test has a row for it"}},
		{"a mode that no repair takes away",
			[]string{`, "motor.open": 0.9`, ``},
			Finding{Unmended, []string{"motor.open"}, "no repair takes it away"}},
		{"a mode whose repair never works",
			[]string{`"motor.open": 0.9`, `"motor.open": 0`},
			Finding{Unmended, []string{"motor.open"}, "no repair takes it away"}},
		{"an outcome that never comes",
			[]string{`[{"id": "clear"}, {"id": "grey"}]`, `[{"id": "clear"}, {"id": "blue"}, {"id": "grey"}]`,
				`"healthy": [0.9, 0.1], "given": {"lens.dirty": [0.2, 0.8], "mirror.dull": [0.6, 0.4]}`,
				`"healthy": [0.9, 0.00005, 0.09995], "given": {"lens.dirty": [0.2, 0.00005, 0.79995], "mirror.dull": [0.6, 0.00005, 0.39995]}`},
			Finding{Rare, []string{"look", "blue"}, "at most 5e-05 whatever is wrong"}},
		{"a row that says what healthy says",
			[]string{`"mirror.dull": [0.6, 0.4]`, `"mirror.dull": [0.6, 0.4], "motor.worn": [0.9, 0.1]`},
			Finding{Idle, []string{"look", "motor.worn"}, "the row says what healthy says"}},
		{"a row that looks healthier than healthy, within the loader's tolerance",
			[]string{`"healthy": [0.9, 0.05, 0.05]`, `"healthy": [0.9, 0.05000000005, 0.04999999995]`,
				`"motor.worn": [0.2, 0.2, 0.6]`, `"motor.worn": [0.2, 0.75000000009, 0.04999999991]`},
			Finding{Healthier, []string{"boot", "motor.worn"}, "late or better comes with 0.95000000009, healthy with 0.95000000005"}},
		{"a row that claims much and does not say why",
			[]string{`"healthy": [0.9, 0.1], "given": {"lens.dirty": [0.2, 0.8]`, `"healthy": [0.95, 0.05], "given": {"lens.dirty": [0.2, 0.8]`},
			Finding{Steep, []string{"look", "grey"}, "lens.dirty makes it 16 times likelier, and no why says how that is known"}},
		{"rows that claim much, one the most of them",
			[]string{`"healthy": [0.9, 0.1], "given": {"lens.dirty": [0.2, 0.8], "mirror.dull": [0.6, 0.4]}`, `"healthy": [0.98, 0.02], "given": {"lens.dirty": [0.2, 0.8], "mirror.dull": [0.6, 0.4]}`},
			Finding{Steep, []string{"look", "grey"}, "lens.dirty makes it 40 times likelier and 1 more by above 10, and no why says how that is known"}},
		{"a row by which an outcome hardly ever comes",
			[]string{`"lens.dirty": [0.2, 0.8]`, `"lens.dirty": [0.02, 0.98]`},
			Finding{Steep, []string{"look", "clear"}, "lens.dirty makes it 45 times rarer, and no why says how that is known"}},
		{"a repair that another one beats",
			[]string{`"repairs": [`, `"repairs": [{"id": "scrub", "at": "open", "minutes": 3, "money": 1, "fixes": {"lens.dirty": 0.9}, "risks": {"motor.worn": 0.1}},`},
			Finding{Beaten, []string{"scrub"}, "wipe does as well in every respect"}},
		{"a repair that another one beats by being nearer at hand",
			[]string{`"repairs": [`, `"repairs": [{"id": "blow", "at": "closed", "minutes": 3, "money": 0, "fixes": {"lens.dirty": 0.9, "mirror.dull": 0.6}, "risks": {}},`},
			Finding{Beaten, []string{"wipe"}, "blow does as well in every respect"}},
		{"a slight risk by which a repair that failed counts as fresh",
			[]string{`"version": 1`, `"version": 2`, `"mirror.dull": 0.6}, "risks": {}`, `"mirror.dull": 0.6}, "risks": {}, "steadiness": 0.3`,
				`"motor.open": 0.9}, "risks": {}`, `"motor.open": 0.9}, "risks": {"lens.dirty": 0.01}`},
			Finding{Renewing, []string{"motor", "lens.dirty"}, "wipe then counts as never tried, for a risk of 0.01"}},
		{"a slight risk on the way",
			[]string{`"version": 1`, `"version": 2`, `"mirror.dull": 0.6}, "risks": {}`, `"mirror.dull": 0.6}, "risks": {}, "steadiness": 0.3`,
				`"leave": {"minutes": 5, "money": 0}`, `"leave": {"minutes": 5, "money": 0, "risks": {"lens.dirty": 0.01}}`},
			Finding{Renewing, []string{"open", "lens.dirty"}, "wipe then counts as never tried, for a risk of 0.01"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			found := Rows(space(t, test.edits...))
			assert.Contains(t, found, test.want)
		})
	}
}

func TestWeightyRepairsAskForALookFirst(t *testing.T) {
	const after = `"only_after": {"any": [{"test": "look", "outcomes": ["grey"]}]}`
	for _, row := range []struct {
		name, repair string
		want         string // "" if nothing is found
	}{
		{"a quarter of an hour", `"minutes": 15, "cautions": ["static"]`, ""},
		{"more than that", `"minutes": 15.5`, "15.5 minutes of work without only_after"},
		{"mains", `"minutes": 1, "cautions": ["static", "mains"]`, "work under the caution mains without only_after"},
		{"a laser", `"minutes": 20, "cautions": ["laser"]`, "work under the caution laser without only_after"},
		{"mains, after a look", `"minutes": 1, "cautions": ["mains"], ` + after, ""},
		{"long work, after a look", `"minutes": 60, ` + after, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			found := Unasked(space(t, `"version": 1`, `"version": 2`, `"tools": [`, `"cautions": [{"id": "static"}, {"id": "mains"}, {"id": "laser"}], "tools": [`,
				`"repairs": [`, `"repairs": [{"id": "work", "at": "open", "money": 0, `+row.repair+`},`).Model())
			if row.want == "" {
				assert.Empty(t, found)
				return
			}
			assert.Equal(t, []Finding{{Blind, []string{"work"}, row.want}}, found)
		})
	}
}

func TestARepairIsBeatenOnlyByOneThatAsksNoMoreAndForgetsAsMuch(t *testing.T) {
	plain := `{"id": "scrub", "at": "open", "minutes": 4, "money": 0, "fixes": {"lens.dirty": 0.9, "mirror.dull": 0.6}, "risks": {}`
	const wipe = `"id": "wipe", "at": "open", "minutes": 3, "money": 0,`
	asks := `"only_after": {"any": [{"test": "look", "outcomes": ["grey"]}]}`
	for name, row := range map[string]struct {
		scrub, wipe string // fields more
		beaten      bool
	}{
		"neither has any":                {"", "", true},
		"the better one asks":            {"", asks, false},
		"both ask for the same":          {asks, asks, true},
		"the worse one asks":             {asks, "", true},
		"the better one remembers":       {"", `"steadiness": 2`, false},
		"the worse one remembers":        {`"steadiness": 2`, "", true},
		"the better one remembers more":  {`"steadiness": 2`, `"steadiness": 1`, false},
		"the better one remembers least": {`"steadiness": 2`, `"steadiness": 3`, true},
	} {
		t.Run(name, func(t *testing.T) {
			scrub, better := plain+"}", wipe
			if row.scrub != "" {
				scrub = plain + ", " + row.scrub + "}"
			}
			if row.wipe != "" {
				better += row.wipe + ", "
			}
			found := Rows(space(t, `"version": 1`, `"version": 2`, wipe, better, `"repairs": [`, `"repairs": [`+scrub+`,`))
			assert.Equal(t, row.beaten, len(found) == 1 && found[0].Kind == Beaten, "%v", found)
		})
	}
}

func TestRepairsThatDifferInOneRespectAreBothKept(t *testing.T) {
	for _, repair := range []string{
		`{"id": "scrub", "at": "open", "minutes": 2, "money": 1, "fixes": {"lens.dirty": 0.9}, "risks": {}}`,
		`{"id": "scrub", "at": "closed", "minutes": 4, "money": 0, "fixes": {"lens.dirty": 0.9}, "risks": {}}`,
		`{"id": "scrub", "at": "open", "minutes": 4, "money": 0, "fixes": {"lens.dirty": 0.95}, "risks": {}}`,
		`{"id": "scrub", "at": "open", "minutes": 3, "money": 0, "fixes": {"lens.dirty": 0.9, "mirror.dull": 0.6}, "risks": {}}`,
	} {
		assert.Empty(t, Rows(space(t, `"repairs": [`, `"repairs": [`+repair+`,`)), repair)
	}
}

// By hand, from the priors 0.2, 0.1, 0.05 and 0.05: sound 0.8 × 0.9 × 0.9 = 0.648; one fault
// 0.2 × 0.9 × 0.9 + 0.8 × 0.1 × 0.9 + 0.8 × 0.9 × 0.1 = 0.306; two 0.2 × 0.1 × 0.9 + 0.2 × 0.9 × 0.1 +
// 0.8 × 0.1 × 0.1 = 0.044; three, which the model does not keep, 0.2 × 0.1 × 0.1 = 0.002.
func TestWeighAddsUpThePriors(t *testing.T) {
	w, err := Weigh(space(t))
	require.NoError(t, err)
	assert.Equal(t, 1+4+5, w.Hypotheses)
	assert.InDelta(t, 0.4, w.Priors, 1e-12)
	require.Len(t, w.Faults, 3)
	assert.InDelta(t, 0.648/0.998, w.Faults[0], 1e-12)
	assert.InDelta(t, 0.306/0.998, w.Faults[1], 1e-12)
	assert.InDelta(t, 0.044/0.998, w.Faults[2], 1e-12)
	assert.InDelta(t, 0.002, w.Beyond, 1e-12)
	// Sound and not the best outcome: 0.1 of 0.648.
	assert.InDelta(t, 0.0648/0.998/w.Fails, w.Brought[0], 1e-12)
	sum := 0.0
	for _, p := range w.Brought {
		sum += p
	}
	assert.InDelta(t, 1, sum, 1e-12)
}

func trailOf(t *testing.T, m *model.Model, outcomes ...string) *trail.Trail {
	t.Helper()
	tr := &trail.Trail{ID: strings.Join(outcomes, "-"), Created: "2026-01-01T10:00:00Z",
		Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256}}
	for i, o := range outcomes {
		tr.Events = append(tr.Events, trail.Event{N: i + 1, At: "2026-01-01T10:00:00Z", Kind: trail.Result, Test: "boot", Outcome: model.OutcomeID(o)})
	}
	return tr
}

// The model of three components with room for three faults leaves nothing out, so
// at the start every mode then has its prior; with room for two, each lacks the 0.002 of
// three faults at once. That weighs most on the dull mirror.
func TestWiderShowsHowFarAPosteriorMoves(t *testing.T) {
	s := space(t)
	m := s.Model()
	all, err := Wider(s, []*trail.Trail{trailOf(t, m), trailOf(t, m, "no", "no", "no")})
	require.NoError(t, err)
	require.Len(t, all, 2)
	assert.Equal(t, "mirror.dull", all[0].Of)
	assert.InDelta(t, 0.1, all[0].To, 1e-12)
	assert.InDelta(t, 0.098/0.998, all[0].From, 1e-12, "0.1 without the 0.002 of three faults")
	assert.Equal(t, 0, all[0].N)
	assert.Equal(t, 3, all[1].N, "after three failures three faults at once are likelier")
	assert.Greater(t, all[1].By(), all[0].By())
	_, err = Wider(space(t, `"most_faults": 2`, `"most_faults": 6`), nil)
	assert.ErrorContains(t, err, "most_faults is 6 already")
	bad := trailOf(t, m, "perhaps")
	_, err = Wider(s, []*trail.Trail{bad})
	assert.Error(t, err)
}

func TestAnExceptionExplainsItsFindingOnly(t *testing.T) {
	exceptions, err := ReadExceptions([]byte(`[
		{"model": "small", "kind": "twins", "of": ["lens.dirty", "mirror.dull"], "why": "one work cleans both"},
		{"model": "small", "kind": "idle-test", "of": ["look"], "why": "asked for"},
		{"model": "other", "kind": "twins", "of": ["a.b", "c.d"], "why": "of another model"}]`))
	require.NoError(t, err)
	found := []Finding{
		{Twins, []string{"lens.dirty", "mirror.dull"}, "alike"},
		{Twins, []string{"lens.dirty", "motor.worn"}, "alike"},
	}
	left, unused := Apply("small", found, exceptions)
	assert.Equal(t, found[1:], left)
	require.Len(t, unused, 1)
	assert.Equal(t, Unhelpful, unused[0].Kind)
	assert.Equal(t, "twins lens.dirty motor.worn: alike", left[0].String())
}

func TestExceptionsThatCannotBeReadSayWhere(t *testing.T) {
	for _, test := range []struct{ text, want string }{
		{`[{"model": "small", "kind": "twin", "of": ["a"], "why": "x"}]`, "[0].kind"},
		{`[{"model": "small", "kind": "twins", "of": [], "why": "x"}]`, "[0].of"},
		{`[{"model": "small", "kind": "twins", "of": ["a"]}]`, "[0].why"},
		{`[{"model": "small", "kind": "twins", "of": ["a"], "why": "x", "who": "me"}]`, "[0].who"},
		{`[`, "line 1"},
	} {
		_, err := ReadExceptions([]byte(test.text))
		require.ErrorIs(t, err, ErrExceptions)
		assert.ErrorContains(t, err, test.want)
	}
}

var terms = trail.Terms{MinuteValue: 0.25, Currency: "EUR", WorkingValue: 80, AsIsValue: 10, ComebackCost: 40, Tools: []model.ToolID{"iron"}}

func TestAdviceFindsTheTestThatTellsNothingAndTheRepairThatCostsTooMuch(t *testing.T) {
	s := space(t,
		`"tests": [`, `"tests": [
  {"id": "sniff", "at": "closed", "minutes": 4, "money": 0, "outcomes": [{"id": "fresh"}, {"id": "stale"}],
   "healthy": [0.5, 0.5], "given": {"lens.dirty": [0.499, 0.501]}, "steadiness": 1},`,
		`"repairs": [`, `"repairs": [
  {"id": "gild", "at": "open", "minutes": 30, "money": 300, "fixes": {"lens.dirty": 0.99}, "risks": {}},`)
	found, err := Advice(s, terms, Effort{Units: 6, Steps: 10, Seed: 7}, nil)
	require.NoError(t, err)
	var kinds []string
	for _, f := range found {
		kinds = append(kinds, fmt.Sprint(f.Kind, f.Of))
	}
	assert.Equal(t, []string{"idle-test[sniff]", "unworthy-repair[gild]"}, kinds)
}

// TestAdviceAsksAboutTheTrailsThatItIsGiven: what no simulated unit comes to may stand on a bench.
func TestAdviceAsksAboutTheTrailsThatItIsGiven(t *testing.T) {
	s := space(t)
	m := s.Model()
	evening := &trail.Trail{ID: "one", Created: "2026-01-01T00:00:00Z", Terms: terms, Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Events: []trail.Event{{N: 1, Kind: trail.Result, Test: "boot", Outcome: "no"}, {N: 2, Kind: trail.Setup, Setup: "open"},
			{N: 3, Kind: trail.Result, Test: "look", Outcome: "clear"}, {N: 4, Kind: trail.Result, Test: "boot", Outcome: "no"}}}
	asked := 0
	count := func(int) { asked++ }
	without, err := Advice(s, terms, Effort{Steps: 1, Seed: 1}, count)
	require.NoError(t, err)
	before := asked
	asked = 0
	with, err := Advice(s, terms, Effort{Steps: 1, Seed: 1, Trails: []*trail.Trail{evening}}, count)
	require.NoError(t, err)
	assert.Greater(t, asked, before)
	assert.LessOrEqual(t, len(with), len(without), "more is asked, so no less is of use")
	other := *evening
	other.Events = append(slices.Clone(evening.Events), trail.Event{N: 5, Kind: trail.Void, Of: 9})
	dear := terms
	dear.WorkingValue = 1e-3 // nothing is worth doing, so the trail is asked about to its end
	_, err = Advice(s, dear, Effort{Steps: 1, Seed: 1, Trails: []*trail.Trail{&other}}, nil)
	assert.Error(t, err, "a trail that does not fit the model")
}

// TestAdviceOfARepairThatComesAfterALook: what puts a repair on offer has been seen in the situation
// that is asked about, so that it is not called unworthy for want of it.
func TestAdviceOfARepairThatComesAfterALook(t *testing.T) {
	s := space(t, `"version": 1`, `"version": 2`, `"id": "boot",`, `"id": "boot", "proof": true,`,
		`"fixes": {"lens.dirty": 0.9, "mirror.dull": 0.6}, "risks": {}`,
		`"fixes": {"lens.dirty": 0.9, "mirror.dull": 0.6}, "risks": {}, "only_after": {"any": [{"test": "look", "outcomes": ["grey"]}], "strict": true}`)
	found, err := Advice(s, terms, Effort{Seed: 1}, nil)
	require.NoError(t, err)
	for _, f := range found {
		assert.NotContains(t, f.Of, "wipe")
	}
}

func TestAdviceIsTheSameEachTimeAndTellsItsProgress(t *testing.T) {
	s := space(t)
	var steps []int
	one, err := Advice(s, terms, Effort{Units: 3, Steps: 6, Seed: 1}, func(left int) { steps = append(steps, left) })
	require.NoError(t, err)
	two, err := Advice(s, terms, Effort{Units: 3, Steps: 6, Seed: 1}, nil)
	require.NoError(t, err)
	assert.Equal(t, one, two)
	require.NotEmpty(t, steps)
	assert.Equal(t, 4, steps[0], "two tests and two repairs to begin with")
	for i := 1; i < len(steps); i++ {
		assert.LessOrEqual(t, steps[i], steps[i-1])
	}
}
