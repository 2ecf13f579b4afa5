package trail

import (
	"cmp"
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
}

// An EventError says which event could not be worked out.
type EventError struct {
	N   int
	Err error
}

func (e *EventError) Error() string { return fmt.Sprintf("trail: events[%d]: %v", e.N-1, e.Err) }
func (e *EventError) Unwrap() error { return e.Err }

// An act is what one event does to the belief: a result, some changes, or nothing.
type act struct {
	event *Event
	live  bool
	links []belief.Link
	setup int // after it
}

// acts works out what each event does under a model, and what is odd about it.
func acts(m *model.Model, t *Trail) ([]act, []Warning, error) {
	if err := t.Check(m); err != nil {
		return nil, nil, err
	}
	var warnings []Warning
	away := func(e *Event, words model.Words, at, now int) {
		if at != now {
			warnings = append(warnings, Warning{N: e.N, Kind: Away, At: at, Now: now, Text: fmt.Sprintf("%s %q belongs to setup %q, done in %q",
				e.Kind, words.Title, m.Setups[at].ID, m.Setups[now].ID)})
		}
	}
	all := make([]act, 0, len(t.Events))
	live := t.Live()
	setup := m.Root
	for i := range t.Events {
		e := &t.Events[i]
		a := act{event: e, live: live[i]}
		if a.live {
			switch e.Kind {
			case Result:
				test, _ := m.Test(e.Test)
				away(e, test.Words, test.At, setup)
				a.links = []belief.Link{{Test: test.Index, Weights: e.weights(test)}}
			case Repair:
				repair, _ := m.Repair(e.Repair)
				away(e, repair.Words, repair.At, setup)
				a.links = []belief.Link{{Change: repair.Change}}
			case Setup:
				to, _ := m.Setup(e.Setup)
				leave, enter := m.Path(setup, to.Index)
				for _, s := range leave {
					a.links = append(a.links, belief.Link{Change: m.Setups[s].Leave.Change})
				}
				for _, s := range enter {
					a.links = append(a.links, belief.Link{Change: m.Setups[s].Enter.Change})
				}
				setup = to.Index
			}
		}
		a.setup = setup
		all = append(all, a)
	}
	return all, warnings, nil
}

// weights returns the weight of a result on each outcome of its test.
func (e *Event) weights(t *model.Test) []float64 {
	if e.Reading != nil {
		return belief.Weights(t, *e.Reading)
	}
	for o := range t.Outcomes {
		if t.Outcomes[o].ID == e.Outcome {
			return belief.Named(t, o)
		}
	}
	panic("trail: outcome not checked") // Check has seen to it
}

// Replay works a trail out under a model, event by event. Voids act on the whole trail: a
// void event leaves no trace in any line. The error is Defects where the trail does not
// fit the model, or an EventError that wraps belief.ErrImpossible or belief.ErrTooBlurred;
// the account then ends before that event.
func Replay(s *belief.Space, t *Trail) (*Account, error) {
	m := s.Model()
	all, warnings, err := acts(m, t)
	if err != nil {
		return nil, err
	}
	b := s.Prior()
	a := &Account{Final: b, Setup: m.Root, Warnings: warnings}
	a.Lines = append(a.Lines, Line{Kind: Start, Live: true, Odds: OddsOf(b), Dropped: b.Dropped(), Setup: m.Root})
	for _, act := range all {
		line := Line{N: act.event.N, Kind: act.event.Kind, Live: act.live, Setup: act.setup}
		for _, l := range act.links {
			if l.Weights != nil {
				line.Decibans, err = b.Decibans(l.Test, l.Weights)
				if err == nil {
					err = b.Observe(l.Test, l.Weights)
				}
			} else {
				err = b.Apply(l.Change)
			}
			if err != nil {
				return a, &EventError{act.event.N, err}
			}
		}
		if len(act.links) > 0 {
			line.Odds = OddsOf(b)
		} else {
			line.Odds = a.Lines[len(a.Lines)-1].Odds
		}
		line.LogEvidence, line.Dropped = b.LogEvidence(), b.Dropped()
		a.Lines = append(a.Lines, line)
		a.Setup = act.setup
	}
	return a, nil
}

// OddsOf returns the odds that a belief holds.
func OddsOf(b *belief.Belief) Odds {
	return Odds{b.Sound(), b.Modes(nil), b.Faults(nil)}
}

// links joins what all live events do, with the event of each link.
func links(acts []act) (all []belief.Link, events []*Event) {
	for _, a := range acts {
		for _, l := range a.links {
			all = append(all, l)
			events = append(events, a.event)
		}
	}
	return all, events
}

// Origin returns the odds of what was wrong when the unit came in, given everything
// recorded since.
func Origin(s *belief.Space, t *Trail) (Odds, error) {
	all, _, err := acts(s.Model(), t)
	if err != nil {
		return Odds{}, err
	}
	chain, _ := links(all)
	b, err := s.Origin(chain)
	if err != nil {
		return Odds{}, err
	}
	return OddsOf(b), nil
}

// Doubts returns, for each live result in order, the probability of that result given
// all the others. A small one says: look at this one again. The error wraps
// belief.ErrTooLong where there are too many changes to leave out each result in turn; the
// lines and the origin are then still to be had.
func Doubts(s *belief.Space, t *Trail) ([]Doubt, error) {
	all, _, err := acts(s.Model(), t)
	if err != nil {
		return nil, err
	}
	chain, events := links(all)
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
	return doubts, nil
}
