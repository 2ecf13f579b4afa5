package trail_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/internal/mutate"
	"pitwise/engine/internal/random"
	"pitwise/engine/internal/schema"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

func TestSpoiledTrailsAreRefusedOrReadBackAndNeverLessStrictlyThanTheirSchema(t *testing.T) {
	s, err := schema.Parse(trail.Schema())
	require.NoError(t, err)
	refused, misfits, taken := 0, 0, 0
	every := uint64(1)
	if testing.Short() {
		every = 5 // under wasm, which reads texts alike
	}
	for seed := uint64(0); seed < 2000; seed += every {
		rng := rand.New(rand.NewPCG(seed, 13))
		modelText := random.Model(rng, random.Size{Components: 3, Modes: 2, Tests: 3, Outcomes: 3, Repairs: 2, Setups: 3})
		m, err := model.Load(modelText)
		require.NoError(t, err)
		text := random.Trail(rng, modelText, random.Length{Events: 12, Second: seed >= 1500})
		text = mutate.Document(rng, text, 1+rng.IntN(3))
		tr, err := trail.Load(text)
		schemaErr := s.Validate(text)
		if err != nil {
			refused++
			require.Nil(t, tr)
			var defects trail.Defects
			require.ErrorAs(t, err, &defects)
			for i, d := range defects.List {
				require.True(t, d.Place != "" || d.Line > 0)
				require.NotContains(t, d.Found, "%!", "a message that is badly made")
				if i > 0 {
					p := defects.List[i-1]
					require.True(t, p.Line < d.Line || p.Line == d.Line && p.Column <= d.Column)
				}
			}
			continue
		}
		require.NoError(t, schemaErr, "%s", text)
		again, err := trail.Load(tr.Encode())
		require.NoError(t, err)
		require.Equal(t, tr, again)
		if err := tr.Check(m); err != nil {
			misfits++
			require.ErrorIs(t, err, trail.ErrInvalid)
			continue
		}
		taken++
	}
	assert.Greater(t, refused, 500/int(every))
	assert.Greater(t, misfits, 20/int(every))
	assert.Greater(t, taken, 50/int(every))
}
