//go:build deep && !wasm

package evening_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/engine/internal/evening"
)

// All evenings at both benches take minutes: go test -tags deep ./engine/internal/evening -v
// prints them step by step, for reading.
func TestEvenings(t *testing.T) {
	for _, family := range []string{"top-loader", "tray", "slot-in"} {
		for _, bench := range []string{"full", "hobby"} {
			t.Run(family+"_"+bench, func(t *testing.T) {
				off := play(t, family, bench, func(int, *evening.Evening) bool { return true })
				assert.Zero(t, off, "written off")
			})
		}
	}
}

// TestBareEvenings plays one unit for each of some thirty faults and pairs, of which every test shows what is
// most probable. They were written by somebody who did not change the models then; some numbers have
// been looked at again because of them since. None is given up or goes on for ever.
func TestBareEvenings(t *testing.T) {
	for family, most := range map[string]int{"top-loader": 1, "tray": 1, "slot-in": 1} { // a hairline behind dirt; which part of a pick-up it was
		t.Run(family, func(t *testing.T) {
			off, odd := playFile(t, family, "bare/"+family, "full", func(int, *evening.Evening) bool { return true })
			assert.Zero(t, off, "written off")
			assert.LessOrEqual(t, len(odd), most, odd)
		})
	}
}

// TestFreshEvenings plays a dozen more a family at both benches, written by somebody who judged the advice from outside and had not
// seen the models; nine of the 72 were then signed off with a fault in, and models and planner were looked at again because of them.
// fresh2 is another dozen, by somebody else, and fresh3 a third, by somebody else again: eight and nine of their 72 plays did not end mended
// or were odd at first, and models and planner were looked at again because of them too. fresh4 is a fourth, by somebody else again: six of 72 ended with
// the fault in or not at all; fresh5 a fifth, by somebody else again: two of 66 left with the fault in, on a word. What is still odd is counted here.
func TestFreshEvenings(t *testing.T) {
	most := map[string]int{
		"fresh/top-loader_full": 1, "fresh/top-loader_hobby": 2, // a tracking coil, which nothing tells from a dirty lens before the pick-up is out; and a hub behind waxy rails, mended in 41 steps
		"fresh/slot-in_full": 1, "fresh/slot-in_hobby": 1, // which of three ways in which a laser tires
		"fresh3/top-loader_full": 1,                            // which joint of a board it was
		"fresh3/slot-in_full":    2, "fresh3/slot-in_hobby": 1, // no end in forty steps: a wire of a modification of which nobody knew; and a laser that reads right, just
		"fresh4/top-loader_hobby": 1,                         // nor for a cable whose fold closes on its side, pressed in the last of them
		"fresh4/tray_full":        1, "fresh4/tray_hobby": 1, // no end in forty steps: a logic supply that reads right, just, and has ripple on it
		"fresh4/slot-in_full": 1, "fresh4/slot-in_hobby": 1, // nor for a controller that has lost its servo
	}
	for _, set := range []string{"fresh", "fresh2", "fresh3", "fresh4", "fresh5"} {
		for _, family := range []string{"top-loader", "tray", "slot-in"} {
			for _, bench := range []string{"full", "hobby"} {
				name := set + "/" + family + "_" + bench
				t.Run(name, func(t *testing.T) {
					off, odd := playFile(t, family, set+"/"+family, bench, func(int, *evening.Evening) bool { return true })
					assert.Zero(t, off, "written off")
					assert.LessOrEqual(t, len(odd), most[name], odd)
				})
			}
		}
	}
}
