package state

import (
	"encoding/json"
	"maps"
	"strings"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A Draft is a unit being taken in.
type Draft struct {
	Model   *model.Model // of the chosen drive family; nil until loaded
	ModelID string
	Label   string
	Notes   string
	// Answers are what was said and seen so far: of the questions to the owner, and of the intake
	// test. What is not known has none.
	Answers map[model.TestID]model.OutcomeID
	TermsDraft
	Tried    bool // Start was tapped: show what is missing
	Starting bool
}

// Questions returns the tests that are asked when a unit is taken in, by index in Model.Tests: the intake
// test first, then the other told ones in the model's order.
func (d Draft) Questions() []int {
	if d.Model == nil {
		return nil
	}
	all := []int{d.Model.Intake}
	for i := range d.Model.Tests {
		if d.Model.Tests[i].Told && i != d.Model.Intake {
			all = append(all, i)
		}
	}
	return all
}

// Needs reports whether a question must be answered before the unit is started: an intake test that
// is run. What is told may stay unanswered.
func (d Draft) Needs(test int) bool { return test == d.Model.Intake && !d.Model.Tests[test].Told }

// Outcome returns the answer to the intake test, "" if there is none yet.
func (d Draft) Outcome() model.OutcomeID {
	if d.Model == nil {
		return ""
	}
	return d.Answers[d.Model.Tests[d.Model.Intake].ID]
}

// answered returns d with an answer; the same again takes it away.
func (d Draft) answered(test model.TestID, outcome model.OutcomeID) Draft {
	answers := maps.Clone(d.Answers)
	if answers == nil {
		answers = map[model.TestID]model.OutcomeID{}
	}
	if answers[test] == outcome {
		delete(answers, test)
	} else {
		answers[test] = outcome
	}
	d.Answers = answers
	return d
}

// Ready reports whether the draft may be started.
func (d Draft) Ready(parse NumberParser) bool {
	return d.Model != nil && strings.TrimSpace(d.Label) != "" && (!d.Needs(d.Model.Intake) || d.Outcome() != "") &&
		len(d.Wrong(parse, d.Model)) == 0
}

// Trail makes the trail that the draft begins, without id and times. Ready must hold.
func (d Draft) Trail(parse NumberParser) trail.Trail {
	t := trail.Trail{
		Model: trail.ModelRef{ID: d.Model.ID, Revision: d.Model.Revision, SHA256: d.Model.SHA256},
		Unit:  trail.Unit{Label: strings.TrimSpace(d.Label), Notes: strings.TrimSpace(d.Notes)},
		Terms: d.Value(parse, d.Model),
	}
	for _, i := range d.Questions() {
		test := &d.Model.Tests[i]
		if o, ok := d.Answers[test.ID]; ok {
			t.Events = append(t.Events, trail.Event{N: len(t.Events) + 1, Kind: trail.Result, Test: test.ID, Outcome: o})
		}
	}
	return t
}

// SettingDraft is the setting under which a unit that is being taken in is kept, so that a page
// that is loaded anew has it still.
const SettingDraft = "draft"

// written is how a draft is kept.
type written struct {
	Model    string                           `json:"model"`
	Label    string                           `json:"label,omitempty"`
	Notes    string                           `json:"notes,omitempty"`
	Answers  map[model.TestID]model.OutcomeID `json:"answers,omitempty"`
	Tools    []model.ToolID                   `json:"tools"`
	Currency string                           `json:"currency"`
	Terms    []string                         `json:"terms"`
}

func (d Draft) keep() Effect {
	text, err := json.Marshal(written{d.ModelID, d.Label, d.Notes, d.Answers, d.Tools, d.Currency, d.Terms[:]})
	if err != nil {
		text = nil // texts and maps of texts always write
	}
	return KeepSetting{Key: SettingDraft, Value: string(text)}
}

// forget is that no draft is kept.
var forget = KeepSetting{Key: SettingDraft}

// draftOf reads a kept draft, on top of a fresh one.
func draftOf(text string, fresh Draft) Draft {
	var k written
	if text == "" || json.Unmarshal([]byte(text), &k) != nil || len(k.Terms) != int(TermCount) {
		return fresh // none, or of another version
	}
	d := fresh
	d.ModelID, d.Label, d.Notes, d.Answers, d.Tools, d.Currency = k.Model, k.Label, k.Notes, k.Answers, k.Tools, k.Currency
	copy(d.Terms[:], k.Terms)
	return d
}
