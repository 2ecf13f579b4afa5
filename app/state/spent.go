package state

import (
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// Spent returns the minutes and the money that the live events of a trail cost by
// the numbers of its model: each result, each repair, each setup step walked.
func Spent(m *model.Model, t *trail.Trail) (minutes, money float64) {
	EachCost(m, t, func(_ trail.Event, min, mon float64) { minutes += min; money += mon })
	return minutes, money
}

// EachCost calls f for each result, repair and setup step of the live events, in
// order, with its minutes and money.
func EachCost(m *model.Model, t *trail.Trail, f func(e trail.Event, minutes, money float64)) {
	live := t.Live()
	at := m.Root
	for i, e := range t.Events {
		if !live[i] {
			continue
		}
		switch e.Kind {
		case trail.Result:
			if test, ok := m.Test(e.Test); ok {
				f(e, test.Minutes, test.Money)
			}
		case trail.Repair:
			if r, ok := m.Repair(e.Repair); ok {
				f(e, r.Minutes, r.Money)
			}
		case trail.Setup:
			to, ok := m.Setup(e.Setup)
			if !ok {
				continue
			}
			leave, enter := m.Path(at, to.Index)
			for _, s := range leave {
				f(e, m.Setups[s].Leave.Minutes, m.Setups[s].Leave.Money)
			}
			for _, s := range enter {
				f(e, m.Setups[s].Enter.Minutes, m.Setups[s].Enter.Money)
			}
			at = to.Index
		}
	}
}

// CardOf sums a unit up for the bench list. m may be nil if the model is not here.
func CardOf(m *model.Model, t *trail.Trail) Card {
	c := Card{
		ID: t.ID, Label: t.Unit.Label, Model: t.Model.ID, ModelID: t.Model.ID, Created: t.Created, Changed: t.Created,
		Events: len(t.Events), Status: StatusOpen, Currency: t.Terms.Currency,
	}
	if len(t.Events) > 0 {
		c.Changed = t.Events[len(t.Events)-1].At
	}
	if end, ok := Ended(t); ok {
		c.Status = Status(end.As)
	}
	if m != nil {
		c.Model = m.Title
		c.Minutes, c.Money = Spent(m, t)
	}
	return c
}
