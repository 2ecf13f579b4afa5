package state

import (
	"strings"

	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A Draft is a unit being taken in. Amounts stay as they are typed until the unit
// is started, so that a half-typed number is never lost or changed.
type Draft struct {
	Model    *model.Model // of the chosen drive family; nil until loaded
	ModelID  string
	Label    string
	Notes    string
	Outcome  model.OutcomeID // of the intake test; "" if not seen yet
	Tools    []model.ToolID  // at hand, in model order
	Currency string
	Terms    [TermCount]string // as typed
	Tried    bool              // Start was tapped: show what is missing
	Starting bool
}

// A Term is one of the amounts in a unit's terms.
type Term int

const (
	TermMinute Term = iota
	TermWorking
	TermAsIs
	TermComeback
	TermCount
)

// NumberParser reads a number in the person's own decimal form.
type NumberParser func(string) (float64, error)

// amounts returns the amounts of terms by Term.
func amounts(t trail.Terms) [TermCount]float64 {
	return [TermCount]float64{TermMinute: t.MinuteValue, TermWorking: t.WorkingValue, TermAsIs: t.AsIsValue, TermComeback: t.ComebackCost}
}

// defaults are the amounts to begin with, for a currency with a unit of about a euro.
var defaults = amounts(bench.DefaultTerms(nil))

// Ready reports whether the draft may be started.
func (d Draft) Ready(parse NumberParser) bool {
	if d.Model == nil || strings.TrimSpace(d.Label) == "" || d.Outcome == "" {
		return false
	}
	for _, t := range d.Terms {
		if x, err := parse(t); err != nil || x < 0 {
			return false
		}
	}
	return true
}

// Trail makes the trail that the draft begins, without id, times and events.
// Ready must hold.
func (d Draft) Trail(parse NumberParser) trail.Trail {
	amount := func(t Term) float64 { x, _ := parse(d.Terms[t]); return x }
	return trail.Trail{
		Model: trail.ModelRef{ID: d.Model.ID, Revision: d.Model.Revision, SHA256: d.Model.SHA256},
		Unit:  trail.Unit{Label: strings.TrimSpace(d.Label), Notes: strings.TrimSpace(d.Notes)},
		Terms: trail.Terms{
			MinuteValue:  amount(TermMinute),
			Currency:     d.Currency,
			Tools:        d.Tools,
			WorkingValue: amount(TermWorking),
			AsIsValue:    amount(TermAsIs),
			ComebackCost: amount(TermComeback),
		},
	}
}

// HasTool reports whether a tool is at hand.
func (d Draft) HasTool(id model.ToolID) bool {
	for _, t := range d.Tools {
		if t == id {
			return true
		}
	}
	return false
}

// withTool returns d with a tool at hand or not, in model order.
func (d Draft) withTool(id model.ToolID, on bool) Draft {
	if d.Model == nil {
		return d
	}
	var tools []model.ToolID
	for _, t := range d.Model.Tools {
		if t.ID == id && on || t.ID != id && d.HasTool(t.ID) {
			tools = append(tools, t.ID)
		}
	}
	d.Tools = tools
	return d
}
