package runner

import (
	"errors"
	"slices"
	"strings"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/trail"
)

// backedKey is the key under which it is kept when the bench was last taken away.
const backedKey = "backed-up"

// put stores events at the end of a unit, or the whole unit if it is not there at all.
// Damaged records in their place are set aside first.
func (r *Runner) put(e state.Append, events []trail.Event, records []browser.EventRecord) error {
	if e.Whole {
		whole := *e.Trail
		whole.Events = events
		if err := r.storeAs(&whole, e.Model, records); !errors.Is(err, browser.ErrExists) {
			return err
		}
		// Another window has stored it again meanwhile.
	}
	after := *e.Trail
	after.Events = append(slices.Clone(after.Events[:min(len(after.Events), events[0].N-1)]), events...)
	card := r.cardOf(&after, e.Model)
	err := r.Storage.Append(e.ID, records, card)
	if !errors.Is(err, browser.ErrClash) {
		return err
	}
	u, stored, read := r.Storage.Unit(e.ID)
	if read != nil {
		return err
	}
	t, aside, read := browser.Assemble(u, stored)
	if read != nil || len(aside) == 0 || records[0].N != len(t.Events)+1 {
		return err // the other window was really first
	}
	if err := r.Storage.SetAside(e.ID, stored[len(t.Events):]); err != nil {
		return err
	}
	return r.Storage.Append(e.ID, records, card)
}

// saveRaw hands over what is stored of a unit as it is, readable or not.
func (r *Runner) saveRaw(id string) {
	u, events, err := r.Storage.Unit(id)
	if err != nil {
		r.Send(state.TakeFailed{Detail: err.Error()})
		return
	}
	lines := []string{u.Raw()}
	for _, e := range events {
		lines = append(lines, e.Raw())
	}
	if aside, err := r.Storage.Aside(id); err == nil {
		lines = append(lines, aside...)
	}
	r.handed(state.WaySave, r.hand(browser.File{
		Name: "pitwise-" + strings.ToLower(id) + "-damaged.txt", Type: "text/plain", Text: strings.Join(lines, "\n") + "\n",
	}, state.WaySave))
}
