package model_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
	"pitwise/engine/model"
)

func TestWhatTheOwnerDoesNotHaveIsMissing(t *testing.T) {
	m, err := catalog.Load("top-loader")
	require.NoError(t, err)
	told, ok := m.AskedFor("their-disc")
	require.True(t, ok)
	assert.Equal(t, model.OutcomeID("none"), told.Outcomes[0].ID, "the first outcome says no")
	_, ok = m.AskedFor("good-disc")
	assert.False(t, ok)

	seen := make([]int, len(m.Tests))
	for i := range seen {
		seen[i] = -1
	}
	elsewhere, ok := m.Test("disc-elsewhere")
	require.True(t, ok)
	for _, row := range []struct {
		answer  int
		missing []model.ToolID
	}{{-1, nil}, {0, []model.ToolID{"their-disc"}}, {1, nil}} {
		seen[told.Index] = row.answer
		assert.Equal(t, row.missing, m.Missing(elsewhere, seen))
	}
	assert.Empty(t, m.Missing(elsewhere, nil))
	assert.Len(t, m.BenchTools(), len(m.Tools)-1)

	for id, bare := range map[model.TestID]bool{"listen": true, "first-boot": true, "disc-elsewhere": false, "known-disc": false} {
		test, ok := m.Test(id)
		require.True(t, ok)
		assert.Equal(t, bare, m.Bare(test), id)
	}
}
