package learn

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// replayedWith replays a trail under the shipped numbers with one of them moved to y.
func replayedWith(t *testing.T, f *frame, tr *trail.Trail, block, entry int, y float64) *trail.Account {
	t.Helper()
	kappa := f.kappas()
	numbers := slices.Clone(f.ship)
	copy(f.row(numbers, block), moved(f.row(f.ship, block), entry, y))
	with, err := f.write(numbers, kappa, 17, "x", "x")
	require.NoError(t, err)
	space, err := belief.NewSpace(with)
	require.NoError(t, err)
	other := *tr
	a, err := trail.Replay(space, &other)
	require.NoError(t, err)
	return a
}

// TestThePlacesWhereTheLeadTurnsAreRight puts the number that each Hang tells into the model's own
// text and replays the trail with package trail: a little before it the suspect leads, a little
// beyond it the other does.
func TestThePlacesWhereTheLeadTurnsAreRight(t *testing.T) {
	kinds := map[Kind]int{}
	repeats := 0
	for seed := range uint64(25) {
		rng := rand.New(rand.NewPCG(seed, 41))
		m := loaded(t, random.Model(rng, random.Size{Components: 4, Modes: 2, Tests: 4, Outcomes: 3, Repairs: 2, Setups: 2, MostFaults: 2, Exact: true, Second: seed%3 == 0}))
		f, err := newFrame(m)
		require.NoError(t, err)
		tr, _ := chance{rng, f}.unit(f.ship, 1+int(seed%5))
		s, err := NewSensitivity(m)
		require.NoError(t, err)
		h, err := s.Of(tr)
		require.NoError(t, err)
		account, err := trail.Replay(f.space, tr)
		require.NoError(t, err)
		odds := trail.OddsOf(account.Final)
		ranked := odds.Ranked()
		require.Equal(t, m.Modes[ranked[0]].ID, h.Leader)
		assert.InDelta(t, odds.Modes[ranked[0]], h.Odds, 1e-9)
		assert.InDelta(t, odds.Modes[ranked[1]], h.SecondP, 1e-9)
		tests := map[string]int{}
		for _, e := range tr.Events {
			tests[string(e.Test)]++
		}
		leader := func(block, entry int, y float64) []float64 {
			return trail.OddsOf(replayedWith(t, f, tr, block, entry, y).Final).Modes
		}
		last := 0.0
		for i, x := range h.Numbers {
			require.GreaterOrEqual(t, x.Bans, last, "nearest first")
			last = x.Bans
			if i >= 12 || x.Bans > 4 {
				continue
			}
			kinds[x.Kind]++
			if x.Test != "" && tests[string(x.Test)] > 1 {
				repeats++
			}
			now := f.row(f.ship, x.block)[x.entry]
			flip := logit(now) + math.Ln10*x.Bans
			if x.At < x.Now {
				flip = logit(now) - math.Ln10*x.Bans
			}
			// The row entry of a link may move against the link's own: try both ways.
			lead, _ := m.Mode(h.Leader)
			next, _ := m.Mode(x.Other)
			turned := false
			for _, z := range []float64{flip, 2*logit(now) - flip} {
				share := func(z float64) float64 { return 1 / (1 + math.Exp(-z)) }
				step := 1e-3 * (z - logit(now))
				before, after := leader(x.block, x.entry, share(z-step)), leader(x.block, x.entry, share(z+step))
				turned = turned || before[lead.Index] > before[next.Index] && after[lead.Index] < after[next.Index]
			}
			assert.True(t, turned, "seed %d: %+v", seed, x)
		}
		for _, turn := range h.Turns {
			test, _ := m.Test(turn.Test)
			o, _ := test.Outcome(turn.Outcome)
			b := account.Final.Clone()
			assert.InDelta(t, b.Predict(nil, test.Index)[o], turn.P, 1e-12)
			require.NoError(t, b.Observe(test.Index, belief.Named(test, o)))
			assert.NotEqual(t, h.Leader, turn.Leader)
			mode, _ := m.Mode(turn.Leader)
			assert.Equal(t, slices.Max(b.Modes(nil)), turn.Odds)
			assert.Equal(t, turn.Odds, b.Modes(nil)[mode.Index])
		}
	}
	for _, kind := range []Kind{Prior, Healthy, Link} {
		assert.Greater(t, kinds[kind], 5, "%s", kind)
	}
	assert.Greater(t, kinds[Fix]+kinds[Risk], 3)
	assert.Greater(t, repeats, 3)
}

// TestTheTwoCabs is the base-rate classic as a question of sensitivity: 15 of 100 cabs are blue, a
// witness says blue and is right in 80 of 100 cases, so that it was blue with 12/29 (Kahneman &
// Tversky; from memory); and the lead turns where 0.8 b = 0.2 (1-b), at 20 of 100 cabs.
func TestTheTwoCabs(t *testing.T) {
	m := loaded(t, []byte(`{"format": "pitwise/model", "version": 1, "id": "cabs", "revision": "1", "title": "Two cabs", "most_faults": 1,
	"sources": {"classic": {"kind": "published", "cite": "the two cabs"}}, "setups": [{"id": "street"}],
	"components": [{"id": "cab", "modes": [{"id": "green", "prior": 0.85, "source": "classic"}, {"id": "blue", "prior": 0.1499999999, "source": "classic"}]}],
	"tests": [{"id": "witness", "intake": true, "at": "street", "minutes": 0, "money": 0, "outcomes": [{"id": "nothing"}, {"id": "green"}, {"id": "blue"}],
		"healthy": [0.999998, 1e-6, 1e-6], "given": {"cab.green": [1e-9, 0.799999999, 0.2], "cab.blue": [1e-9, 0.199999999, 0.8]}, "steadiness": 1, "source": "classic"}],
	"repairs": []}`))
	s, err := NewSensitivity(m)
	require.NoError(t, err)
	tr := &trail.Trail{ID: "x", Created: "2026-01-01T00:00:00Z", Model: trail.ModelRef{ID: "cabs"},
		Events: []trail.Event{{N: 1, At: "2026-01-01T00:00:00Z", Kind: trail.Result, Test: "witness", Outcome: "blue"}}}
	h, err := s.Of(tr)
	require.NoError(t, err)
	assert.EqualValues(t, "cab.green", h.Leader)
	assert.InDelta(t, 17.0/29, h.Odds, 1e-6)
	assert.InDelta(t, 12.0/29, h.SecondP, 1e-6)
	found := false
	for _, x := range h.Numbers {
		if x.Kind == Prior && x.Mode == "cab.blue" {
			found = true
			assert.InDelta(t, 0.2, x.At, 1e-6)
			assert.EqualValues(t, "cab.blue", x.Other)
			assert.InDelta(t, math.Log10((0.2/0.8)/(0.15/0.85)), x.Bans, 1e-6)
		}
	}
	assert.True(t, found)
}

// A disc that did not come with the unit changes nobody's mind.
func TestNothingTurnsOnWhatIsNotThere(t *testing.T) {
	m, err := catalog.Load("top-loader")
	require.NoError(t, err)
	s, err := NewSensitivity(m)
	require.NoError(t, err)
	open := func(answer model.OutcomeID) []string {
		var tests []string
		turns, err := s.turns(&trail.Trail{Events: []trail.Event{{N: 1, Kind: trail.Result, Test: "their-disc", Outcome: answer}}}, -1) // whoever leads
		require.NoError(t, err)
		for _, turn := range turns {
			tests = append(tests, string(turn.Test))
		}
		return tests
	}
	assert.Contains(t, open("here"), "first-boot")
	assert.NotContains(t, open("none"), "first-boot")
	assert.Contains(t, open("none"), "known-disc")
}

// TestThePlacesWhereTheStepTurnsAreRight does the same for the proposed step: on both sides of each place
// the totals of the listed plans are worked out anew, from what package trail then believes.
func TestThePlacesWhereTheStepTurnsAreRight(t *testing.T) {
	tried, repeats, models := 0, 0, uint64(30)
	if testing.Short() {
		models = 10
	}
	for seed := range models {
		rng := rand.New(rand.NewPCG(seed, 43))
		text, given := random.Small(rng)
		m := loaded(t, text)
		f, err := newFrame(m)
		require.NoError(t, err)
		tr, _ := chance{rng, f}.unit(f.ship, 1+int(seed%4))
		terms := trail.Terms{MinuteValue: given.MinuteValue, Currency: "EUR", WorkingValue: given.WorkingValue, AsIsValue: given.AsIsValue, ComebackCost: given.ComebackCost}
		for j := range m.Tools {
			terms.Tools = append(terms.Tools, m.Tools[j].ID)
		}
		account, err := trail.Replay(f.space, tr)
		require.NoError(t, err)
		planner, err := plan.New(f.space, terms)
		require.NoError(t, err)
		search := planner.Start(plan.Situation{Belief: account.Final, Setup: account.Setup, Tries: account.Tries, Seen: account.Seen})
		require.Empty(t, search.Stands(5))
		for !search.Work(1000) {
		}
		stands := search.Stands(6)
		total := func(b *belief.Belief, s plan.Stand) float64 {
			sum := 0.0
			for h, c := range s.Cost {
				sum += b.P(h) * c
			}
			return sum
		}
		for i, s := range stands {
			assert.Equal(t, search.Proposals()[i].Step, s.Step)
			assert.InDelta(t, s.Total, total(account.Final, s), 1e-9*(1+math.Abs(s.Total)), "seed %d: %v", seed, s.Step)
		}
		s, err := NewSensitivity(m)
		require.NoError(t, err)
		h, err := s.OfStep(tr, stands)
		require.NoError(t, err)
		tests := map[string]int{}
		for _, e := range tr.Events {
			tests[string(e.Test)]++
		}
		// loses reports whether the first costs more than another by more than is told apart.
		loses := func(block, entry int, y float64) bool {
			a := replayedWith(t, f, tr, block, entry, y)
			least := math.Inf(1)
			for _, s := range stands {
				least = min(least, s.Total)
			}
			for _, s := range stands[1:] {
				if total(a.Final, stands[0]) > total(a.Final, s)*(1+s.Within/math.Abs(least)) {
					return true
				}
			}
			return false
		}
		last := 0.0
		for i, x := range h.Numbers {
			require.GreaterOrEqual(t, x.Bans, last, "nearest first")
			last = x.Bans
			if i >= 6 || x.Bans > 4 {
				continue
			}
			tried++
			if x.Test != "" && tests[string(x.Test)] > 1 {
				repeats++
			}
			now := logit(f.row(f.ship, x.block)[x.entry])
			turned := false
			for _, way := range []float64{1, -1} { // the row entry of a link may move against the link's own
				share := func(z float64) float64 { return 1 / (1 + math.Exp(-z)) }
				far := way * math.Ln10 * x.Bans
				turned = turned || !loses(x.block, x.entry, share(now+0.999*far)) && loses(x.block, x.entry, share(now+1.001*far))
			}
			assert.True(t, turned, "seed %d: %+v", seed, x)
		}
	}
	assert.Greater(t, tried, 5*int(models)/3)
	assert.Greater(t, repeats, int(models)/15)
}
