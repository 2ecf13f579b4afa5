package runner

import (
	"errors"
	"fmt"

	"pitwise/app/state"
	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// slice is how many units of work the planner does before the page may draw and
// take taps. A unit is about a millisecond of native work, several in a browser.
const slice = 4

// reckon works a unit out: the account first, then proposals as they settle, then
// what needs the whole trail many times over. It ends early when a newer turn began.
func (r *Runner) reckon(e state.Reckon, turn int64) {
	stale := func() bool { return r.turn.Load() != turn }
	space, err := r.space(e.Model)
	if err != nil {
		r.Send(state.Reckoned{ID: e.ID, Turn: e.Turn, Conflict: conflictOf(err)})
		return
	}
	u, err := bench.Open(space, e.Trail)
	if stale() {
		return
	}
	if err != nil {
		r.Send(state.Reckoned{ID: e.ID, Turn: e.Turn, Account: u.Account, Conflict: conflictOf(err)})
		return
	}
	r.Send(state.Reckoned{ID: e.ID, Turn: e.Turn, Account: u.Account})

	planner, err := r.planner(space, u)
	if err != nil {
		r.Send(state.Reckoned{ID: e.ID, Turn: e.Turn, Account: u.Account, Conflict: conflictOf(err)})
		return
	}
	search := u.Advise(planner)
	var told plan.Step
	for settled, first := false, true; !settled; first = false {
		settled = search.Work(slice)
		if stale() {
			return
		}
		// Tell what there is at once, then whenever the advice changes, then the end.
		if p := search.Proposals(); settled || len(p) > 0 && (first || p[0].Step != told) {
			if len(p) > 0 {
				told = p[0].Step
			}
			r.Send(state.Thought{ID: e.ID, Turn: e.Turn, Proposals: p, Settled: settled})
		}
		r.Device.Yield()
	}
	if stale() {
		return
	}
	// Where it cannot be done, what there is of it is told.
	_, _ = u.LookBack(space, func() error {
		r.Device.Yield()
		if stale() {
			return errStale
		}
		return nil
	})
	if !stale() {
		r.Send(state.Looked{ID: e.ID, Turn: e.Turn, Origin: u.Origin, Doubts: u.Doubts})
	}
}

// errStale ends a look back that a newer turn has overtaken.
var errStale = errors.New("runner: overtaken")

// How much is held of what takes its time to make. A large model's hypotheses take more
// memory than a phone has twice, so one that is large is held alone.
const (
	modelsHeld   = 10
	spacesHeld   = 4
	plannersHeld = 4
	largeSpace   = 100_000 // hypotheses
)

// space returns the hypotheses of a model, made once as long as it is among the last used.
func (r *Runner) space(m *model.Model) (*belief.Space, error) {
	r.mu.Lock()
	s, ok := r.spaces.get(m.SHA256)
	large := false
	if !ok {
		// Let go before the next is made: there may not be room for both.
		r.spaces.keep(func(key string) bool { large = large || r.spaces.held[key].Len() > largeSpace; return true })
		if large {
			r.letGo(func(string) bool { return false })
		}
	}
	r.mu.Unlock()
	if ok {
		return s, nil
	}
	s, err := belief.NewSpace(m)
	if err != nil {
		return nil, err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if s.Len() > largeSpace {
		r.letGo(func(string) bool { return false })
	}
	r.spaces.put(m.SHA256, s, spacesHeld)
	r.letGo(func(key string) bool { _, held := r.spaces.held[key]; return held })
	return s, nil
}

// letGo lets go of the hypotheses of the models that keep does not pick by their SHA-256,
// and of their planners.
func (r *Runner) letGo(keep func(sha256 string) bool) {
	r.spaces.keep(keep)
	r.planners.keep(func(key string) bool { return keep(key[:min(len(key), 64)]) })
}

// planner returns the planner of a model and terms. The last few are kept: each learns
// its model once and then answers every step of a unit.
func (r *Runner) planner(space *belief.Space, u *bench.Unit) (plan.Planner, error) {
	key := fmt.Sprintf("%s %+v", space.Model().SHA256, u.Terms())
	r.mu.Lock()
	defer r.mu.Unlock()
	if p, ok := r.planners.get(key); ok {
		return p, nil
	}
	p, err := u.Planner(space)
	if err != nil {
		return nil, err
	}
	r.planners.put(key, p, plannersHeld)
	return p, nil
}

// conflictOf names why the odds cannot be worked out.
func conflictOf(err error) state.Conflict {
	c := state.Conflict{Kind: state.ConflictOther, Detail: err.Error()}
	var at *trail.EventError
	if errors.As(err, &at) {
		c.N = at.N
	}
	switch {
	case errors.Is(err, belief.ErrImpossible):
		c.Kind = state.ConflictContradiction
	case errors.Is(err, belief.ErrTooLarge):
		c.Kind = state.ConflictTooLarge
	case errors.Is(err, belief.ErrTooBlurred):
		c.Kind = state.ConflictBlurred
	}
	return c
}
