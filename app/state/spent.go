package state

import (
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// Spent returns the minutes and the money that the live events of a trail cost by
// the numbers of its model: each result, each repair, each setup step walked.
func Spent(m *model.Model, t *trail.Trail) (minutes, money float64) {
	live := t.Live()
	at := m.Root
	add := func(min, mon float64) { minutes += min; money += mon }
	for i, e := range t.Events {
		if !live[i] {
			continue
		}
		switch e.Kind {
		case trail.Result:
			if test, ok := m.Test(e.Test); ok {
				add(test.Minutes, test.Money)
			}
		case trail.Repair:
			if r, ok := m.Repair(e.Repair); ok {
				add(r.Minutes, r.Money)
			}
		case trail.Setup:
			to, ok := m.Setup(e.Setup)
			if !ok {
				continue
			}
			leave, enter := m.Path(at, to.Index)
			for _, s := range leave {
				add(m.Setups[s].Leave.Minutes, m.Setups[s].Leave.Money)
			}
			for _, s := range enter {
				add(m.Setups[s].Enter.Minutes, m.Setups[s].Enter.Money)
			}
			at = to.Index
		}
	}
	return minutes, money
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
