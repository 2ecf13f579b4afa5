package state

import (
	"encoding/json"
	"slices"

	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A TermsDraft is a person's terms while they are typed, of a unit that is taken in or of one under
// way. Amounts stay as they are typed until they count, so that a half-typed number is
// never lost or changed.
type TermsDraft struct {
	Tools    []model.ToolID // at hand, in model order
	Currency string
	Terms    [TermCount]string // as typed
}

// A Term is one of the amounts in a unit's terms.
type Term int

const (
	TermMinute Term = iota
	TermWorking
	TermAsIs
	TermComeback
	TermExchange // how much of the currency one unit of the model's currency is worth; asked only where they differ
	TermCount
)

// NumberParser reads a number in the person's own decimal form.
type NumberParser func(string) (float64, error)

// Asks reports whether a term is asked for a model: an exchange only where the model's money is in
// another currency.
func (d TermsDraft) Asks(t Term, m *model.Model) bool {
	return t >= 0 && t < TermExchange || t == TermExchange && m != nil && m.Currency != "" && m.Currency != d.Currency
}

// Wrong returns the terms that do not read as amounts, in order.
func (d TermsDraft) Wrong(parse NumberParser, m *model.Model) []Term {
	var all []Term
	for t := range TermCount {
		if !d.Asks(t, m) {
			continue
		}
		if x, err := parse(d.Terms[t]); err != nil || x < 0 || t == TermExchange && x == 0 {
			all = append(all, t)
		}
	}
	return all
}

// Value returns the terms. None may be wrong.
func (d TermsDraft) Value(parse NumberParser, m *model.Model) trail.Terms {
	amount := func(t Term) float64 {
		if !d.Asks(t, m) {
			return 0
		}
		x, _ := parse(d.Terms[t])
		return x
	}
	var tools []model.ToolID // none is nil
	for _, t := range m.Tools {
		if _, asked := m.AskedFor(t.ID); asked || d.HasTool(t.ID) {
			tools = append(tools, t.ID)
		}
	}
	return trail.Terms{
		MinuteValue:  amount(TermMinute),
		Currency:     d.Currency,
		Tools:        tools,
		WorkingValue: amount(TermWorking),
		AsIsValue:    amount(TermAsIs),
		ComebackCost: amount(TermComeback),
		Exchange:     amount(TermExchange),
	}
}

// HasTool reports whether a tool is at hand.
func (d TermsDraft) HasTool(id model.ToolID) bool { return slices.Contains(d.Tools, id) }

// withTool returns d with a tool at hand or not, in model order.
func (d TermsDraft) withTool(m *model.Model, id model.ToolID, on bool) TermsDraft {
	tools := []model.ToolID{}
	for _, t := range m.Tools {
		if t.ID == id && on || t.ID != id && d.HasTool(t.ID) {
			tools = append(tools, t.ID)
		}
	}
	d.Tools = tools
	return d
}

// amounts are those of terms, by Term.
func amounts(t trail.Terms) [TermCount]float64 {
	return [TermCount]float64{TermMinute: t.MinuteValue, TermWorking: t.WorkingValue, TermAsIs: t.AsIsValue, TermComeback: t.ComebackCost, TermExchange: t.Exchange}
}

// typedTerms is what terms look like when they are typed.
func typedTerms(w *words.Words, t trail.Terms) TermsDraft {
	d := TermsDraft{Tools: t.Tools, Currency: t.Currency}
	for i, x := range amounts(t) {
		d.Terms[i] = w.Typed(x)
	}
	if t.Exchange == 0 {
		d.Terms[TermExchange] = ""
	}
	return d
}

// defaultTerms are what is offered to begin with in a currency, without tools.
func defaultTerms(code string) trail.Terms {
	t := bench.DefaultTerms(nil)
	scale := words.CurrencyScale(code)
	t.Currency = code
	t.MinuteValue *= scale
	t.WorkingValue *= scale
	t.AsIsValue *= scale
	t.ComebackCost *= scale
	return t
}

// in returns d in another currency. The amounts keep their meaning only roughly: what was never
// touched gets the default of the new currency, what was typed stays.
func (d TermsDraft) in(w *words.Words, code string, m *model.Model) TermsDraft {
	was, now := amounts(defaultTerms(d.Currency)), amounts(defaultTerms(code))
	for t := range TermExchange {
		if d.Terms[t] == w.Typed(was[t]) {
			d.Terms[t] = w.Typed(now[t])
		}
	}
	d.Currency = code
	d.Terms[TermExchange] = ""
	return d.exchanged(w, m)
}

// exchanged returns d with an exchange to begin with, where one is asked for and none is typed.
func (d TermsDraft) exchanged(w *words.Words, m *model.Model) TermsDraft {
	if d.Asks(TermExchange, m) && d.Terms[TermExchange] == "" {
		d.Terms[TermExchange] = w.Typed(words.CurrencyScale(d.Currency) / words.CurrencyScale(m.Currency))
	}
	return d
}

// SettingTerms is the setting under which a person's terms and tools are kept for the next unit.
const SettingTerms = "terms"

// kept is how terms are kept: the terms object of a trail, so that it is read as one.
type kept struct {
	Minute   float64        `json:"minute_value"`
	Currency string         `json:"currency"`
	Tools    []model.ToolID `json:"tools"`
	Working  float64        `json:"working_value"`
	AsIs     float64        `json:"as_is_value"`
	Comeback float64        `json:"comeback_cost"`
	Exchange float64        `json:"exchange,omitempty"` // of shippedMoney
}

// shippedMoney is the currency of the shipped families: the person's last exchange of it holds for the next unit.
var shippedMoney = bench.DefaultTerms(nil).Currency

// exchanged is TermsDraft.exchanged with the person's own exchange, if there is one.
func (s State) exchanged(d TermsDraft, m *model.Model) TermsDraft {
	w, r := words.In(s.Lang), s.Remembered
	if r.Exchange > 0 && r.Currency == d.Currency && m != nil && m.Currency == shippedMoney && d.Terms[TermExchange] == "" && d.Asks(TermExchange, m) {
		d.Terms[TermExchange] = w.Typed(r.Exchange)
	}
	return d.exchanged(w, m)
}

// remember keeps terms for the next unit. Tools of other models that were at hand before are at
// hand still.
func (s State) remember(t trail.Terms, m *model.Model) (State, Effect) {
	tools := slices.Clone(t.Tools)
	for _, id := range s.Remembered.Tools {
		if _, of := m.Tool(id); !of && !slices.Contains(tools, id) {
			tools = append(tools, id)
		}
	}
	t.Tools = tools
	if m.Currency != shippedMoney {
		t.Exchange = 0
		if t.Currency == s.Remembered.Currency {
			t.Exchange = s.Remembered.Exchange
		}
	}
	s.Remembered = t
	text, err := json.Marshal(kept{t.MinuteValue, t.Currency, append([]model.ToolID{}, t.Tools...), t.WorkingValue, t.AsIsValue, t.ComebackCost, t.Exchange})
	if err != nil {
		text = nil // no number that was typed is one that JSON does not have
	}
	return s, KeepSetting{Key: SettingTerms, Value: string(text)}
}

// remembered reads kept terms; the zero Terms if there are none that read.
func remembered(text string) trail.Terms {
	if text == "" {
		return trail.Terms{}
	}
	t, err := trail.LoadTerms([]byte(text))
	if err != nil {
		return trail.Terms{} // of another version: the person types them once more
	}
	return t
}

// freshTerms are the terms that a new unit begins with: the person's own last ones, or else the
// default in the language's currency.
func (s State) freshTerms() TermsDraft {
	w := words.In(s.Lang)
	if s.Remembered.Currency != "" {
		d := typedTerms(w, s.Remembered)
		d.Tools, d.Terms[TermExchange] = nil, ""
		return d
	}
	d := typedTerms(w, defaultTerms(w.Currency()))
	d.Tools = nil
	return d
}

// ownTools are those tools of a model that the person had at hand the last time.
func (s State) ownTools(m *model.Model) []model.ToolID { return toolsOf(m, s.Remembered.Tools) }

// toolsOf are those of some tools that a model has, in its order.
func toolsOf(m *model.Model, all []model.ToolID) []model.ToolID {
	tools := []model.ToolID{}
	for _, t := range m.Tools {
		if slices.Contains(all, t.ID) {
			tools = append(tools, t.ID)
		}
	}
	return tools
}
