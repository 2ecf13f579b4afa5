package runner

import (
	"slices"
	"sort"

	"pitwise/app/browser"
	"pitwise/app/report"
	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/catalog"
)

// bookAtOnce is how many units are summed up between two answers.
const bookAtOnce = 50

// readBook sums every unit up for the book, the latest begun first, and tells how far it is.
// It ends when another is asked for.
func (r *Runner) readBook(e state.ReadBook) {
	units, err := r.Storage.Units()
	if err != nil {
		return // the book stays as it is
	}
	// The ids sort by when units were begun.
	sort.SliceStable(units, func(i, j int) bool { return units[i].ID > units[j].ID })
	entries := []state.Entry{}
	r.bookFrom(e, units, entries)
}

func (r *Runner) bookFrom(e state.ReadBook, units []browser.UnitRecord, entries []state.Entry) {
	all := len(entries) + len(units)
	for i, u := range units[:min(len(units), bookAtOnce)] {
		if entry, ok := r.entry(u.ID, e.Lang); ok {
			entries = append(entries, entry)
		} else {
			all--
		}
		if i%10 == 9 {
			r.Device.Yield()
		}
	}
	units = units[min(len(units), bookAtOnce):]
	r.Send(state.BookRead{Entries: slices.Clone(entries), Done: all - len(units), All: all})
	if len(units) > 0 {
		r.latest("book", func() { r.bookFrom(e, units, entries) })
	}
}

// entry sums one unit up; false if it cannot be read.
func (r *Runner) entry(id, lang string) (state.Entry, bool) {
	u, events, err := r.Storage.Unit(id)
	if err != nil {
		return state.Entry{}, false
	}
	t, _, err := browser.Assemble(u, events)
	if err != nil {
		return state.Entry{}, false
	}
	m, err := r.modelOf(t.Model)
	if err != nil {
		return state.EntryOf(nil, t), true
	}
	e := state.EntryOf(catalog.Speak(m, lang), t)
	if e.Waits != "" && e.Price == 0 && r.speaksAll() { // it was said in another language
		e = state.EntryOf(catalog.Speak(m, lang), t)
	}
	return e, true
}

// BookFile makes the file of the book, or of what to order.
func BookFile(e state.TakeBook) browser.File {
	w := words.In(e.Lang)
	if e.Form == state.FormOrders {
		return browser.File{Name: "pitwise-orders.txt", Type: "text/plain", Text: report.Orders(w, state.Orders(e.Entries))}
	}
	return browser.File{Name: "pitwise-bench.csv", Type: "text/csv", Text: report.Book(e.Entries)}
}
