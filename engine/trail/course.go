package trail

import (
	"fmt"
	"slices"

	"pitwise/engine/belief"
	"pitwise/engine/model"
)

// An act is what one event does to the belief: a result, some changes, or nothing.
type act struct {
	event *Event
	live  bool
	told  bool // a result that acts before all that is not told
	links []belief.Link
	setup int // after it
}

// A course is what all events of a trail do under a model.
type course struct {
	acts     []act
	warnings []Warning
	tries    [][]int // after the last event
	seen     []int
}

// courseOf works out what each event does under a model, and what is odd about it.
func courseOf(m *model.Model, t *Trail) (*course, error) {
	if err := t.Check(m); err != nil {
		return nil, err
	}
	c := &course{acts: make([]act, 0, len(t.Events)), tries: m.Untried(), seen: make([]int, len(m.Tests))}
	for i := range c.seen {
		c.seen[i] = -1
	}
	away := func(e *Event, words model.Words, at, now int) {
		if at != now {
			c.warnings = append(c.warnings, Warning{N: e.N, Kind: Away, At: at, Now: now, Text: fmt.Sprintf("%s %q belongs to setup %q, done in %q",
				e.Kind, words.Title, m.Setups[at].ID, m.Setups[now].ID)})
		}
	}
	live := t.Live()
	setup := m.Root
	for i := range t.Events {
		e := &t.Events[i]
		a := act{event: e, live: live[i]}
		if a.live {
			switch e.Kind {
			case Result:
				test, _ := m.Test(e.Test)
				a.told = test.Told
				if !test.Told {
					away(e, test.Words, test.At, setup)
				}
				weights := e.weights(test)
				c.seen[test.Index] = Heaviest(weights)
				a.links = []belief.Link{{Test: test.Index, Weights: weights}}
			case Repair:
				repair, _ := m.Repair(e.Repair)
				away(e, repair.Words, repair.At, setup)
				if !repair.OnlyAfter.Met(c.seen) {
					c.warnings = append(c.warnings, Warning{N: e.N, Kind: Unasked, Text: fmt.Sprintf("%s %q was done without a result that it asks for", e.Kind, repair.Title)})
				}
				change := repair.Change
				if c.tries != nil {
					change = repair.After(c.tries[repair.Index])
				}
				a.links = []belief.Link{{Change: change}}
				c.tries = m.Tried(c.tries, repair.Index)
			case Setup:
				to, _ := m.Setup(e.Setup)
				for _, mv := range m.Way(setup, to.Index) {
					work, _ := m.Move(mv)
					a.links = append(a.links, belief.Link{Change: work.Change})
					c.tries = m.Disturbed(c.tries, work.Change)
				}
				setup = to.Index
			}
		}
		a.setup = setup
		c.acts = append(c.acts, a)
	}
	return c, nil
}

// equalWeights is how far two weights may be apart, as a part of the larger, and be equal: a
// reading on the border of two outcomes is half of each, but for tails far away.
const equalWeights = 1e-9

// Heaviest returns the outcome with the largest weight, the first listed of equal ones.
func Heaviest(weights []float64) int {
	most := slices.Max(weights)
	return slices.IndexFunc(weights, func(w float64) bool { return w >= most*(1-equalWeights) })
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

// links joins what all live events do, told results first, with the event of each link.
func (c *course) links() (all []belief.Link, events []*Event) {
	for _, told := range []bool{true, false} {
		for _, a := range c.acts {
			if a.told != told {
				continue
			}
			for _, l := range a.links {
				all = append(all, l)
				events = append(events, a.event)
			}
		}
	}
	return all, events
}
