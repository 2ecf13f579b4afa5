package bench_test

import (
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// load is a model of the package model's testdata: "example" is the three-part model of version 1,
// "second" the same with what version 2 brought.
func load(t testing.TB, name string) *model.Model {
	text, err := os.ReadFile("../model/testdata/" + name + ".json")
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	return m
}

// recorded is a unit with these events, numbered.
func recorded(m *model.Model, events ...trail.Event) *bench.Unit {
	for i := range events {
		events[i].N = i + 1
	}
	terms := bench.DefaultTerms(m)
	return &bench.Unit{Model: m, Trail: &trail.Trail{Terms: terms, Events: events}}
}

// worked is such a unit with its account.
func worked(t *testing.T, m *model.Model, events ...trail.Event) *bench.Unit {
	t.Helper()
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	u, err := bench.Open(s, recorded(m, events...).Trail)
	require.NoError(t, err)
	return u
}

func saw(test model.TestID, outcome model.OutcomeID) trail.Event {
	return trail.Event{Kind: trail.Result, Test: test, Outcome: outcome}
}
func read(test model.TestID, x float64) trail.Event {
	return trail.Event{Kind: trail.Result, Test: test, Reading: &x}
}
func into(setup model.SetupID) trail.Event  { return trail.Event{Kind: trail.Setup, Setup: setup} }
func did(repair model.RepairID) trail.Event { return trail.Event{Kind: trail.Repair, Repair: repair} }
func skip(test model.TestID) trail.Event    { return trail.Event{Kind: trail.Skip, Test: test} }
func void(of int) trail.Event               { return trail.Event{Kind: trail.Void, Of: of} }
func end(as trail.Ending) trail.Event       { return trail.Event{Kind: trail.End, As: as} }

var note = trail.Event{Kind: trail.Note, Text: "looked at"}

func test(t *testing.T, m *model.Model, id model.TestID) int {
	t.Helper()
	x, ok := m.Test(id)
	require.True(t, ok, id)
	return x.Index
}

func repair(t *testing.T, m *model.Model, id model.RepairID) int {
	t.Helper()
	x, ok := m.Repair(id)
	require.True(t, ok, id)
	return x.Index
}

func TestHowAUnitEnded(t *testing.T) {
	m := load(t, "second")
	for _, row := range []struct {
		name   string
		events []trail.Event
		want   trail.Ending // "" for a unit on the bench
		back   trail.Ending // how it had left before
	}{
		{"nothing was recorded", nil, "", ""},
		{"it was signed off", []trail.Event{end(trail.SignedOff)}, trail.SignedOff, ""},
		{"that was taken back", []trail.Event{end(trail.SignedOff), void(1)}, "", ""},
		{"and the void of it too", []trail.Event{end(trail.SignedOff), void(1), void(2)}, trail.SignedOff, ""},
		{"a note after the end leaves it as it is", []trail.Event{end(trail.WrittenOff), note}, trail.WrittenOff, ""},
		{"and so does what the owner tells later", []trail.Event{end(trail.Returned), saw("story", "skips")}, trail.Returned, ""},
		{"work after the end says that it is back", []trail.Event{end(trail.SignedOff), into("open")}, "", trail.SignedOff},
		{"also a step to where it stands", []trail.Event{end(trail.SignedOff), note, into("closed")}, "", trail.SignedOff},
		{"work that was taken back does not", []trail.Event{end(trail.SignedOff), into("open"), void(2)}, trail.SignedOff, ""},
		{"it may leave again in another way", []trail.Event{end(trail.SignedOff), into("closed"), end(trail.WrittenOff)}, trail.WrittenOff, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			u := recorded(m, row.events...)
			e, ended := u.Ended()
			assert.Equal(t, row.want, e.As)
			assert.Equal(t, row.want != "", ended)
			e, _ = u.CameBack()
			assert.Equal(t, row.back, e.As)
		})
	}
}

func TestWhatHoldsAStep(t *testing.T) {
	m := load(t, "second")
	rail := plan.Step{Kind: plan.DoTest, Index: test(t, m, "rail")}
	recap := plan.Step{Kind: plan.DoRepair, Index: repair(t, m, m.Repairs[1].ID)}
	require.NotEmpty(t, m.Repairs[recap.Index].OnlyAfter.Any)
	for _, row := range []struct {
		name   string
		hand   []model.ToolID
		events []trail.Event
		rail   bench.HeldWhy
		recap  bench.HeldWhy
	}{
		{"at first the work waits for a result", []model.ToolID{"multimeter"}, nil, "", bench.HeldNotYet},
		{"without a meter the test is held, and strict work too", nil, nil, bench.HeldTools, bench.HeldNotYet},
		{"not now", []model.ToolID{"multimeter"}, []trail.Event{skip("rail")}, bench.HeldSkipped, bench.HeldNotYet},
		{"not now, taken back", []model.ToolID{"multimeter"}, []trail.Event{skip("rail"), void(1)}, "", bench.HeldNotYet},
		{"a result puts it on offer", []model.ToolID{"multimeter"}, []trail.Event{saw("rail", "low")}, "", ""},
		{"a reading counts as its outcome", []model.ToolID{"multimeter"}, []trail.Event{read("rail", 4.2)}, "", ""},
		{"a right reading does not", []model.ToolID{"multimeter"}, []trail.Event{read("rail", 5.0)}, "", bench.HeldNotYet},
		{"the last result counts", []model.ToolID{"multimeter"}, []trail.Event{saw("rail", "low"), saw("rail", "right")}, "", bench.HeldNotYet},
		{"and not one that was taken back", []model.ToolID{"multimeter"}, []trail.Event{saw("rail", "low"), saw("rail", "right"), void(2)}, "", ""},
		{"any of the entries will do", nil, []trail.Event{saw("boot", "still")}, bench.HeldTools, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			u := recorded(m, row.events...)
			u.Trail.Terms.Tools = row.hand
			h, _ := u.HeldBy(rail)
			assert.Equal(t, row.rail, h.Why)
			if h.Why == bench.HeldSkipped {
				assert.Equal(t, 1, h.Skip.N, "the skip that may be taken back")
			}
			h, _ = u.HeldBy(recap)
			assert.Equal(t, row.recap, h.Why)
			if h.Why == bench.HeldNotYet {
				assert.Equal(t, m.Repairs[recap.Index].OnlyAfter.Any, h.After)
			} else {
				assert.Len(t, u.OpenedBy(recap.Index), 1)
			}
			for _, h := range u.Held() {
				assert.False(t, h.Step.Kind == plan.DoTest && m.Tests[h.Step.Index].Told, "a question is no step")
			}
		})
	}
}

// TestWhatIsHeldIsWhatIsNotProposed holds the two answers together over the shipped families: each
// step is either proposed or held.
func TestWhatIsHeldIsWhatIsNotProposed(t *testing.T) {
	for name, m := range shipped(t) {
		s, err := belief.NewSpace(m)
		require.NoError(t, err)
		half := bench.DefaultTerms(m)
		half.Tools = half.Tools[:len(half.Tools)/2]
		looked := []trail.Event{skip(m.Tests[len(m.Tests)-1].ID)}
		for i := range m.Repairs { // a result that opens every other one that asks for one
			if after := m.Repairs[i].OnlyAfter.Any; i%2 == 0 && len(after) > 0 {
				x := &m.Tests[after[0].Test]
				looked = append(looked, saw(x.ID, x.Outcomes[after[0].Outcomes[0]].ID))
			}
		}
		for _, row := range []struct {
			how    string
			terms  trail.Terms
			events []trail.Event
		}{{"half of the tools", half, []trail.Event{skip(m.Tests[len(m.Tests)-1].ID)}}, {"all tools, and looked at", bench.DefaultTerms(m), looked}} {
			unit := recorded(m, row.events...)
			unit.Trail.Terms = row.terms
			u, err := bench.Open(s, unit.Trail)
			require.NoError(t, err)
			p, err := u.Planner(s)
			require.NoError(t, err)
			search := u.Advise(p)
			for len(search.Proposals()) == 0 {
				search.Work(1)
			}
			proposed := map[plan.Step]bool{}
			for _, x := range search.Proposals() {
				proposed[x.Step] = true
			}
			held := map[plan.Step]bool{}
			for _, h := range u.Held() {
				held[h.Step] = true
			}
			assert.NotEmpty(t, held, name)
			for _, step := range steps(m) {
				if step.Kind == plan.DoTest && m.Tests[step.Index].Told {
					assert.False(t, proposed[step] || held[step])
					continue
				}
				assert.True(t, proposed[step] != held[step], "%s, %s: %s %s: proposed %v, held %v", name, row.how, step.Kind, u.Task(step).ID, proposed[step], held[step])
			}
		}
	}
}

func TestTheProofIsDueAfterARepair(t *testing.T) {
	m := load(t, "second")
	for _, row := range []struct {
		name   string
		events []trail.Event
		want   bool
	}{
		{"nothing was repaired", []trail.Event{saw("boot", "still")}, false},
		{"a repair was done", []trail.Event{did("clean-lens")}, true},
		{"and taken back", []trail.Event{did("clean-lens"), void(1)}, false},
		{"and the proof run since", []trail.Event{did("clean-lens"), saw("boot", "still")}, false},
		{"the unit left as sound", []trail.Event{saw("boot", "still"), end(trail.SignedOff), into("closed")}, true},
		{"and was started since it came back", []trail.Event{end(trail.SignedOff), saw("boot", "still")}, false},
		{"it left as it was", []trail.Event{saw("boot", "still"), end(trail.Returned), into("closed")}, false},
		{"the story told anew proves nothing", []trail.Event{did("clean-lens"), saw("story", "skips")}, true},
	} {
		t.Run(row.name, func(t *testing.T) {
			s, due := recorded(m, row.events...).Proof()
			assert.Equal(t, row.want, due)
			assert.Equal(t, test(t, m, "boot"), s.Index)
		})
	}
}

// What was seen before a unit went out as sound is no answer to its coming back, until something is mended.
func TestWhatIsSeenSinceAUnitCameBack(t *testing.T) {
	m := load(t, "second")
	boot := test(t, m, "boot")
	for _, row := range []struct {
		name   string
		events []trail.Event
		want   int // what is seen of the start, -1 for nothing; -2 where that is not asked
	}{
		{"it never left", []trail.Event{saw("boot", "still")}, -2},
		{"it is out", []trail.Event{saw("boot", "still"), end(trail.SignedOff)}, -2},
		{"it came back", []trail.Event{saw("boot", "still"), end(trail.SignedOff), into("closed")}, -1},
		{"and was started", []trail.Event{end(trail.SignedOff), saw("boot", "still")}, 0},
		{"and was mended", []trail.Event{end(trail.SignedOff), saw("boot", "still"), did("clean-lens")}, -2},
		{"mended before it left", []trail.Event{did("clean-lens"), end(trail.SignedOff), into("closed")}, -1},
		{"it left as it was", []trail.Event{end(trail.Returned), saw("boot", "still")}, -2},
	} {
		t.Run(row.name, func(t *testing.T) {
			u := recorded(m, row.events...)
			u.Account = &trail.Account{}
			back := u.Situation().Back
			if row.want == -2 {
				assert.Nil(t, back)
				return
			}
			require.Len(t, back, len(m.Tests))
			want := row.want
			if want == 0 {
				want = bench.OutcomeOf(&m.Tests[boot], &u.Trail.Events[1])
			}
			assert.Equal(t, want, back[boot])
		})
	}
}

func TestAUnitIsStartedByWhateverEndsAsTheProof(t *testing.T) {
	m, err := catalog.Load("tray")
	require.NoError(t, err)
	for _, row := range []struct {
		name   string
		events []trail.Event
		want   bool
	}{
		{"nothing was done", nil, false},
		{"a look", []trail.Event{saw("belt-look", "sound")}, false},
		{"the bench's own disc, cover off", []trail.Event{did("replace-belt"), saw("bench-start", "boots")}, true},
		{"and mended again after it", []trail.Event{saw("bench-start", "boots"), did("replace-belt")}, false},
		{"their disc, in vain", []trail.Event{did("replace-belt"), saw("first-boot", "still")}, true},
	} {
		t.Run(row.name, func(t *testing.T) { assert.Equal(t, row.want, recorded(m, row.events...).Started()) })
	}
}

func TestTheOwnersAnswers(t *testing.T) {
	m := load(t, "second")
	u := recorded(m, note)
	require.Len(t, u.Questions(), 1)
	assert.Equal(t, test(t, m, "story"), u.Questions()[0].Test)
	assert.Nil(t, u.Questions()[0].Answer, "it was not asked yet")
	u = recorded(m, saw("story", "skips"), note, saw("story", "dead"), saw("story", "fine"), void(4))
	assert.Equal(t, 3, u.Questions()[0].Answer.N, "the last that stands")
}

func TestRunsThatCountTogether(t *testing.T) {
	m := load(t, "example")
	rail := test(t, m, "rail")
	boot := test(t, m, "first-boot")
	u := worked(t, m, saw("first-boot", "asks"), into("open"), saw("rail", "low"), read("rail", 4.6), saw("rail", "low"), void(5))
	assert.Equal(t, 2, u.Runs(rail), "one was taken back")
	assert.Equal(t, 1, u.Runs(boot), "taking the cover off touches nothing that it shows")
	u = worked(t, m, saw("first-boot", "asks"), into("open"), did("clean-lens"))
	assert.Equal(t, 0, u.Runs(boot), "a repair of what it shows begins anew")
	assert.Equal(t, 1, u.Tries(repair(t, m, "clean-lens")))
	assert.Equal(t, 0, recorded(m).Runs(rail), "nothing is known without an account")
}

func TestWhatWasSpent(t *testing.T) {
	m := load(t, "example")
	u := recorded(m, saw("first-boot", "asks"), into("open"), saw("rail", "low"), void(3), did("clean-lens"), into("closed"), saw("first-boot", "boots"))
	// By hand: 2 + 6 + 4 + 5 + 2 minutes and 0.20 of solvent; the reading was taken back.
	minutes, money := u.Spent()
	assert.InDelta(t, 19, minutes, 1e-12)
	assert.InDelta(t, 0.2, money, 1e-12)
	u.Trail.Terms.Exchange = 150
	_, money = u.Spent()
	assert.InDelta(t, 30, money, 1e-9, "in the currency of the terms")
	dear := u.Trail.Terms
	dear.Exchange = 200
	u = recorded(m, into("open"), did("clean-lens"), trail.Event{Kind: trail.NewTerms, Terms: &dear}, did("clean-lens"))
	u.Trail.Terms.Exchange = 150
	_, money = u.Spent()
	assert.InDelta(t, 70, money, 1e-9, "each at the rate that stood when it was spent")
	assert.Equal(t, dear, u.Terms())
	dear.Currency, dear.Exchange = "JPY", 200
	_, money = u.Spent()
	assert.InDelta(t, 80, money, 1e-9, "sums are in one currency, that of now")
	var kinds []trail.Kind
	for _, c := range u.Costs() {
		kinds = append(kinds, c.Kind)
	}
	assert.Equal(t, []trail.Kind{trail.Setup, trail.Repair, trail.Repair}, kinds)
	second := recorded(load(t, "second"), saw("story", "skips"))
	assert.Empty(t, second.Costs(), "what is told is free")
}

func TestTermsAndWaitingThatWereTakenBack(t *testing.T) {
	m := load(t, "second")
	fewer := trail.Terms{Currency: "EUR", MinuteValue: 1}
	u := recorded(m, trail.Event{Kind: trail.NewTerms, Terms: &fewer}, void(1))
	assert.Equal(t, bench.DefaultTerms(m), u.Terms())
	u = recorded(m, trail.Event{Kind: trail.Wait, For: "a belt"}, note)
	e, waits := u.Waiting()
	assert.True(t, waits)
	assert.Equal(t, "a belt", e.For)
	u = recorded(m, trail.Event{Kind: trail.Wait, For: "a belt"}, into("open"))
	_, waits = u.Waiting()
	assert.False(t, waits)
}

func TestCausesAreWhatSomebodySaid(t *testing.T) {
	m := load(t, "example")
	u := recorded(m, did("clean-lens"), trail.Event{Kind: trail.End, As: trail.SignedOff, Causes: []model.ModeID{"supply.low"}})
	mode, _ := m.Mode("supply.low")
	assert.Equal(t, []int{mode.Index}, u.Found())
	assert.Nil(t, recorded(m, did("clean-lens"), end(trail.SignedOff)).Found())
}

func TestStepNumbersCountSteps(t *testing.T) {
	u := recorded(load(t, "second"), saw("story", "skips"), saw("boot", "asks"), note, into("open"), void(4), trail.Event{Kind: trail.NewTerms, Terms: &trail.Terms{}},
		trail.Event{Kind: trail.Wait, For: "x"}, did("clean-lens"), skip("rail"), end(trail.SignedOff))
	var got []int
	for n := range len(u.Trail.Events) + 2 {
		got = append(got, u.Number(n))
	}
	// By hand: n 0 is the start; the story is told, 3 a note, 5 takes 4 back, which stays step 2.
	assert.Equal(t, []int{0, 0, 1, 0, 2, 0, 0, 0, 3, 4, 5, 0}, got)
	assert.Equal(t, []int{0, 0, 1, 1, 2, 2, 5, 5}, []int{u.StepAt(0), u.StepAt(1), u.StepAt(2), u.StepAt(3), u.StepAt(4), u.StepAt(7), u.StepAt(10), u.StepAt(99)},
		"what belongs to a note belongs to the step before it")
}

// Closing may be without a risk in the model; a unit that stands open is started shut all the same before it is
// signed off, and the totals are not what is said for it.
func TestAUnitThatStandsOpenIsStartedShutBeforeItIsSignedOff(t *testing.T) {
	m := load(t, "second")
	for i := range m.Setups {
		m.Setups[i].Enter.Change, m.Setups[i].Leave.Change = model.Change{}, model.Change{}
	}
	sound := []trail.Event{saw("boot", "asks"), did("clean-lens")}
	for range 6 {
		sound = append(sound, saw("boot", "boots"))
	}
	boot := plan.Step{Kind: plan.DoTest, Index: test(t, m, "boot")}
	signOff := plan.Step{Kind: plan.SignOff}
	for _, row := range []struct {
		name   string
		events []trail.Event
		first  plan.Step
	}{
		{"shut", nil, signOff},
		{"open", []trail.Event{into("open")}, boot},
		{"open, and it cannot be started", []trail.Event{into("open"), skip("boot")}, signOff},
		{"shut again", []trail.Event{into("open"), into("closed")}, signOff},
	} {
		t.Run(row.name, func(t *testing.T) {
			u, search := advised(t, m, append(slices.Clone(sound), row.events...)...)
			all := search.Proposals()
			assert.Equal(t, row.first, all[0].Step)
			kinds := kindsOf(u.Reasons(all[0]))
			assert.Equal(t, row.first == boot, slices.Contains(kinds, bench.ReasonShut))
			assert.Equal(t, row.first != boot, slices.Contains(kinds, bench.ReasonSaves))
		})
	}
}

// advised works a unit out, and what to do next with it.
func advised(t *testing.T, m *model.Model, events ...trail.Event) (*bench.Unit, plan.Search) {
	u := worked(t, m, events...)
	space, err := belief.NewSpace(m)
	require.NoError(t, err)
	planner, err := u.Planner(space)
	require.NoError(t, err)
	search := u.Advise(planner)
	for !search.Work(50) {
	}
	return u, search
}

// A unit that is as sound as odds can say is signed off; if it comes back it is started before that is proposed
// again, for a come-back moves no odds.
func TestAUnitThatCameBackIsStartedBeforeItIsSignedOffAgain(t *testing.T) {
	m := load(t, "second")
	sound := []trail.Event{saw("boot", "asks"), did("clean-lens")}
	for range 6 {
		sound = append(sound, saw("boot", "boots"))
	}
	boot := plan.Step{Kind: plan.DoTest, Index: test(t, m, "boot")}
	for _, row := range []struct {
		name   string
		events []trail.Event
		first  plan.Step
		unseen bool
	}{
		{"on the bench", nil, plan.Step{Kind: plan.SignOff}, false},
		{"it came back", []trail.Event{end(trail.SignedOff), note, into("closed")}, boot, true},
		{"it was started", []trail.Event{end(trail.SignedOff), into("closed"), saw("boot", "boots")}, plan.Step{Kind: plan.SignOff}, false},
		{"it cannot be started now", []trail.Event{end(trail.SignedOff), into("closed"), skip("boot")}, plan.Step{Kind: plan.SignOff}, true},
		{"that it left was taken back", []trail.Event{end(trail.SignedOff), void(9)}, plan.Step{Kind: plan.SignOff}, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			u, search := advised(t, m, append(slices.Clone(sound), row.events...)...)
			all := search.Proposals()
			assert.Equal(t, row.first, all[0].Step)
			assert.Equal(t, row.unseen, u.Unseen())
			steps := map[plan.Step]bool{}
			for _, p := range all {
				steps[p.Step] = true
			}
			assert.Len(t, steps, len(all), "each step once")
			assert.True(t, steps[plan.Step{Kind: plan.SignOff}], "it may be signed off all the same")
			kinds := kindsOf(u.Reasons(all[0]))
			assert.Equal(t, row.unseen, slices.Contains(kinds, bench.ReasonBack), "nobody signs it off without being told")
			if stands := search.Stands(4); row.first == boot {
				assert.Empty(t, stands, "no number put it there")
			} else {
				assert.Equal(t, row.first, stands[0].Step)
			}
		})
	}
}

func TestWhatAnybodyCanSeeAUnitDo(t *testing.T) {
	m := load(t, "second")
	sighting := func(change func(proof, rail *model.Test)) model.TestID {
		own := *m
		own.Tests = slices.Clone(m.Tests)
		change(&own.Tests[own.Proof], &own.Tests[test(t, m, "rail")])
		found, ok := recorded(&own).Sighting()
		if !ok {
			return ""
		}
		return found.ID
	}
	needs := func(test *model.Test) { test.Needs = []model.ToolID{"multimeter"} }
	assert.Equal(t, model.TestID("boot"), sighting(func(_, _ *model.Test) {}), "the proof")
	assert.Equal(t, model.TestID(""), sighting(func(proof, _ *model.Test) { needs(proof) }), "a meter is not at everybody's hand")
	assert.Equal(t, model.TestID("rail"), sighting(func(proof, rail *model.Test) {
		needs(proof)
		rail.Outcomes, rail.At, rail.Needs = proof.Outcomes, proof.At, nil
	}))
	assert.Equal(t, model.TestID(""), sighting(func(proof, rail *model.Test) {
		needs(proof)
		rail.Outcomes, rail.At, rail.Needs, rail.Told = proof.Outcomes, proof.At, nil, true
	}), "what is told is of the unit as it came in at first")
	for _, entry := range catalog.Models() {
		shipped, err := catalog.Load(entry.ID)
		require.NoError(t, err)
		found, ok := recorded(shipped).Sighting()
		require.True(t, ok, entry.ID)
		assert.Equal(t, model.TestID("first-boot"), found.ID, entry.ID)
		without := recorded(shipped, trail.Event{N: 1, Kind: trail.Result, Test: "their-disc", Outcome: "none"})
		_, ok = without.Sighting()
		assert.False(t, ok, "nobody started a disc that did not come with the %s", entry.ID)
	}
}

// The lid of a slot-in drive carries its clamp: with it off a disc would be spun that nothing holds.
func TestADiscIsStartedOnlyWhereOneMayTurn(t *testing.T) {
	for _, row := range []struct {
		model string
		at    model.SetupID
		may   bool
	}{
		{"slot-in", "closed", true}, {"slot-in", "drive-open", false}, {"slot-in", "supply-out", false},
		{"tray", "closed", true}, {"tray", "open", true}, {"tray", "drive-out", false},
		{"top-loader", "open", true}, {"top-loader", "drive-out", false},
	} {
		m := shipped(t)[row.model]
		assert.Equal(t, row.may, recorded(m, trail.Event{Kind: trail.Setup, Setup: row.at}).Starts(), "%s, %s", row.model, row.at)
	}
}

func TestWhatCameWithAUnitIsToBeAtHandUntilItsOwnerHasAnswered(t *testing.T) {
	m := shipped(t)["tray"]
	needs := []model.ToolID{"their-disc", "multimeter"}
	assert.Equal(t, needs, recorded(m).ToHave(needs), "nobody said that there is one")
	said := recorded(m, trail.Event{N: 1, Kind: trail.Result, Test: "their-disc", Outcome: "here"})
	assert.Equal(t, []model.ToolID{"multimeter"}, said.ToHave(needs))
	assert.Equal(t, model.ToolID("their-disc"), needs[0], "what was given is left alone")
}
