//go:build deep

// Asking the planner for every test and repair takes a minute a family: run it with
// go test -tags deep ./engine/lint after a change of a model or of the planner.

package lint_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/lint"
)

func TestEveryStepOfShippedModelsIsOfUse(t *testing.T) {
	shipped(t, func(t *testing.T, s *belief.Space) {
		m := s.Model()
		trails := stories(t, s)
		terms := trails[0].Terms
		for _, tool := range m.Tools {
			terms.Tools = append(terms.Tools, tool.ID)
		}
		found, err := lint.Advice(s, terms, lint.Effort{Units: 4, Steps: 12, Seed: 1, Trails: trails}, nil)
		require.NoError(t, err)
		left, unused := lint.Apply(m.ID, found, exceptions(t, lint.Unhelpful, lint.Unworthy))
		assert.Empty(t, left)
		for _, e := range unused {
			t.Logf("of use with these trails, the exception serves those who have none: %v", e)
		}
	})
}
