package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

func loaded(t testing.TB, text []byte) *model.Model {
	t.Helper()
	m, err := model.Load(text)
	require.NoError(t, err)
	return m
}

// evening returns a random trail of a random small model.
func evening(t testing.TB, rng *rand.Rand, text []byte, events int, only ...string) *trail.Trail {
	t.Helper()
	tr, err := trail.Load(random.Trail(rng, text, random.Length{Events: events, Only: only}))
	require.NoError(t, err)
	tr.ID = fmt.Sprint(rng.Uint64())
	return tr
}

// brought puts an intake result that brings a unit in before everything else.
func brought(m *model.Model, t *trail.Trail, outcome int) {
	test := &m.Tests[m.Intake]
	for i := range t.Events {
		t.Events[i].N++
		if t.Events[i].Kind == trail.Void {
			t.Events[i].Of++
		}
	}
	t.Events = append([]trail.Event{{N: 1, At: t.Created, Kind: trail.Result, Test: test.ID, Outcome: test.Outcomes[outcome].ID}}, t.Events...)
}

// TestTheLikelihoodIsThatOfAReplay holds the likelihood of whole trails, with repeats, readings,
// repairs, setup steps and voids, against log_evidence of package trail: one more way through
// another program to the same number.
func TestTheLikelihoodIsThatOfAReplay(t *testing.T) {
	compared := 0
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 5))
		text := random.Model(rng, random.Size{Components: 4, Modes: 2, Tests: 4, Outcomes: 4, Repairs: 3, Setups: 3, Second: seed%2 == 1})
		m := loaded(t, text)
		f, err := newFrame(m)
		require.NoError(t, err)
		numbers := slices.Clone(f.ship)
		kappa := f.kappas()
		used := make([]bool, len(m.Tests))
		for i := range used {
			used[i] = true
		}
		r := f.newRound(numbers, kappa, used, nil)
		prior := f.space.Prior()
		kept := 0.0
		for _, w := range r.weight {
			kept += w
		}
		assert.InDelta(t, 1-prior.Dropped(), kept, 1e-12)
		out := prior.Predict(nil, m.Intake)
		assert.InEpsilon(t, kept*(1-out[0]), r.in, 1e-10, "how often a unit is brought in")
		for range 5 {
			tr := evening(t, rng, text, 1+rng.IntN(12), "result", "result", "result", "setup", "repair", "void")
			if len(m.Tests[m.Intake].Outcomes) < 2 {
				continue
			}
			brought(m, tr, 1)
			account, err := trail.Replay(f.space, tr)
			if err != nil {
				continue
			}
			s, err := f.shapeOf(tr)
			require.NoError(t, err)
			stages, err := f.stages(s)
			require.NoError(t, err)
			sm := r.smoother()
			sm.follow(nil)
			got, ok := sm.smooth(stages, &sink{})
			require.True(t, ok)
			want := account.Final.LogEvidence() + math.Log(kept)
			got -= sm.cut
			if account.Final.LogEvidence() < -600 {
				continue
			}
			if !tr.Live()[0] {
				continue // the intake result was voided: the unit was brought in all the same
			}
			assert.InDelta(t, want, got, 1e-9*math.Max(1, math.Abs(want)))
			compared++
		}
	}
	require.Greater(t, compared, 150)
}

// evidence follows a trail with package belief, and returns the log of the probability of its
// results and of its unit never having had more faults than the model holds: Dropped says what
// each change cut.
func evidence(t testing.TB, s *belief.Space, tr *trail.Trail) float64 {
	t.Helper()
	m := s.Model()
	b := s.Prior()
	kept := 0.0
	apply := func(c model.Change) {
		before := b.Dropped()
		require.NoError(t, b.Apply(c))
		kept += math.Log(1 - (b.Dropped() - before))
	}
	tries, setup := m.Untried(), m.Root
	live := tr.Live()
	for _, told := range []bool{true, false} {
		for i := range tr.Events {
			e := &tr.Events[i]
			if !live[i] {
				continue
			}
			test, _ := m.Test(e.Test)
			switch {
			case e.Kind == trail.Result && test.Told == told:
				w := make([]float64, len(test.Outcomes))
				if e.Reading != nil {
					w = belief.Weights(test, *e.Reading)
				} else {
					o, _ := test.Outcome(e.Outcome)
					w[o] = 1
				}
				require.NoError(t, b.Observe(test.Index, w))
			case e.Kind == trail.Repair && !told:
				r, _ := m.Repair(e.Repair)
				c := r.Change
				if tries != nil {
					c = r.After(tries[r.Index])
				}
				apply(c)
				tries = m.Tried(tries, r.Index)
			case e.Kind == trail.Setup && !told:
				to, _ := m.Setup(e.Setup)
				for _, mv := range m.Way(setup, to.Index) {
					work, _ := m.Move(mv)
					apply(work.Change)
					tries = m.Disturbed(tries, work.Change)
				}
				setup = to.Index
			}
		}
	}
	return b.LogEvidence() + kept
}

// score works the objective of EM out another way: by package belief, on the model's own text
// with other numbers in it.
func score(t testing.TB, f *frame, numbers, kappa, alpha []float64, trails []*trail.Trail) float64 {
	t.Helper()
	m, err := f.write(numbers, kappa, 17, "x", "x")
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	out := s.Prior().Predict(nil, m.Intake)
	in := 0.0
	for _, p := range out[1:] {
		in += p
	}
	sum := 0.0
	for _, tr := range trails {
		sum += evidence(t, s, tr) - math.Log(in)
	}
	for c, k := range kappa {
		if k > 0 { // the prior of what repairs remember: log kappa is normal around the shipped one
			r := &f.model.Repairs[f.change[c].repair]
			source, _ := f.model.Source(r.Source)
			sum -= source.Weight / 8 * math.Pow(math.Log(k/r.Steadiness), 2) / 2
		}
	}
	for k, a := range alpha {
		if a > 0 {
			sum += a * math.Log(numbers[k])
		}
	}
	return sum
}

// TestALeapIsOfWholeBlocks: where it leads is scaled in place, and is a point that EM can set off from.
func TestALeapIsOfWholeBlocks(t *testing.T) {
	f, err := newFrame(loaded(t, []byte(lamp)))
	require.NoError(t, err)
	off := slices.Clone(f.ship)
	for i := range off {
		off[i] *= 3
	}
	assert.InDeltaSlice(t, f.ship, f.whole(off), 1e-15)
}

// TestEMEndsWhereTheDerivativesAreNought: at the numbers that EM ends with, moving any two
// entries of any block against each other makes the objective, worked out by package belief,
// smaller: finite differences are nought, in every direction.
func TestEMEndsWhereTheDerivativesAreNought(t *testing.T) {
	remembered := 0
	for seed := range uint64(10) {
		rng := rand.New(rand.NewPCG(seed, 8))
		text := random.Model(rng, random.Size{Components: 3, Modes: 2, Tests: 3, Outcomes: 3, Repairs: 2, Setups: 2, MostFaults: 2, Exact: true, Second: seed >= 5})
		m := loaded(t, text)
		l, err := New(m)
		require.NoError(t, err)
		var trails []*trail.Trail
		for range 12 {
			tr := evening(t, rng, text, 2+rng.IntN(8), "result", "result", "result", "setup", "repair", "repair")
			brought(m, tr, 1+rng.IntN(2))
			if l.Add(tr) == nil {
				trails = append(trails, tr)
			}
		}
		var trace []float64
		fit, err := l.Fit(Options{Close: 1e-9, trace: &trace})
		require.NoError(t, err)
		require.Empty(t, fit.Left)
		for i := 1; i < len(trace); i++ {
			assert.GreaterOrEqual(t, trace[i], trace[i-1]-1e-9*math.Abs(trace[i]), "seed %d: the objective falls in round %d", seed, i)
		}
		f := l.frame
		at := score(t, f, fit.numbers, fit.kappa, fit.alpha, trails)
		assert.InDelta(t, at, fit.Score, 1e-7*math.Abs(at))
		moved := 0.0
		for i := range f.blocks {
			b := &f.blocks[i]
			if b.Kind.ofTheBench() {
				continue
			}
			for k := 1; k < b.Len; k++ {
				p, q := fit.numbers[b.at], fit.numbers[b.at+k]
				if f.ship[b.at] == 0 || f.ship[b.at+k] == 0 {
					continue
				}
				moved = math.Max(moved, math.Abs(q-f.ship[b.at+k]))
				slope := func(h float64) float64 {
					d := h * math.Min(p, q)
					n := slices.Clone(fit.numbers)
					n[b.at], n[b.at+k] = p+d, q-d
					return score(t, f, n, fit.kappa, fit.alpha, trails)
				}
				up, down := slope(1e-4), slope(-1e-4)
				assert.InDelta(t, 0, (up-down)/2e-4, 2e-5*math.Max(1, fit.alpha[b.at]), "seed %d: %s block %d entry %d", seed, b.Kind, i, k)
				assert.Less(t, up+down, 2*at+1e-9*math.Abs(at), "seed %d: %s block %d entry %d is no summit", seed, b.Kind, i, k)
			}
		}
		assert.Greater(t, moved, 0.01, "something was learnt")
		for c, k := range fit.kappa {
			if k == 0 || fit.tries[c] == 0 {
				continue
			}
			remembered++
			slope := func(h float64) float64 {
				other := slices.Clone(fit.kappa)
				other[c] *= 1 + h
				return score(t, f, fit.numbers, other, fit.alpha, trails)
			}
			assert.InDelta(t, 0, (slope(1e-4)-slope(-1e-4))/2e-4, 1e-4, "seed %d: steadiness of change %d", seed, c)
		}
	}
	assert.Greater(t, remembered, 3)
}
