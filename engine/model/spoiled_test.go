package model_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/internal/mutate"
	"pitwise/engine/internal/random"
	"pitwise/engine/internal/schema"
	"pitwise/engine/model"
)

func TestSpoiledModelsAreRefusedOrSoundAndNeverLessStrictlyThanTheirSchema(t *testing.T) {
	s, err := schema.Parse(model.Schema())
	require.NoError(t, err)
	refused, taken := 0, 0
	for seed := range uint64(2400) {
		rng := rand.New(rand.NewPCG(seed, 12))
		text := random.Model(rng, random.Size{Components: 4, Modes: 3, Tests: 4, Outcomes: 4, Repairs: 3, Setups: 4, Extreme: seed%2 == 0, Second: seed >= 1500})
		text = mutate.Document(rng, text, 1+rng.IntN(4))
		m, err := model.Load(text)
		schemaErr := s.Validate(text)
		if err == nil {
			taken++
			model.RequireSound(t, m)
			require.NoError(t, schemaErr, "%s", text)
			continue
		}
		refused++
		require.Nil(t, m)
		var defects model.Defects
		require.ErrorAs(t, err, &defects)
		lines := map[string]bool{}
		for i, d := range defects.List {
			require.True(t, d.Place != "" || d.Line > 0)
			require.NotContains(t, d.Found, "%!", "a message that is badly made")
			require.False(t, lines[d.String()], "told twice: %s", d)
			lines[d.String()] = true
			if i > 0 {
				p := defects.List[i-1]
				require.True(t, p.Line < d.Line || p.Line == d.Line && p.Column <= d.Column)
			}
		}
		// A change of one value does not bring a flood.
		if strings.Count(err.Error(), "\n") > 200 {
			t.Errorf("%d defects of %s", defects.Len(), text)
		}
	}
	assert.Greater(t, refused, 800)
	assert.Greater(t, taken, 50)
}
