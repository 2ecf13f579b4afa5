package state

import (
	"slices"
	"strings"

	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// CardOf sums a unit up for the bench list. m may be nil if the model is not here.
func CardOf(m *model.Model, t *trail.Trail) Card {
	u := bench.Unit{Model: m, Trail: t}
	c := Card{
		ID: t.ID, Label: t.Unit.Label, Model: t.Model.ID, ModelID: t.Model.ID, Created: t.Created, Changed: t.Created,
		Steps: u.Steps(), Events: len(t.Events), Status: StatusOpen, Currency: u.Terms().Currency,
	}
	if len(t.Events) > 0 {
		c.Changed = t.Events[len(t.Events)-1].At
	}
	if end, ok := u.Ended(); ok {
		c.Status = Status(end.As)
	} else if e, waits := u.Waiting(); waits {
		c.Status, c.Waits = StatusWaiting, e.For
	}
	c.Minutes, c.Money = u.Spent()
	if m != nil {
		c.Model = m.Title
	}
	c.Find, c.Said = findable(&u)
	return c
}

// findMost bounds the words of a card, in bytes: a bench has thousands of them.
const findMost = 2000

// findable is what a unit is found by beside its label: its notes and what it ever waited for; what was
// repaired and what was found, as the model is written, and by the keys of catalog.Say for other languages.
func findable(u *bench.Unit) (text string, said []string) {
	all := []string{u.Trail.Unit.Notes}
	say := func(key, title string) {
		if !slices.Contains(said, key) {
			all, said = append(all, title), append(said, key)
		}
	}
	repair := func(r *model.Repair) { say("repairs/"+string(r.ID), words.Title(r.Words, r.ID)) }
	live := u.Trail.Live()
	for i, e := range u.Trail.Events {
		if !live[i] {
			continue
		}
		switch e.Kind {
		case trail.Note:
			all = append(all, e.Text)
		case trail.Wait:
			all = append(all, e.For)
			if r := partOf(u.Model, e.For); r >= 0 {
				repair(&u.Model.Repairs[r])
			}
		case trail.Repair:
			if u.Model == nil {
				all = append(all, string(e.Repair))
			} else if r, ok := u.Model.Repair(e.Repair); ok {
				repair(r)
			}
		case trail.End:
			for _, id := range e.Causes {
				say("modes/"+string(id), words.FaultOf(u.Model, id))
				component, _, _ := strings.Cut(string(id), ".")
				said = append(said, "components/"+component)
			}
		}
	}
	text = strings.TrimSpace(strings.Join(all, "\n"))
	if len(text) > findMost { // whole words
		text = text[:max(0, strings.LastIndexAny(text[:findMost], " \n"))]
	}
	return text, said
}

// Found reports whether a search in a language finds the card, by any word of it.
func (c Card) Found(search, lang string) bool {
	if search == "" {
		return true
	}
	w := words.In(lang)
	status := w.Ending(trail.Ending(c.Status))
	switch c.Status {
	case StatusOpen:
		status = w.Say(words.StatusOpen)
	case StatusWaiting:
		status = w.Say(words.StatusWaiting)
	}
	texts := []string{c.Label, catalog.Title(c.ModelID, c.Model, lang), status, c.Waits, c.Find}
	for _, key := range c.Said {
		texts = append(texts, catalog.Say(c.ModelID, key+"/title", lang))
	}
	return matches(search, texts...)
}
