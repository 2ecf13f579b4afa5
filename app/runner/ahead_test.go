package runner

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
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
	ahead := &sliced{tell: tell, yield: func() {}, work: slice, ahead: time.Millisecond}
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
	s := &sliced{tell: func(state.Msg) {}, yield: func() {}, work: slice, ahead: time.Millisecond}
	space, u, proposals := s.reckon(e, func() bool { return false })
	require.NotEmpty(t, proposals)
	held := len(s.settled.held)
	s.foresee(space, u, proposals[0], func() bool { return true })
	assert.Len(t, s.settled.held, held)
}

// What was advised is kept: a page that is loaded anew has it at once, to the bit, and what is damaged is worked out again.
func TestAdviceIsKeptAndTakenUp(t *testing.T) {
	e := exampleReckon(t)
	advised := &noted{saved: map[string][]byte{}}
	thought := func(e state.Reckon) []byte {
		for _, m := range told(t, e, func(tell func(state.Msg)) Engine {
			return &sliced{tell: tell, yield: func() {}, work: slice, advised: advised}
		}) {
			if m, ok := m.(state.Thought); ok {
				assert.True(t, m.Settled)
				return ToWire(m.Proposals)
			}
		}
		return nil
	}
	first := thought(e)
	require.Equal(t, 1, advised.keeps)
	assert.Equal(t, first, thought(e))
	assert.Equal(t, 1, advised.keeps, "nothing was worked out again")

	noted := *e.Trail
	noted.ID, noted.Created = "U2", "2026-03-04T12:00:00Z"
	noted.Events = append(slices.Clip(noted.Events), trail.Event{N: len(noted.Events) + 1, At: noted.Created, Kind: trail.Note, Text: "a scratch on the lid"})
	assert.Equal(t, first, thought(state.Reckon{ID: "U2", Turn: 1, Model: e.Model, Trail: &noted}))
	assert.Equal(t, 1, advised.keeps, "whose it is and what was noted is of no matter")

	other := *e.Trail
	other.Terms.WorkingValue += 50
	assert.NotEqual(t, first, thought(state.Reckon{ID: "U1", Turn: 1, Model: e.Model, Trail: &other}))
	assert.Equal(t, 2, advised.keeps, "but the terms are")

	for key, saved := range advised.saved {
		saved[len(saved)-1] ^= 1
		advised.saved[key] = saved
	}
	assert.Equal(t, first, thought(e))
	assert.Equal(t, 3, advised.keeps)
}

// Another program may write advice in another way, and advise otherwise.
func TestAdviceOfAnotherProgramIsNone(t *testing.T) {
	m := browser.NewMemory()
	r := &Runner{Storage: m, Device: &browser.Still{}, Send: func(state.Msg) {}, Go: func(string) {}}
	shelved{r, adviceCloset, "1/"}.keep("a", []byte{7})
	assert.Equal(t, []byte{7}, shelved{r, adviceCloset, "1/"}.load("a"))
	assert.Nil(t, shelved{r, adviceCloset, "2/"}.load("a"))
}
