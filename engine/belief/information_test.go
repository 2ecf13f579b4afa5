package belief_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
)

func TestWhatIsForeseenIsWhatIsPredictedToTheBit(t *testing.T) {
	outcomes := 0
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 41))
		m, err := model.Load(random.Model(rng, random.Size{Components: 8, Modes: 3, Tests: 5, Outcomes: 5, MostFaults: 3, Extreme: seed%2 == 0}))
		require.NoError(t, err)
		s, err := belief.NewSpace(m)
		require.NoError(t, err)
		b := s.Prior()
		for range 6 {
			for test := range m.Tests {
				odds, bits := b.Foresee(test)
				assert.Equal(t, b.Predict(nil, test), odds)
				assert.Equal(t, b.Bits(test), bits)
				outcomes += len(odds)
			}
			test := rng.IntN(len(m.Tests))
			require.NoError(t, b.Observe(test, belief.Named(&m.Tests[test], rng.IntN(len(m.Tests[test].Outcomes)))))
		}
	}
	assert.Greater(t, outcomes, 2000)
}
