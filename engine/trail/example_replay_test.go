package trail_test

import (
	"fmt"
	"os"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}

// second is the example of version 2: its owner is asked, a run proves it, and its repairs
// remember.
func second() *belief.Space {
	return must(belief.NewSpace(must(model.Load(must(os.ReadFile("../model/testdata/second.json"))))))
}

// A replay works out how things stood after each event. What the owner tells acts first, though
// it was told last.
func ExampleReplay() {
	space := second()
	t := &trail.Trail{Events: []trail.Event{
		{N: 1, Kind: trail.Result, Test: "boot", Outcome: "asks"},
		{N: 2, Kind: trail.Setup, Setup: "open"},
		{N: 3, Kind: trail.Repair, Repair: "clean-lens"},
		{N: 4, Kind: trail.Result, Test: "story", Outcome: "skips"},
	}}
	a := must(trail.Replay(space, t))
	lens, _ := space.Model().Mode("lens.dirty")
	for _, line := range a.Lines {
		fmt.Printf("%d %-6s a dirty lens %.3f\n", line.N, line.Kind, line.Modes[lens.Index])
	}
	fmt.Println("tries of clean-lens:", a.Tries[0][0])
	origin := must(trail.Origin(space, t))
	fmt.Printf("it came in with one: %.3f\n", origin.Modes[lens.Index])
	// Output:
	// 0 start  a dirty lens 0.200
	// 1 result a dirty lens 0.832
	// 2 setup  a dirty lens 0.832
	// 3 repair a dirty lens 0.083
	// 4 result a dirty lens 0.096
	// tries of clean-lens: 1
	// it came in with one: 0.960
}

// A small doubt says which result to look at again.
func ExampleDoubts() {
	space := second()
	t := &trail.Trail{Events: []trail.Event{
		{N: 1, Kind: trail.Result, Test: "story", Outcome: "skips"},
		{N: 2, Kind: trail.Result, Test: "boot", Outcome: "asks"},
		{N: 3, Kind: trail.Result, Test: "boot", Outcome: "still"}, // the lid was not shut
		{N: 4, Kind: trail.Result, Test: "boot", Outcome: "asks"},
	}}
	for _, d := range must(trail.Doubts(space, t)) {
		fmt.Printf("event %d: %.2f\n", d.N, d.P)
	}
	// Output:
	// event 1: 0.55
	// event 2: 0.51
	// event 3: 0.04
	// event 4: 0.51
}

// Terms may change while a unit is on the bench, and a unit may wait.
func ExampleTrail_Standing() {
	t := &trail.Trail{Terms: trail.Terms{MinuteValue: 0.5, Currency: "EUR"}, Events: []trail.Event{
		{N: 1, Kind: trail.NewTerms, Terms: &trail.Terms{MinuteValue: 0.25, Currency: "EUR"}},
		{N: 2, Kind: trail.Wait, For: "a lens"},
		{N: 3, Kind: trail.Note, Text: "ordered"},
	}}
	fmt.Println(t.Standing().MinuteValue)
	if e, waits := t.Waiting(); waits {
		fmt.Println("waits for", e.For)
	}
	// Output:
	// 0.25
	// waits for a lens
}
