package state

import (
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// CardOf sums a unit up for the bench list. m may be nil if the model is not here.
func CardOf(m *model.Model, t *trail.Trail) Card {
	c := Card{
		ID: t.ID, Label: t.Unit.Label, Model: t.Model.ID, ModelID: t.Model.ID, Created: t.Created, Changed: t.Created,
		Events: len(t.Events), Status: StatusOpen, Currency: t.Terms.Currency,
	}
	if len(t.Events) > 0 {
		c.Changed = t.Events[len(t.Events)-1].At
	}
	u := bench.Unit{Model: m, Trail: t}
	if end, ok := u.Ended(); ok {
		c.Status = Status(end.As)
	}
	c.Minutes, c.Money = u.Spent()
	if m != nil {
		c.Model = m.Title
	}
	return c
}
