// Package sweep plays an evening at the bench on a storage of which one request fails, and
// says what is lost: for every request there is and every way of failing, nothing may be. What
// was shown as recorded is stored; what was not is told, kept and in the files that are taken
// away; and once the storage takes things again, one tap stores all of it.
//
// The evening is the page without its views. It begins on a bench that an older version of the
// schema has stored, so that opening it brings that forward; then a unit of that bench is gone
// on with, counts of other benches are read in and taken out, another unit is begun, photographed, left and come back to, a second window records on
// it, and the bench is taken away.
package sweep

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/trail"
)

// A Bench is what the evening is played on.
type Bench struct {
	Storage func() browser.Storage // of a new window, not opened yet
	Device  browser.Device         // what its windows have else; they take pictures and keep files by themselves
	Mended  func()                 // is called when the evening is over: nothing fails from now on
	Tell    func(unit string)      // tells the other windows of a unit, nil if the storage does
	Before  map[string]int         // how many events of each unit are stored before it
}

// Evening plays one, and says what was lost.
func Evening(b Bench) (lost []string) {
	one := newWindow(b)
	for _, unit := range slices.Sorted(maps.Keys(b.Before)) {
		if one.now().Storage.Memory {
			break
		}
		if !one.open(unit) {
			lost = append(lost, "a unit of before cannot be opened")
		}
		one.note("on "+unit, false)
	}
	one.lend("Shed", 12)
	one.lend("Pier", 3)
	one.dropAndRestore("Shed")
	one.drop("Pier")
	unit := one.begin("Grey one")
	if unit == "" {
		b.Mended()
		return append(lost, "the unit that was begun is neither stored nor shown")
	}
	one.note("first", false)
	one.do(state.TakePhotos{Field: browser.PhotoField})
	if a := one.now().Album(); a != nil && len(a.Photos) > 0 {
		one.do(state.ShowPhoto{ID: a.Photos[len(a.Photos)-1].ID})
		one.do(state.SetCaption{Text: "the board"})
		one.do(state.KeepCaption{})
	}
	one.note("as I leave", true)
	one.open(unit)
	one.note("back again", false)
	one.do(state.TakeBack{N: 1})

	// The second window is of the same bench if both could open it, and the unit is stored.
	two := newWindow(b)
	if !one.now().Storage.Memory && !two.now().Storage.Memory && one.made == unit {
		if !two.open(unit) {
			lost = append(lost, "the other window cannot open the unit")
		}
		two.note("from the other window", false)
		if b.Tell != nil {
			b.Tell(unit)
		}
	}
	one.settle()
	one.open(unit)
	one.note("and on", false)
	one.do(state.SetArchived{ID: unit, On: true})
	one.do(state.Navigated{Path: "/"})
	one.do(state.BackUp{Way: state.WaySave})
	one.do(state.Navigated{Path: "/unit/" + unit + "/report"})
	one.do(state.Navigated{Path: "/"})
	b.Mended()

	stored := b.Storage()
	if err := stored.Open(); err != nil {
		return append(lost, fmt.Sprintf("the bench cannot be opened in the end: %v", err))
	}
	for unit, n := range b.Before {
		if there := trailIn(stored, unit); len(there.Events) < n {
			lost = append(lost, fmt.Sprintf("%d events of %s are left of %d that were there before", len(there.Events), unit, n))
		}
	}
	for name, w := range map[string]*window{"first": one, "second": two} {
		for _, l := range w.losses(stored) {
			lost = append(lost, name+" window: "+l)
		}
	}
	return append(lost, one.photographs(unit)...)
}

// trailIn is what a storage has of a unit, the zero Trail if it has none.
func trailIn(s browser.Storage, unit string) *trail.Trail {
	u, events, err := s.Unit(unit)
	if err != nil {
		return &trail.Trail{}
	}
	t, _, err := browser.Assemble(u, events)
	if err != nil {
		return &trail.Trail{}
	}
	return t
}

// stores reports whether a trail has the event in its place.
func stores(t *trail.Trail, e trail.Event) bool {
	return e.N <= len(t.Events) && reflect.DeepEqual(t.Events[e.N-1], e)
}

// count is how many notes of a trail have the text.
func count(t *trail.Trail, text string) (n int) {
	for _, e := range t.Events {
		if e.Kind == trail.Note && e.Text == text {
			n++
		}
	}
	return n
}

func holds(file, text string) bool { return strings.Contains(file, fmt.Sprintf("%q", text)) }
