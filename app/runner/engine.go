package runner

import (
	"errors"
	"fmt"
	"slices"
	"sort"
	"sync"
	"sync/atomic"
	"time"

	"pitwise/app/state"
	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
	"pitwise/engine/worth"
)

// An Engine works units out, one at a time. A newer Reckon or Rest ends what is under way, of
// which then nothing more is told. Its methods return at once, and what they ask
// for goes on beside the page or in slices between which the page has its turn.
type Engine interface {
	// Reckon works a unit out and tells what it finds: Reckoned, then one Thought with
	// proposals that are settled, then Looked; or a Reckoned that says why not, and no more.
	Reckon(state.Reckon)
	// Grow makes what planning for such a unit will need, and tells nothing. A newer Grow ends
	// it, and it does not begin while a unit is worked out.
	Grow(state.Grow)
	// Hang works out what a unit's leading suspect and proposed step hang on, and tells one Hung.
	Hang(state.Hang)
	// Weigh plays units for what tools are worth, and tells Weighed again and again.
	Weigh(Weigh)
	// Rest ends what is under way.
	Rest()
}

// Weigh is what tools are weighed by.
type Weigh struct {
	Turn  int
	Model *model.Model
	Terms trail.Terms
}

// slice is how many units of work are done on the page's own thread before it has its turn:
// a unit is about a millisecond of native work, several in a browser.
const slice = 4

// A sliced Engine works where it is called, so many units of the planner's work at a time.
type sliced struct {
	tell  func(state.Msg)
	yield func() // lets others have their turn
	work  int    // units of work in a slice, of about a millisecond of native work each

	shipped func() []byte // the file of what planners grew before; nil if there is none
	kept    store         // what planners grew; nil if it is not kept
	advised store         // settled advice; nil if it is not kept
	ahead   time.Duration // without a question until what may be asked next is worked out; never if 0
	loading sync.Mutex

	turn     atomic.Int64 // the latest Reckon or Rest
	growth   atomic.Int64 // the latest Grow
	busy     atomic.Int64 // Reckons under way
	mu       sync.Mutex
	spaces   shelf[*belief.Space]   // by SHA-256 of the model
	planners shelf[plan.Planner]    // by model and terms
	safe     shelf[bool]            // by planner.Key(): what is kept, or was taken up
	settled  shelf[[]plan.Proposal] // by situation
}

// Reckon implements Engine.
func (s *sliced) Reckon(e state.Reckon) {
	turn := s.turn.Add(1)
	s.busy.Add(1)
	go func() {
		stale := func() bool { return s.turn.Load() != turn }
		space, u, proposals := s.reckon(e, stale)
		s.busy.Add(-1)
		if proposals == nil {
			return
		}
		if planner, err := s.grown(space, u, stale); err == nil {
			s.prepare(planner, stale)
			s.foresee(space, u, proposals[0], stale)
		}
	}()
}

// Grow implements Engine.
func (s *sliced) Grow(e state.Grow) {
	turn, growth := s.turn.Load(), s.growth.Add(1)
	stale := func() bool { return s.turn.Load() != turn || s.growth.Load() != growth || s.busy.Load() > 0 }
	go func() {
		time.Sleep(growAfter)
		if stale() {
			return
		}
		space, err := s.space(e.Model)
		if err != nil || stale() {
			return // it is said when there is a unit
		}
		if u, err := bench.Open(space, e.Trail); err == nil {
			if planner, err := s.grown(space, u, stale); err == nil {
				if s.ahead > 0 {
					_, _ = s.proposals(space, u, stale, false)
				}
				s.prepare(planner, stale)
			}
		}
	}()
}

// growAfter is how long nothing else was asked before growing begins: terms are typed letter
// by letter.
const growAfter = 300 * time.Millisecond

// Rest implements Engine.
func (s *sliced) Rest() { s.turn.Add(1) }

// errStale ends what a newer turn has overtaken.
var errStale = errors.New("runner: overtaken")

// reckon works a unit out: the account first, then the settled proposals, then what needs
// the whole trail many times over. It returns what was proposed, nil if it did not come to its end.
func (s *sliced) reckon(e state.Reckon, stale func() bool) (*belief.Space, *bench.Unit, []plan.Proposal) {
	space, err := s.space(e.Model)
	if err != nil {
		s.tell(state.Reckoned{ID: e.ID, Turn: e.Turn, Conflict: conflictOf(err)})
		return nil, nil, nil
	}
	s.yield()
	u, err := bench.Open(space, e.Trail)
	if stale() {
		return nil, nil, nil
	}
	if err != nil {
		s.tell(state.Reckoned{ID: e.ID, Turn: e.Turn, Account: u.Account, Conflict: conflictOf(err)})
		return nil, nil, nil
	}
	s.tell(state.Reckoned{ID: e.ID, Turn: e.Turn, Account: u.Account})
	proposals, err := s.proposals(space, u, stale, true)
	switch {
	case errors.Is(err, errStale):
		return nil, nil, nil
	case err != nil:
		s.tell(state.Reckoned{ID: e.ID, Turn: e.Turn, Account: u.Account, Conflict: conflictOf(err)})
		return nil, nil, nil
	}
	s.tell(state.Thought{ID: e.ID, Turn: e.Turn, Proposals: proposals, Settled: true})
	s.yield()
	if stale() {
		return nil, nil, nil
	}
	// Where it cannot be done, what there is of it is told.
	_, _ = u.LookBack(space, func() error {
		s.yield()
		if stale() {
			return errStale
		}
		return nil
	})
	if stale() {
		return nil, nil, nil
	}
	s.tell(state.Looked{ID: e.ID, Turn: e.Turn, Origin: u.Origin, Doubts: u.Doubts})
	return space, u, proposals
}

// Hang implements Engine. It goes on beside a Reckon, which ends it when it is a newer one.
func (s *sliced) Hang(e state.Hang) {
	turn := s.turn.Load()
	go func() {
		stale := func() bool { s.yield(); return s.turn.Load() != turn }
		lead, step, err := s.hang(e, stale)
		if !stale() {
			if err != nil {
				lead, step = nil, nil
			}
			s.tell(state.Hung{ID: e.ID, Turn: e.Turn, Lead: lead, Step: step})
		}
	}()
}

// What of it is told: the nearest numbers, the likeliest results; and how many steps may take over.
const (
	hangsTold    = 8
	stepsWatched = 12
)

func (s *sliced) hang(e state.Hang, stale func() bool) (*learn.Hangs, *learn.StepHangs, error) {
	space, err := s.space(e.Model)
	if err != nil {
		return nil, nil, err
	}
	u, err := bench.Open(space, e.Trail)
	if err != nil {
		return nil, nil, err
	}
	sensitivity, err := learn.NewSensitivity(e.Model)
	if err != nil {
		return nil, nil, err
	}
	sensitivity.Stop = stale
	lead, err := sensitivity.Of(e.Trail)
	if err != nil {
		return nil, nil, err
	}
	search, _, err := s.advise(space, u, stale)
	if err != nil {
		return nil, nil, err
	}
	step, err := sensitivity.OfStep(e.Trail, search.Stands(stepsWatched))
	lead.Numbers = lead.Numbers[:min(hangsTold, len(lead.Numbers))]
	lead.Turns = lead.Turns[:min(hangsTold, len(lead.Turns))]
	step.Numbers = step.Numbers[:min(hangsTold, len(step.Numbers))]
	return &lead, &step, err
}

// Weigh implements Engine.
func (s *sliced) Weigh(e Weigh) {
	turn := s.turn.Add(1)
	go func() {
		stale := func() bool { s.yield(); return s.turn.Load() != turn }
		if err := s.weigh(e, stale); err != nil && !stale() {
			s.tell(state.Weighed{Turn: e.Turn, Failed: true})
		}
	}()
}

// How many units are played before it is told what they say, and in all.
const (
	weighRound = 20
	weighMost  = 400
)

func (s *sliced) weigh(e Weigh, stale func() bool) error {
	space, err := s.space(e.Model)
	if err != nil {
		return err
	}
	study := worth.NewStudy(space, e.Terms, worth.Tools(e.Model, e.Terms))
	for units := weighRound; units <= weighMost; units += weighRound {
		at := state.Weighed{Turn: e.Turn, All: weighRound * study.Games()}
		tools, _, err := study.Play(worth.Options{Units: weighRound, Seed: 1, Quick: true, Stop: stale, Told: func() {
			at.Done++
			s.tell(at)
		}})
		if err != nil {
			return err
		}
		sort.SliceStable(tools, func(i, j int) bool { return tools[i].Saves > tools[j].Saves })
		at.Units, at.Tools, at.Over = units, tools, units == weighMost
		s.tell(at)
	}
	return nil
}

// grown returns a planner that has worked out what every search is built on, or errStale.
func (s *sliced) grown(space *belief.Space, u *bench.Unit, stale func() bool) (plan.Planner, error) {
	planner, fresh, err := s.planner(space, u)
	if err != nil {
		return nil, err
	}
	if fresh {
		s.takeUp(planner)
	}
	return planner, s.grow(planner, stale)
}

// prepare makes what a search needs besides before it gives a unit up, while nothing else is asked: to
// begin with it then would have the person wait.
func (s *sliced) prepare(planner plan.Planner, stale func() bool) {
	keener := planner.Keener()
	if keener == nil {
		return
	}
	if keener.Save() == nil {
		s.takeUp(keener)
	}
	_ = s.grow(keener, stale) // it is gone on with next time
}

// foresee works out what is proposed after what the person may do next: a step takes minutes, and some answers take seconds.
func (s *sliced) foresee(space *belief.Space, u *bench.Unit, p plan.Proposal, stale func() bool) {
	if s.ahead == 0 {
		return
	}
	time.Sleep(s.ahead)
	for _, e := range nextOf(space.Model(), p) {
		if stale() {
			return
		}
		t := *u.Trail
		e.N, e.At = len(t.Events)+1, t.Created
		t.Events = append(slices.Clip(t.Events), e)
		if next, err := bench.Open(space, &t); err == nil {
			_, _ = s.proposals(space, next, stale, false)
		}
	}
}

// nextOf is what a person may record next who does as proposed, the likeliest first. What will be read off a meter nobody knows.
func nextOf(m *model.Model, p plan.Proposal) []trail.Event {
	switch {
	case p.Step.Kind != plan.DoTest && p.Step.Kind != plan.DoRepair:
		return nil
	case len(p.Way) > 0:
		_, to := m.Move(p.Way[0])
		return []trail.Event{{Kind: trail.Setup, Setup: m.Setups[to].ID}}
	case p.Step.Kind == plan.DoRepair:
		return []trail.Event{{Kind: trail.Repair, Repair: m.Repairs[p.Step.Index].ID}}
	}
	t := &m.Tests[p.Step.Index]
	if t.Reading != nil {
		return nil
	}
	likely := slices.Clone(p.Outcomes)
	sort.SliceStable(likely, func(i, j int) bool { return likely[i].P > likely[j].P })
	var all []trail.Event
	for _, f := range likely {
		all = append(all, trail.Event{Kind: trail.Result, Test: t.ID, Outcome: t.Outcomes[f.Outcome].ID})
	}
	return all
}

// proposals returns what is settled of a unit, or errStale: at once if it was worked out lately, or before and kept. Only what was
// asked is kept.
func (s *sliced) proposals(space *belief.Space, u *bench.Unit, stale func() bool, wanted bool) ([]plan.Proposal, error) {
	key := situation(u.Trail)
	s.mu.Lock()
	known, _ := s.settled.get(key)
	s.mu.Unlock()
	if known == nil && wanted && s.advised != nil {
		known = adviceOf(s.load(s.advised, key))
		wanted = known == nil
	}
	if known == nil {
		search, _, err := s.advise(space, u, stale)
		if err != nil {
			return nil, err
		}
		known = search.Proposals()
	}
	s.mu.Lock()
	s.settled.put(key, known, settledHeld)
	s.mu.Unlock()
	if wanted && s.advised != nil {
		s.advised.keep(key, adviceText(known))
	}
	return known, nil
}

// load loads what was kept. One at a time: what is asked for comes without its key.
func (s *sliced) load(from store, key string) []byte {
	s.loading.Lock()
	defer s.loading.Unlock()
	return from.load(key)
}

// takeUp restores what comes with the page or was kept of a planner. What is damaged or of another edition is as good as none.
func (s *sliced) takeUp(planner plan.Planner) {
	var saved []byte
	if s.shipped != nil {
		saved = shippedLibrary(s.shipped(), planner.Key())
	}
	if saved == nil && s.kept != nil {
		saved = s.load(s.kept, planner.Key())
	}
	if saved != nil && planner.Restore(saved) == nil {
		s.mu.Lock()
		s.safe.put(planner.Key(), true, safeHeld)
		s.mu.Unlock()
	}
}

// keep keeps what a planner grew, once.
func (s *sliced) keep(planner plan.Planner) {
	key, saved := planner.Key(), planner.Save()
	if s.kept == nil || saved == nil {
		return
	}
	s.mu.Lock()
	_, safe := s.safe.get(key)
	s.safe.put(key, true, safeHeld)
	s.mu.Unlock()
	if !safe {
		s.kept.keep(key, saved)
	}
}

// grow grows a planner to its end and keeps what it grew, or returns errStale.
func (s *sliced) grow(planner plan.Planner, stale func() bool) error {
	for !planner.Grow() {
		s.yield()
		if stale() {
			return errStale
		}
	}
	s.keep(planner)
	return nil
}

// advise returns a settled search and its planner, or errStale.
func (s *sliced) advise(space *belief.Space, u *bench.Unit, stale func() bool) (plan.Search, plan.Planner, error) {
	planner, err := s.grown(space, u, stale)
	if err != nil {
		return nil, nil, err
	}
	asked := false
	for search := u.Advise(planner); ; {
		settled := search.Work(s.work)
		if stale() {
			return nil, nil, errStale
		}
		keener := search.Asks()
		if keener != nil && !asked {
			asked = true
			if keener.Save() == nil {
				s.takeUp(keener) // not before, as that takes a while and most units do without
			}
		}
		if settled {
			if keener != nil {
				s.keep(keener)
			}
			return search, planner, nil
		}
		s.yield()
		if stale() {
			return nil, nil, errStale
		}
	}
}

// How much is held of what takes its time to make. A large model's hypotheses take more
// memory than a phone has twice, so one that is large is held alone.
const (
	modelsHeld   = 10
	spacesHeld   = 4
	plannersHeld = 6
	safeHeld     = 2 * plannersHeld
	settledHeld  = 16
	largeSpace   = 100_000 // hypotheses
)

// space returns the hypotheses of a model, made once as long as it is among the last used.
func (s *sliced) space(m *model.Model) (*belief.Space, error) {
	s.mu.Lock()
	space, ok := s.spaces.get(m.SHA256)
	large := false
	if !ok {
		// Let go before the next is made: there may not be room for both.
		s.spaces.keep(func(key string) bool { large = large || s.spaces.held[key].Len() > largeSpace; return true })
		if large {
			s.letGo(func(string) bool { return false })
		}
	}
	s.mu.Unlock()
	if ok {
		return space, nil
	}
	space, err := belief.NewSpace(m)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if space.Len() > largeSpace {
		s.letGo(func(string) bool { return false })
	}
	s.spaces.put(m.SHA256, space, spacesHeld)
	s.letGo(func(key string) bool { _, held := s.spaces.held[key]; return held })
	return space, nil
}

// letGo lets go of the hypotheses of the models that keep does not pick by their SHA-256,
// and of their planners.
func (s *sliced) letGo(keep func(sha256 string) bool) {
	s.spaces.keep(keep)
	s.planners.keep(func(key string) bool { return keep(key[:min(len(key), 64)]) })
}

// planner returns the planner of a model and terms, and whether it is a new one. The last few
// are kept: each learns its model once and then answers every step of every unit under the
// same terms.
func (s *sliced) planner(space *belief.Space, u *bench.Unit) (p plan.Planner, fresh bool, err error) {
	key := fmt.Sprintf("%s %+v", space.Model().SHA256, u.Terms())
	s.mu.Lock()
	defer s.mu.Unlock()
	if p, ok := s.planners.get(key); ok {
		return p, false, nil
	}
	if p, err = u.Planner(space); err != nil {
		return nil, false, err
	}
	s.planners.put(key, p, plannersHeld)
	return p, true, nil
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
