package runner

import (
	"sort"

	"pitwise/app/browser"
	"pitwise/app/state"
)

// benched is the card of a unit as it was when it had so many events.
type benched struct {
	events int
	sum    string // of the last event's record
	card   state.Card
}

// cards sums up every unit, the one with the latest event first. A unit that did
// not change since it was last summed up is not read again.
func (r *Runner) cards() []state.Card {
	units, err := r.Storage.Units()
	if err != nil {
		return nil
	}
	cards := make([]state.Card, 0, len(units))
	for _, u := range units {
		cards = append(cards, r.card(u))
	}
	sort.SliceStable(cards, func(i, j int) bool { return cards[i].Changed > cards[j].Changed })
	return cards
}

func (r *Runner) card(u browser.UnitRecord) state.Card {
	_, events, err := r.Storage.Unit(u.ID)
	if err != nil {
		return state.Card{ID: u.ID, Label: u.ID, Damaged: true, Archived: u.Archived}
	}
	last := u.Sum
	if len(events) > 0 {
		last = events[len(events)-1].Sum
	}
	if b, ok := r.bench[u.ID]; ok && b.events == len(events) && b.sum == last {
		b.card.Archived = u.Archived
		return b.card
	}
	t, aside, err := browser.Assemble(u, events)
	if err != nil {
		return state.Card{ID: u.ID, Label: u.ID, Damaged: true, Archived: u.Archived}
	}
	m, _ := r.modelOf(t.Model) // nil: the card goes without minutes and money
	c := state.CardOf(m, t)
	c.Damaged = len(aside) > 0
	r.bench[u.ID] = benched{events: len(events), sum: last, card: c}
	c.Archived = u.Archived
	return c
}
