package belief_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
)

// TestTheSameResultIsLeftOutOnce: each of ten equal results is left out by one and the same work, which two
// different ones take twice.
func TestTheSameResultIsLeftOutOnce(t *testing.T) {
	s := threeParts()
	test := &s.Model().Tests[0]
	effort := func(outcomes ...int) float64 {
		var links []belief.Link
		for _, o := range outcomes {
			links = append(links, belief.Link{Test: 0, Weights: belief.Named(test, o)})
		}
		e, err := s.Effort(links)
		require.NoError(t, err)
		return e
	}
	require.Greater(t, len(test.Outcomes), 1)
	same := effort(0, 0, 0, 0, 0, 0, 0, 0, 0, 0)
	assert.Positive(t, same)
	assert.Equal(t, 2*same, effort(0, 1, 0, 1, 0, 1, 0, 1, 0, 1))
}
