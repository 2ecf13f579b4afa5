package bench

import (
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// DefaultTerms are those of somebody who mends for the love of it, an hour at 15, with every tool of the
// model at hand; they only have to be sane until a person says what fits. Of simulated units of the
// shipped families the planner then writes off 20, 24 and 37 % (top-loader, tray, slot-in); at 0.4 a minute and
// 60 working it was 59, 72 and 90 %, and the first thing that a stranger learned was that nothing pays.
// The currency is the model's, or the euro.
func DefaultTerms(m *model.Model) trail.Terms {
	t := trail.Terms{MinuteValue: 0.25, Currency: "EUR", WorkingValue: 80, AsIsValue: 10, ComebackCost: 25}
	if m == nil {
		return t
	}
	if m.Currency != "" {
		t.Currency = m.Currency
	}
	for _, tool := range m.Tools {
		t.Tools = append(t.Tools, tool.ID)
	}
	return t
}
