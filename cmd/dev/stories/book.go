package stories

import (
	"fmt"

	"pitwise/app/state"
	"pitwise/engine/trail"
)

// booked is the book of some units.
func booked(entries []state.Entry) *stage {
	if entries == nil {
		entries = []state.Entry{}
	}
	return newStage().send(state.Navigated{Path: "/book"}, state.BookRead{Entries: entries, Done: len(entries), All: len(entries)})
}

// filledBook is a book of n units, of every kind, ending and currency, the latest begun first; some wait.
func filledBook(n int) []state.Entry {
	kinds := []string{"Top-loader with a lid switch", "Motorised tray", "Slot-in with rollers"}
	faults := []string{"Lens: dirty", "Belt: slack", "Laser: worn", "Rollers: slick", "Flat cable: " + longWords}
	repairs := []string{"Clean the lens", "Put in a new tray belt", "Fit another laser unit", "Clean and roughen the rollers", hostile}
	ends := []trail.Ending{trail.SignedOff, trail.SignedOff, trail.WrittenOff, trail.SignedOff, trail.Returned}
	all := make([]state.Entry, n)
	for i := range all {
		k := n - i
		e := state.Entry{ID: fmt.Sprintf("U%04d", k), Label: fmt.Sprintf("Shelf %d", k), ModelID: "tray", Model: kinds[k%3], Currency: "EUR",
			Begun:   fmt.Sprintf("2026-%02d-%02dT10:00:00Z", 1+k/20%12, 1+k%20),
			Minutes: float64(7 + 13*k%90), Clock: float64(9 + 17*k%120), Money: float64(k%5) * 1.75, Repairs: []string{repairs[k%5]}}
		switch {
		case k%4 == 0:
			e.Waits, e.Price = repairs[1+k/4%2], []float64{2.5, 14}[k/4%2]
		case k%9 == 0:
			e.Waits = "Its owner"
		default:
			e.Left, e.As, e.Back = e.Begun, ends[k%5], k%7 == 0
			e.Worth, e.Found = 12, []string{faults[k%5]}
			if e.As == trail.SignedOff {
				e.Worth = 80
			}
		}
		if k == 5 {
			e.Label, e.Currency, e.Money, e.Worth = longWords, "JPY", 1400, 8000
		}
		all[i] = e
	}
	return all
}
