package main

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/words"
	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// asked runs propose -json.
func asked(t *testing.T, text string, args ...string) proposed {
	t.Helper()
	status, out, message := called(t, text, append(append([]string{"propose", "-json"}, args...), "-")...)
	require.Zero(t, status, message)
	var p proposed
	d := json.NewDecoder(strings.NewReader(out))
	d.DisallowUnknownFields()
	require.NoError(t, d.Decode(&p))
	require.NotEmpty(t, p.Proposals)
	return p
}

func find1[T any](all []T, ok func(T) bool) (found T, n int) {
	for _, x := range all {
		if ok(x) {
			found = x
			n++
		}
	}
	return found, n
}

func TestProposalsAreThoseOfThePlanner(t *testing.T) {
	m := exampleModel(t)
	text := trailOf(t, m, `"kind": "result", "test": "first-boot", "outcome": "still"`, `"kind": "setup", "setup": "open"`)
	got := asked(t, text, "-model", example)
	assert.Equal(t, modelRef{"example", "1", m.SHA256}, got.Model)
	assert.Equal(t, 2, got.After)
	assert.Equal(t, model.SetupID("open"), got.Setup)
	assert.Equal(t, "EUR", got.Currency)
	assert.Empty(t, got.Held)

	tr, err := trail.Load([]byte(text))
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	a, err := trail.Replay(s, tr)
	require.NoError(t, err)
	planner, err := plan.New(s, tr.Terms)
	require.NoError(t, err)
	search := planner.Start(plan.Situation{Belief: a.Final, Setup: a.Setup, Tries: a.Tries, Seen: a.Seen})
	for !search.Work(1000) {
	}
	want := search.Proposals()
	require.Len(t, got.Proposals, len(want))
	require.Len(t, want, 5, "two tests, a repair, two endings")
	for i, w := range want {
		g := got.Proposals[i]
		assert.Equal(t, i+1, g.Rank)
		assert.Equal(t, w.Step.Kind, g.Kind)
		assert.Equal(t, w.Minutes, g.Minutes)
		assert.Equal(t, w.Money, g.Money)
		require.NotNil(t, g.Total)
		assert.Equal(t, w.Total, *g.Total)
		assert.Equal(t, w.Reason.Saves, *g.Reason.Saves)
		assert.Equal(t, w.Reason.SignOff, *g.Reason.SignOff)
		assert.Equal(t, w.Reason.WriteOff, *g.Reason.WriteOff)
		assert.NotEmpty(t, g.Reason.Words)
		if i > 0 {
			assert.GreaterOrEqual(t, *g.Total, *got.Proposals[i-1].Total-1e-9, "the least total first")
		}
		switch w.Step.Kind {
		case plan.DoTest:
			assert.Equal(t, string(m.Tests[w.Step.Index].ID), g.ID)
			assert.Equal(t, w.Bits, *g.Bits)
			require.Len(t, g.Outcomes, len(m.Tests[w.Step.Index].Outcomes))
			sum := 0.0
			for k, o := range g.Outcomes {
				assert.Equal(t, string(m.Tests[w.Step.Index].Outcomes[k].ID), o.ID)
				sum += *o.P
			}
			assert.InDelta(t, 1, sum, 1e-9)
		case plan.DoRepair:
			assert.Equal(t, string(m.Repairs[w.Step.Index].ID), g.ID)
			assert.NotNil(t, g.Then)
		case plan.SignOff:
			require.NotNil(t, g.Left)
			assert.Equal(t, w.Left, *g.Left)
			require.Len(t, g.Way, 1, "the cover goes on first")
			assert.Equal(t, "leave", g.Way[0].Move)
		case plan.WriteOff:
			assert.Equal(t, 50.0, *g.Total, "60 - 10, by hand")
		}
	}
}

func TestStepsThatCannotBeDoneAreNotOnOffer(t *testing.T) {
	m := exampleModel(t)
	isRail := func(p proposedStep) bool { return p.ID == "rail" }
	held := func(p proposed) heldStep {
		h, n := find1(p.Held, func(h heldStep) bool { return h.ID == "rail" })
		require.LessOrEqual(t, n, 1)
		return h
	}
	events := []string{`"kind": "result", "test": "first-boot", "outcome": "still"`}
	t.Run("it is, with its tools", func(t *testing.T) {
		p := asked(t, trailOf(t, m, events...), "-model", example)
		rail, n := find1(p.Proposals, isRail)
		assert.Equal(t, 1, n)
		assert.Equal(t, []part{{"multimeter", "Multimeter"}}, rail.Tools)
		assert.Empty(t, p.Held)
	})
	t.Run("not without them", func(t *testing.T) {
		p := asked(t, strings.Replace(trailOf(t, m, events...), `["multimeter"]`, `[]`, 1), "-model", example)
		_, n := find1(p.Proposals, isRail)
		assert.Zero(t, n)
		assert.Equal(t, heldStep{stepRef{plan.DoTest, "rail"}, "Motor supply at the connector", "tools", []string{"multimeter"}, "", nil}, held(p))
	})
	skip := append(slices.Clone(events), `"kind": "skip", "test": "rail", "reason": "meter is flat"`)
	t.Run("not after a skip", func(t *testing.T) {
		text := trailOf(t, m, skip...)
		p := asked(t, text, "-model", example)
		_, n := find1(p.Proposals, isRail)
		assert.Zero(t, n)
		assert.Equal(t, heldStep{stepRef{plan.DoTest, "rail"}, "Motor supply at the connector", "skipped", nil, "meter is flat", nil}, held(p))
		_, out, _ := called(t, text, "propose", "-model", example, "-")
		assert.Contains(t, out, "Motor supply at the connector (You left it out: meter is flat)")
	})
	t.Run("but once the skip is taken back", func(t *testing.T) {
		p := asked(t, trailOf(t, m, append(slices.Clone(skip), `"kind": "void", "of": 2`)...), "-model", example)
		_, n := find1(p.Proposals, isRail)
		assert.Equal(t, 1, n)
	})
}

// TestCautionsComeBeforeTheStepsThatCarryThem walks every proposal of every shipped model,
// from each setup.
func TestCautionsComeBeforeTheStepsThatCarryThem(t *testing.T) {
	walked := 0
	for _, e := range catalog.Models() {
		m, err := catalog.Load(e.ID)
		require.NoError(t, err)
		intake := &m.Tests[m.Intake]
		for _, setup := range m.Setups {
			t.Run(e.ID+" from "+string(setup.ID), func(t *testing.T) {
				events := []string{fmt.Sprintf(`"kind": "result", "test": %q, "outcome": %q`, intake.ID, intake.Outcomes[len(intake.Outcomes)-1].ID)}
				if setup.Index != m.Root {
					events = append(events, fmt.Sprintf(`"kind": "setup", "setup": %q`, setup.ID))
				}
				told := firstLook(t, m, events...)
				var words strings.Builder
				told.tell(&words, told.all, 0, true)
				out, p := words.String(), told.document(told.all)
				blocks := strings.Split(out, "\n\n")
				for _, x := range p.Proposals {
					want := due(m, setup.Index, x)
					var got []string
					for _, c := range x.Cautions {
						got = append(got, c.ID)
						assert.NotEmpty(t, c.Text)
					}
					assert.ElementsMatch(t, want, got, "%s %s", x.Kind, x.ID)

					head := fmt.Sprintf("%3d. ", x.Rank)
					block, n := find1(blocks, func(b string) bool { return strings.HasPrefix(b, head) })
					require.Equal(t, 1, n, head)
					begins := len(block)
					for _, mark := range []string{"\n     way ", "\n     do "} {
						if at := strings.Index(block, mark); at >= 0 {
							begins = min(begins, at)
						}
					}
					for _, c := range x.Cautions {
						at := strings.Index(block, "\n     CAUTION  "+c.Title)
						assert.True(t, at >= 0 && at < begins, "%s before the way and the step, in\n%s", c.Title, block)
						whole := strings.Index(out, c.Title+": "+c.Text)
						assert.True(t, whole >= 0 && whole <= strings.Index(out, block)+at+len("\n     CAUTION  "), "the whole of %q by then", c.Title)
					}
					walked++
				}
			})
		}
	}
	assert.Greater(t, walked, 250)
}

// looked are the proposals of a search that has only begun: every step on offer is there.
type looked struct {
	proposing
	all []plan.Proposal
}

func firstLook(t *testing.T, m *model.Model, events ...string) looked {
	t.Helper()
	tr, err := trail.Load([]byte(trailOf(t, m, events...)))
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	u := &unit{name: "-", Unit: bench.Unit{Trail: tr, Model: m}, space: s}
	a, err := u.replay()
	require.NoError(t, err)
	planner, err := plan.New(s, tr.Terms)
	require.NoError(t, err)
	search := u.Advise(planner)
	for len(search.Proposals()) == 0 && !search.Work(1) {
	}
	all := search.Proposals()
	require.Len(t, all, len(m.Tests)-len(u.Questions())+len(m.Repairs)-len(u.Held())+2, "all tools are at hand")
	return looked{proposing{words: words.In("en"), unit: u, account: a}, all}
}

// due lists the cautions of a step by the model, from a setup: of every setup and move on
// the way, of the setups around the step, and its own.
func due(m *model.Model, from int, x proposedStep) []string {
	set := map[model.CautionID]bool{}
	add := func(ids []model.CautionID) {
		for _, id := range ids {
			set[id] = true
		}
	}
	to := from
	switch x.Kind {
	case plan.DoTest:
		test, _ := m.Test(model.TestID(x.ID))
		to = test.At
		add(test.Cautions)
	case plan.DoRepair:
		repair, _ := m.Repair(model.RepairID(x.ID))
		to = repair.At
		add(repair.Cautions)
	case plan.SignOff:
		to = m.Root
	}
	for _, mv := range m.Way(from, to) {
		work, _ := m.Move(mv)
		add(m.Setups[mv.Setup].Cautions)
		add(work.Cautions)
	}
	if x.Kind == plan.DoTest || x.Kind == plan.DoRepair {
		for s := to; s >= 0; s = m.Setups[s].Inside {
			add(m.Setups[s].Cautions)
		}
	}
	var ids []string
	for id := range set {
		ids = append(ids, string(id))
	}
	return ids
}

// TestProposalsInWords tells proposals made by hand, so that the words alone are held.
func TestProposalsInWords(t *testing.T) {
	m := exampleModel(t)
	tr, err := trail.Load([]byte(trailOf(t, m,
		`"kind": "result", "test": "first-boot", "outcome": "asks"`,
		`"kind": "end", "as": "returned"`)))
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	u := &unit{name: "-", Unit: bench.Unit{Trail: tr, Model: m}, space: s, warnings: []trail.Warning{{N: 0, Text: "of the whole trail"}}}
	a, err := u.replay()
	require.NoError(t, err)
	clean, rail, boot := plan.Step{Kind: plan.DoRepair}, plan.Step{Kind: plan.DoTest, Index: 1}, plan.Step{Kind: plan.DoTest}
	open := []model.Move{{Setup: 1}}
	none := [2]int{-1, -1}
	all := []plan.Proposal{
		{Step: clean, Way: open, Minutes: 10, Money: 0.2, Total: 18.73,
			Outcomes: []plan.Follow{{P: 1, Next: boot, Total: 13.53, Suspect: -1, Odds: 0.83}},
			Reason:   plan.Reason{Other: boot, Saves: 0.77, SignOff: 81.03, WriteOff: 50, Separates: none}},
		{Step: rail, Way: open, Minutes: 9, Total: 19.5, Bits: 0.19,
			Outcomes: []plan.Follow{{Outcome: 0, P: 0.9, Next: clean, Total: 12, Suspect: 1, Odds: 0.86}, {Outcome: 1, P: 0.09, Next: plan.Step{Kind: plan.WriteOff}, Total: 50, Suspect: 2, Odds: 0.9},
				{Outcome: 2, P: 0.01, Suspect: -1}},
			Reason: plan.Reason{Other: clean, Saves: -0.77, SignOff: 81.03, WriteOff: 50, Separates: [2]int{1, 2}, Bits: 0.74}},
		{Step: plan.Step{Kind: plan.SignOff}, Total: 81.03, Left: 0.9,
			Reason: plan.Reason{Other: clean, Saves: -62.3, SignOff: 81.03, WriteOff: 50, Separates: none, Proof: 61.54}},
		{Step: plan.Step{Kind: plan.SignOff}, Total: 81.03, Left: 0.9,
			Reason: plan.Reason{Other: clean, Saves: -0.001, SignOff: 81.03, WriteOff: 50, Separates: none, Proof: -1}},
		{Step: plan.Step{Kind: plan.WriteOff}, Total: 50,
			Reason: plan.Reason{Other: clean, Saves: -31.27, SignOff: 81.03, WriteOff: 50, Separates: none, Proof: math.NaN()}},
	}
	p := proposing{words: words.In("en"), unit: u, account: a}
	var b strings.Builder
	p.tell(&b, all, 7, false)
	golden(t, "propose", b.String())
}

func TestNumbersThatDoNotExistAreNull(t *testing.T) {
	m := exampleModel(t)
	tr, err := trail.Load([]byte(trailOf(t, m)))
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	u := &unit{name: "-", Unit: bench.Unit{Trail: tr, Model: m}, space: s}
	a, err := u.replay()
	require.NoError(t, err)
	p := proposing{words: words.In("en"), unit: u, account: a}
	_, err = json.Marshal(p.document([]plan.Proposal{{Step: plan.Step{Kind: plan.SignOff}, Total: math.Inf(1), Left: 1,
		Reason: plan.Reason{Separates: [2]int{-1, -1}, Saves: math.NaN(), Proof: math.NaN()}}}))
	assert.NoError(t, err)
}

func TestTheListIsCutWhereItIsAskedTo(t *testing.T) {
	text := trailOf(t, exampleModel(t), `"kind": "result", "test": "first-boot", "outcome": "asks"`)
	assert.Len(t, asked(t, text, "-model", example, "-top", "2").Proposals, 2)
	assert.Len(t, asked(t, text, "-model", example, "-top", "0").Proposals, 5)
	_, out, _ := called(t, text, "propose", "-model", example, "-top", "2", "-")
	assert.Contains(t, out, "\n  2. ")
	assert.NotContains(t, out, "\n  3. ")
	assert.Contains(t, out, "3 more steps on offer")
}

func TestAStoppedSearchIsAnError(t *testing.T) {
	u := &unit{}
	m, err := catalog.Load("top-loader")
	require.NoError(t, err)
	u.Model = m
	u.space, err = belief.NewSpace(m)
	require.NoError(t, err)
	u.Trail, err = trail.Load([]byte(trailOf(t, m)))
	require.NoError(t, err)
	_, err = u.replay()
	require.NoError(t, err)
	ctx, stop := contextOf(t)
	stop()
	_, err = (&desk{ctx: ctx}).proposals(u)
	assert.ErrorIs(t, err, ctx.Err())
}
