package belief_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
)

// drawn is a space of a random model, and a belief after some results, some of them repeats.
func drawn(t *testing.T, seed uint64) (*belief.Space, *belief.Belief, *rand.Rand) {
	rng := rand.New(rand.NewPCG(seed, 43))
	m, err := model.Load(random.Model(rng, random.Size{Components: 6, Modes: 3, Tests: 5, Outcomes: 4, MostFaults: 3, Repairs: 4}))
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	b := s.Prior()
	for range 6 {
		test := rng.IntN(min(2, len(m.Tests)))
		require.NoError(t, b.Observe(test, belief.Named(&m.Tests[test], rng.IntN(len(m.Tests[test].Outcomes)))))
	}
	return s, b, rng
}

// TestBitsAreTheMutualInformation works it out from its definition: the sum over hypotheses and outcomes of
// P(h) P(o|h) log2(P(o|h)/P(o)), with P(o|h) = (κ P + n of o)/(κ + n) for a test that has been run n times.
// Source: Cover & Thomas, Elements of Information Theory, section 2.3; the urn of Pólya.
func TestBitsAreTheMutualInformation(t *testing.T) {
	repeats := 0
	for seed := range uint64(30) {
		s, b, _ := drawn(t, seed)
		m := s.Model()
		for test := range m.Tests {
			seen := b.Counts(test)
			n := 0.0
			for _, x := range seen {
				n += x
			}
			if n > 1 {
				repeats++
			}
			kappa := m.Tests[test].Steadiness
			given := func(h int) []float64 {
				row := s.Outcomes(nil, test, h)
				for o := range row {
					if n > 0 {
						row[o] = (kappa*row[o] + seen[o]) / (kappa + n)
					}
				}
				return row
			}
			whole := make([]float64, len(m.Tests[test].Outcomes))
			for h := range s.Len() {
				for o, p := range given(h) {
					whole[o] += b.P(h) * p
				}
			}
			want := 0.0
			for h := range s.Len() {
				for o, p := range given(h) {
					want += b.P(h) * p * math.Log2(p/whole[o])
				}
			}
			odds, bits := b.Foresee(test)
			assert.InDelta(t, want, bits, 1e-9)
			assert.InDeltaSlice(t, whole, odds, 1e-12)
		}
	}
	assert.Greater(t, repeats, 30)
}

func TestFaultsCountsTheFaultsOfEachHypothesis(t *testing.T) {
	for seed := range uint64(10) {
		s, b, _ := drawn(t, seed)
		want := make([]float64, s.Model().MostFaults+1)
		for h := range s.Len() {
			want[len(s.Modes(h))] += b.P(h)
		}
		got := b.Faults(nil)
		require.Len(t, got, len(want))
		assert.InDeltaSlice(t, want, got, 1e-12)
	}
}

func TestAChangeTouchesTheTestsThatItsModesMatterTo(t *testing.T) {
	touched, untouched := 0, 0
	for seed := range uint64(60) {
		s, _, _ := drawn(t, seed)
		m := s.Model()
		for i := range m.Repairs {
			c := m.Repairs[i].Change
			matters := map[int]bool{}
			for _, all := range [][]model.Chance{c.Fixes, c.Risks} {
				for _, x := range all {
					matters[x.Mode] = true
				}
			}
			for test := range m.Tests {
				want := false
				for _, g := range m.Tests[test].Given {
					want = want || matters[g.Mode]
				}
				if want {
					touched++
				} else {
					untouched++
				}
				assert.Equal(t, want && !m.Tests[test].Told, s.Touches(c, test))
			}
		}
	}
	assert.Greater(t, touched, 20)
	assert.Greater(t, untouched, 20)
}

// TestWhatTablesTakeIsCounted: the room that is kept for the tables of tests is that which they take.
func TestWhatTablesTakeIsCounted(t *testing.T) {
	old, _, rng := drawn(t, 3)
	for _, room := range []int{1, 800, 1 << 20} {
		s, err := belief.NewSpace(old.Model())
		require.NoError(t, err)
		s.Roomy(room)
		for range 40 {
			n := s.Len()
			if rng.IntN(2) == 0 {
				n = s.FirstOf(2)
			}
			s.ClassesAmong(rng.IntN(len(s.Model().Tests)), n)
			counted, taken, tables := s.Taken()
			assert.Equal(t, taken, counted)
			assert.Positive(t, tables, "the one that was asked for last is kept")
			assert.True(t, tables == 1 || taken <= room, "%d tables take %d of %d bytes", tables, taken, room)
		}
	}
}
