package runner

import (
	"encoding/json"
	"errors"
	"time"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// The list of units shows summaries, which are stored beside the units: with each event,
// in its transaction. Reading the list reads no events. A summary is never truth: one that
// is missing or of another form is made from the unit, and those that are shown are
// compared with their units once, after they are shown.

// summaryVersion is the version of what a summary's text holds and of how it is worked out.
// A change of either is a new number: every summary is then made anew.
const summaryVersion = 4

// pageOfCards is how many cards are read where the page does not say.
const pageOfCards = 50

// A summary is a card as it is stored.
type summary struct {
	Label    string       `json:"label"`
	Steps    int          `json:"steps"`
	Events   int          `json:"events"`
	Model    string       `json:"model"` // title
	ModelID  string       `json:"model_id"`
	SHA256   string       `json:"sha256"` // of the model
	Created  string       `json:"created"`
	Changed  string       `json:"changed"`
	Status   state.Status `json:"status"`
	Minutes  float64      `json:"minutes"`
	Money    float64      `json:"money"`
	Currency string       `json:"currency"`
	Waits    string       `json:"waits,omitempty"`
	Find     string       `json:"find,omitempty"`
	Said     []string     `json:"said,omitempty"`
	Damaged  bool         `json:"damaged,omitempty"`
	Unpriced bool         `json:"unpriced,omitempty"` // the model was not here
}

// recordOf sums a unit up for the storage. m is its model as it is written, in no other
// language, or nil if it is not here.
func recordOf(m *model.Model, t *trail.Trail, damaged bool) browser.CardRecord {
	c := state.CardOf(m, t)
	at := int64(0)
	if changed, err := time.Parse(time.RFC3339, c.Changed); err == nil {
		at = changed.UnixMilli()
	}
	text, _ := json.Marshal(summary{
		Label: c.Label, Model: c.Model, Steps: c.Steps, Events: c.Events, ModelID: c.ModelID, SHA256: t.Model.SHA256, Created: c.Created, Changed: c.Changed, Status: c.Status,
		Minutes: c.Minutes, Money: c.Money, Currency: c.Currency, Waits: c.Waits, Find: c.Find, Said: c.Said, Damaged: damaged, Unpriced: m == nil,
	})
	return browser.CardRecord{ID: t.ID, Version: summaryVersion, At: at, Events: len(t.Events), Text: string(text)}
}

// unreadable is the summary of a unit whose head cannot be read.
func unreadable(id string) browser.CardRecord {
	text, _ := json.Marshal(summary{Label: id, Damaged: true})
	return browser.CardRecord{ID: id, Version: summaryVersion, Text: string(text)}
}

// shownCard is how the page shows a stored summary.
func shownCard(r browser.CardRecord) state.Card {
	var s summary
	if json.Unmarshal([]byte(r.Text), &s) != nil {
		return state.Card{ID: r.ID, Label: r.ID, Damaged: true, Archived: r.Away}
	}
	return state.Card{
		ID: r.ID, Label: s.Label, Model: s.Model, ModelID: s.ModelID, Created: s.Created, Changed: s.Changed, Steps: s.Steps, Events: s.Events,
		Status: s.Status, Minutes: s.Minutes, Money: s.Money, Currency: s.Currency, Waits: s.Waits, Find: s.Find, Said: s.Said, Archived: r.Away, Damaged: s.Damaged,
	}
}

// summed sums a unit up from what is stored of it.
func (r *Runner) summed(id string) (browser.CardRecord, error) {
	u, events, err := r.Storage.Unit(id)
	if err != nil {
		return browser.CardRecord{}, err
	}
	t, aside, err := browser.Assemble(u, events)
	if err != nil {
		return unreadable(id), nil
	}
	m, err := r.modelOf(t.Model)
	if err != nil {
		m = nil // without minutes and money until the model is here
	}
	c := recordOf(m, t, len(aside) > 0)
	c.Events = max(c.Events, len(events)) // as the storage counts them
	return c, nil
}

// readBench reads the list as the page asks for it and answers with it. Afterwards, one
// after another, it makes the summaries that are missing and compares those that are shown.
func (r *Runner) readBench(e state.ReadBench) {
	msg, records, err := r.benchList(e)
	if err != nil {
		return // the list stays as it is
	}
	r.Send(msg)
	if msg.Count.Summing > 0 {
		r.sumUp(e)
		return
	}
	r.compare(e, records)
}

// benchList reads the list.
func (r *Runner) benchList(e state.ReadBench) (msg state.BenchRead, records []browser.CardRecord, err error) {
	most := e.Most
	if most <= 0 {
		most = pageOfCards
	}
	q := browser.CardQuery{Version: summaryVersion, Away: e.Archived, Most: most}
	if e.Search != "" || e.Only != "" {
		q.Most = 0
	}
	records, count, err := r.Storage.Cards(q)
	if err != nil {
		return msg, nil, err
	}
	other, _, err := r.Storage.Cards(browser.CardQuery{Version: summaryVersion, Away: !e.Archived, Most: 2})
	if err != nil {
		return msg, nil, err
	}
	_, err = r.Storage.Card(state.SampleID)
	msg.Count = state.Count{Units: count.Units, Away: count.Away, Summing: max(0, count.Units-count.Here-count.Away), Sample: err == nil}
	for _, half := range [][]browser.CardRecord{records, other} {
		for _, c := range half[:min(2, len(half))] {
			if shown := shownCard(c); c.ID != state.SampleID && state.Later(shown.Changed, msg.Count.Changed) {
				msg.Count.Changed = shown.Changed
			}
		}
	}
	msg.Count.Listed = count.Here
	if e.Archived {
		msg.Count.Listed = count.Away
	}
	if e.Search != "" || e.Only != "" {
		var found []browser.CardRecord
		msg.Count.Listed = 0
		for _, c := range records {
			shown := shownCard(c)
			if (e.Only == "" || e.Only == shown.Status) && shown.Found(e.Search, e.Lang) {
				if msg.Count.Listed++; len(found) < most {
					found = append(found, c)
				}
			}
		}
		records = found
	}
	for _, c := range records {
		msg.Cards = append(msg.Cards, shownCard(c))
	}
	return msg, records, nil
}

// sumUpAtOnce is how many units are summed up before others have their turn.
const sumUpAtOnce = 20

// sumUp makes the summaries that are missing, some at a time, and reads the list anew when
// there are more to show.
func (r *Runner) sumUp(e state.ReadBench) {
	ids, err := r.Storage.Uncarded(summaryVersion)
	if err != nil || len(ids) == 0 {
		return
	}
	// The ids sort by when units were begun: the latest are wanted first.
	var made []browser.CardRecord
	for i := len(ids) - 1; i >= max(0, len(ids)-sumUpAtOnce); i-- {
		c, err := r.summed(ids[i])
		if errors.Is(err, browser.ErrGone) {
			continue
		}
		if err != nil {
			return
		}
		made = append(made, c)
		r.Device.Yield()
	}
	if err := r.Storage.KeepCards(made); err != nil || len(made) == 0 {
		return // they are made again when they are asked for
	}
	r.latest(benchJob, func() { r.readBench(e) })
}

// compare compares shown summaries with their units, each once as long as the page lives
// and the summary stays. A unit at a time: what a person does comes first.
func (r *Runner) compare(e state.ReadBench, records []browser.CardRecord) {
	changed := false
	for i, c := range records {
		r.later(func() {
			if r.compared[c.ID] != c.Text {
				r.compared[c.ID] = c.Text
				changed = r.renewed(c) || changed
			}
			if changed && i == len(records)-1 {
				r.latest(benchJob, func() { r.readBench(e) })
			}
		})
	}
}

// renewed makes a summary anew and reports whether it is another one than before.
func (r *Runner) renewed(c browser.CardRecord) bool {
	now, err := r.summed(c.ID)
	if err != nil || now.Text == c.Text {
		return false
	}
	now.Events = max(now.Events, c.Events) // records that were there may be lost
	r.compared[c.ID] = now.Text
	return r.Storage.KeepCards([]browser.CardRecord{now}) == nil
}

// benchJob names the reading of the list among what is asked for; see latest.
const benchJob = ""
