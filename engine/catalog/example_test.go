package catalog_test

import (
	"fmt"

	"pitwise/engine/catalog"
)

// The shipped models, and one of them in another language.
func Example() {
	for _, e := range catalog.Models() {
		m, err := catalog.Load(e.ID)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s: at most %d faults at once\n", e.Title, m.MostFaults)
	}
	m, err := catalog.Load("tray")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(catalog.Speak(m, "de").Title, "/", catalog.Speak(m, "es").Title)
	// Output:
	// Top-loader with a lid switch: at most 3 faults at once
	// Motorised tray: at most 3 faults at once
	// Slot-in with rollers: at most 3 faults at once
	// Motorlade / Bandeja motorizada
}
