//go:build deep && !wasm

package evening_test

import (
	"testing"

	"pitwise/engine/internal/evening"
)

// All evenings at both benches take minutes: go test -tags deep ./engine/internal/evening -v
// prints them step by step, for reading.
func TestEvenings(t *testing.T) {
	for _, family := range []string{"top-loader", "tray", "slot-in"} {
		for _, bench := range []string{"full", "hobby"} {
			t.Run(family+"_"+bench, func(t *testing.T) {
				play(t, family, bench, func(int, *evening.Evening) bool { return true })
			})
		}
	}
}
