package random_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"pitwise/engine/internal/random"
	"pitwise/engine/model"
)

func TestEveryRandomModelIsAcceptedByTheLoader(t *testing.T) {
	for seed := range uint64(300) {
		rng := rand.New(rand.NewPCG(seed, 11))
		text := random.Model(rng, random.Size{Components: 6, Modes: 4, Tests: 6, Outcomes: 6, Repairs: 5, Setups: 5, Extreme: seed%2 == 0})
		_, err := model.Load(text)
		require.NoError(t, err, "seed %d\n%s", seed, text)
		text, _ = random.Small(rng)
		_, err = model.Load(text)
		require.NoError(t, err, "seed %d\n%s", seed, text)
	}
}
