package catalog

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEveryFamilyLoadsWithoutADefect(t *testing.T) {
	for _, id := range families {
		t.Run(id, func(t *testing.T) {
			m, err := Load(id)
			require.NoError(t, err)
			assert.Equal(t, id, m.ID)
		})
	}
}
