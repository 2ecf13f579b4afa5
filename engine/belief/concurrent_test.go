package belief_test

import (
	"math/rand/v2"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
)

// TestASpaceServesManyAtOnceThoughItsTablesComeAndGo: beliefs of one space, each in a goroutine
// of its own, with so little room for tables that each ask pushes one out; they come to what
// one alone comes to. Run with -race it shows that nothing is shared unguarded.
func TestASpaceServesManyAtOnceThoughItsTablesComeAndGo(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 43))
	m, err := model.Load(random.Model(rng, random.Size{Components: 6, Modes: 3, Tests: 8, Outcomes: 4, Repairs: 4, Setups: 3, MostFaults: 3, Exact: true, Second: true}))
	require.NoError(t, err)
	evening := func(s *belief.Space, seed uint64) []float64 {
		rng := rand.New(rand.NewPCG(seed, 44))
		b := s.Prior()
		var links []belief.Link
		for range 20 {
			test := rng.IntN(len(m.Tests))
			w := belief.Named(&m.Tests[test], rng.IntN(len(m.Tests[test].Outcomes)))
			if b.Observe(test, w) == nil {
				links = append(links, belief.Link{Test: test, Weights: w})
			}
			if c := m.Repairs[rng.IntN(len(m.Repairs))].Change; rng.IntN(3) == 0 && b.Apply(c) == nil {
				links = append(links, belief.Link{Change: c})
			}
			b.Bits(rng.IntN(len(m.Tests)))
		}
		origin, err := s.Origin(links)
		if err != nil {
			return nil
		}
		doubts, err := s.LeaveOneOut(links)
		if err != nil {
			return nil
		}
		out := append(b.Modes(nil), origin.Modes(nil)...)
		for i, l := range links {
			if l.Weights != nil {
				out = append(out, doubts[i])
			}
		}
		for test := range m.Tests {
			out = append(out, b.Predict(nil, test)...)
		}
		return out
	}
	const evenings = 6
	alone, err := belief.NewSpace(m)
	require.NoError(t, err)
	var want [evenings][]float64
	for i := range want {
		want[i] = evening(alone, uint64(i))
		require.NotNil(t, want[i])
	}
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	s.Cramp()
	var wait sync.WaitGroup
	var got [evenings][]float64
	for i := range evenings {
		wait.Go(func() { got[i] = evening(s, uint64(i)) })
	}
	wait.Wait()
	assert.Equal(t, want, got)
}
