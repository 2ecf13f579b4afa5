package plan

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
)

// One planner serves many goroutines, while it grows and after, and gives each the answer that it gives
// alone. Run with -race.
func TestAPlannerIsSafeForConcurrentUse(t *testing.T) {
	p := small(t, 5)
	m := p.model
	var at []Situation
	for o := 1; o < len(m.Tests[m.Intake].Outcomes); o++ {
		b := p.space.Prior()
		require.NoError(t, b.Observe(m.Intake, belief.Named(&m.Tests[m.Intake], o)))
		at = append(at, Situation{Belief: b, Setup: m.Root})
	}
	settle := func(planner Planner, at Situation) []Proposal {
		s := planner.Start(at)
		for !s.Work(20) {
		}
		return s.Proposals()
	}
	alone, err := New(p.Space(), p.Terms)
	require.NoError(t, err)
	var want [][]Proposal
	for _, x := range at {
		want = append(want, settle(alone, x))
	}
	shared, err := New(p.Space(), p.Terms)
	require.NoError(t, err)
	var all sync.WaitGroup
	for i := range 4 {
		all.Go(func() {
			if i == 0 {
				for !shared.Grow() {
				}
				assert.NotEmpty(t, shared.Save())
			}
			for j, x := range at {
				assert.Equal(t, want[j], settle(shared, x))
			}
		})
	}
	all.Wait()
}
