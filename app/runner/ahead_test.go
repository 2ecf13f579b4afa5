package runner

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// What is proposed after each thing that the person may do next is worked out beforehand, and is what it
// would be if it were not; when the thing is done is of no matter to it.
func TestWhatMayBeAskedNextIsWorkedOutBefore(t *testing.T) {
	e := exampleReckon(t)
	thoughts := make(chan []plan.Proposal, 9)
	tell := func(m state.Msg) {
		if thought, ok := m.(state.Thought); ok {
			thoughts <- thought.Proposals
		}
	}
	ahead := &sliced{tell: tell, yield: func() {}, work: slice, ahead: true}
	ahead.Reckon(e)
	now := <-thoughts
	next := nextOf(e.Model, now[0])
	require.NotEmpty(t, next)
	trails := make([]*trail.Trail, len(next))
	for i, event := range next {
		after := *e.Trail
		event.N, event.At = len(after.Events)+1, "2026-03-04T11:00:00Z"
		after.Events = append(after.Events[:len(after.Events):len(after.Events)], event)
		trails[i] = &after
	}
	known := func(t *trail.Trail) bool {
		ahead.mu.Lock()
		defer ahead.mu.Unlock()
		_, ok := ahead.settled.held[situation(t)]
		return ok
	}
	require.Eventually(t, func() bool { return known(trails[len(trails)-1]) }, time.Minute, 10*time.Millisecond)
	for i, after := range trails {
		require.True(t, known(after), next[i])
		fresh := &sliced{tell: tell, yield: func() {}, work: slice}
		fresh.Reckon(state.Reckon{ID: e.ID, Turn: 1, Model: e.Model, Trail: after})
		want := <-thoughts
		ahead.Reckon(state.Reckon{ID: e.ID, Turn: 2 + i, Model: e.Model, Trail: after})
		assert.Equal(t, want, <-thoughts, next[i])
	}
}

// What is asked ends what is worked out beforehand.
func TestNothingIsWorkedOutBeforeWhileSomethingIsAsked(t *testing.T) {
	e := exampleReckon(t)
	s := &sliced{tell: func(state.Msg) {}, yield: func() {}, work: slice, ahead: true}
	u, proposals, planner := s.reckon(e, func() bool { return false })
	require.NotNil(t, planner)
	held := len(s.settled.held)
	s.foresee(e.Model, u, proposals, func() bool { return true })
	assert.Len(t, s.settled.held, held)
}
