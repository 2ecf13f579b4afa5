package trail

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"pitwise/engine/belief"
	"pitwise/engine/model"
)

// Odds are probabilities of what is wrong.
type Odds struct {
	Sound  float64   // of nothing
	Modes  []float64 // of each mode, by mode index
	Faults []float64 // of each number of faults, 0 to MostFaults
}

// Ranked returns the mode indices by falling probability, ties in model order.
func (o Odds) Ranked() []int {
	order := make([]int, len(o.Modes))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(o.Modes[b], o.Modes[a]) })
	return order
}

// A Line is how things stand just after an event.
type Line struct {
	N    int
	Kind Kind
	Live bool // not void; of the whole trail
	Odds
	LogEvidence float64 // natural log
	Dropped     float64
	Decibans    []float64 // by mode index, NaN where left out; nil unless this is a live result
	Setup       int       // index in Model.Setups
}

// A Warning is something that was recorded as it is, and is worth a look.
type Warning struct {
	N    int // the event; 0 for the whole trail
	Kind WarningKind
	At   int    // of Away: the setup it belongs to, an index in Model.Setups
	Now  int    // of Away: the setup it was done in
	Text string // in English
}

// WarningKind is what a warning says, for programs that have words of their own.
type WarningKind string

const (
	// Other has its meaning in its text alone.
	Other WarningKind = ""
	// Away is a result or a repair that was done in another setup than its own.
	Away WarningKind = "away"
	// Unasked is a repair that was done without a result that it asks for.
	Unasked WarningKind = "unasked"
)

// A Doubt is the probability of a live result given all the others.
type Doubt struct {
	N int
	P float64
}

// An Account is a trail worked out: a line for each event, after one for the start.
type Account struct {
	Lines    []Line
	Final    *belief.Belief
	Setup    int // index in Model.Setups
	Warnings []Warning

	// Tries are the failures that repairs remember, as in plan.Situation: by repair and by its
	// fixes, nil for repairs without a memory; nil if no repair of the model has one.
	Tries [][]int
	Seen  []int // the last live outcome of each test, by test index; -1 for none
}

// An EventError says which event could not be worked out.
type EventError struct {
	N   int
	Err error
}

func (e *EventError) Error() string { return fmt.Sprintf("trail: events[%d]: %v", e.N-1, e.Err) }
func (e *EventError) Unwrap() error { return e.Err }

// Replay works a trail out under a model, event by event. Voids act on the whole trail: a
// void event leaves no trace in any line. Told results act first: a line is the last one of
// the trail up to its event with the told results moved to the front. The error is Defects
// where the trail does not fit the model, or an EventError that wraps belief.ErrImpossible,
// belief.ErrTooBlurred or ErrToldTooLate; the account then ends before that event.
//
// The time is linear in the events, but that a told result after a result or a change of
// another kind takes that of following all of those anew.
func Replay(s *belief.Space, t *Trail) (*Account, error) {
	m := s.Model()
	c, err := courseOf(m, t)
	if err != nil {
		return nil, err
	}
	r := replayer{space: s, now: s.Prior()}
	a := &Account{Setup: m.Root, Warnings: c.warnings, Tries: c.tries, Seen: c.seen}
	a.Lines = append(a.Lines, Line{Kind: Start, Live: true, Odds: OddsOf(r.now), Dropped: r.now.Dropped(), Setup: m.Root})
	for _, act := range c.acts {
		line := Line{N: act.event.N, Kind: act.event.Kind, Live: act.live, Setup: act.setup}
		if line.Decibans, err = r.act(act); err != nil {
			a.Final = r.now
			return a, &EventError{act.event.N, err}
		}
		if len(act.links) > 0 {
			line.Odds = OddsOf(r.now)
		} else {
			line.Odds = a.Lines[len(a.Lines)-1].Odds
		}
		line.LogEvidence, line.Dropped = r.now.LogEvidence(), r.now.Dropped()
		a.Lines = append(a.Lines, line)
		a.Setup = act.setup
	}
	a.Final = r.now
	return a, nil
}

// ErrToldTooLate says that told results come after so much else, so often, that following
// all of it anew each time is more than a person would wait for.
var ErrToldTooLate = errors.New("trail: too many told results after too much else")

// mostAnew is the most work of following anew, in masses that are multiplied: some seconds. A
// link takes at least that of linkWork masses.
const (
	mostAnew = 1e9
	linkWork = 128
)

// A replayer follows a trail along its events.
type replayer struct {
	space *belief.Space
	now   *belief.Belief
	front *belief.Belief // after the told results alone; nil while there is nothing else
	rest  []belief.Link  // what is not told, if the model has anything that is
	anew  float64        // work of following anew so far
}

// act takes in what an event does, and returns the decibans of a result. At an error the
// belief is as it was but for what an event of several steps has done already.
func (r *replayer) act(a act) (decibans []float64, err error) {
	if a.told && r.front != nil {
		return r.late(a.links[0])
	}
	for _, l := range a.links {
		if !a.told {
			if r.front == nil && r.tells() {
				r.front = r.now.Clone()
			}
			if r.front != nil {
				r.rest = append(r.rest, l)
			}
		}
		if l.Weights != nil {
			if decibans, err = r.now.Decibans(l.Test, l.Weights); err != nil {
				return nil, err
			}
		}
		if err = follow(r.now, l); err != nil {
			return nil, err
		}
	}
	return decibans, nil
}

// tells reports whether the model has told tests.
func (r *replayer) tells() bool {
	tests := r.space.Model().Tests
	return slices.ContainsFunc(tests, func(t model.Test) bool { return t.Told })
}

// late takes in a told result after what is not told: it acts before all of that.
func (r *replayer) late(l belief.Link) ([]float64, error) {
	if r.anew += float64(float64(len(r.rest)) * float64(r.space.Len()+linkWork)); r.anew > mostAnew {
		return nil, ErrToldTooLate
	}
	front := r.front.Clone()
	if err := follow(front, l); err != nil {
		return nil, err
	}
	now := front.Clone()
	for _, each := range r.rest {
		if err := follow(now, each); err != nil {
			return nil, err
		}
	}
	decibans := r.now.DecibansTo(now)
	r.front, r.now = front, now
	return decibans, nil
}

// follow takes a link into a belief.
func follow(b *belief.Belief, l belief.Link) error {
	if l.Weights != nil {
		return b.Observe(l.Test, l.Weights)
	}
	return b.Apply(l.Change)
}

// OddsOf returns the odds that a belief holds.
func OddsOf(b *belief.Belief) Odds {
	return Odds{b.Sound(), b.Modes(nil), b.Faults(nil)}
}

// Origin returns the odds of what was wrong when the unit came in, given everything
// recorded since.
func Origin(s *belief.Space, t *Trail) (Odds, error) {
	c, err := courseOf(s.Model(), t)
	if err != nil {
		return Odds{}, err
	}
	chain, _ := c.links()
	b, err := s.Origin(chain)
	if err != nil {
		return Odds{}, err
	}
	return OddsOf(b), nil
}

// Doubts returns, for each live result in the order of the trail, the probability of that
// result given all the others. A small one says: look at this one again. The error wraps
// belief.ErrTooLong where there are too many changes to leave out each result in turn; the
// lines and the origin are then still to be had.
func Doubts(s *belief.Space, t *Trail) ([]Doubt, error) {
	c, err := courseOf(s.Model(), t)
	if err != nil {
		return nil, err
	}
	chain, events := c.links()
	p, err := s.LeaveOneOut(chain)
	if err != nil {
		return nil, err
	}
	var doubts []Doubt
	for i, e := range events {
		if chain[i].Weights != nil {
			doubts = append(doubts, Doubt{e.N, p[i]})
		}
	}
	slices.SortStableFunc(doubts, func(a, b Doubt) int { return a.N - b.N })
	return doubts, nil
}
