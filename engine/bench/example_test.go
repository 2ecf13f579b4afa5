package bench_test

import (
	"fmt"
	"os"

	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// evening is a trail of the three-part model: it asks for a disc, the cover comes off, the
// supply measures low.
const evening = `{
  "format": "pitwise/trail", "version": 1, "id": "E1", "created": "2026-03-04T10:11:12Z",
  "model": {"id": "example", "revision": "1", "sha256": %q},
  "unit": {"label": "Grey top-loader, shelf 3", "notes": ""},
  "terms": {"minute_value": 0.5, "currency": "EUR", "tools": ["multimeter"],
            "working_value": 60, "as_is_value": 10, "comeback_cost": 40},
  "events": [
    {"n": 1, "at": "2026-03-04T10:12:00Z", "kind": "result", "test": "first-boot", "outcome": "asks"},
    {"n": 2, "at": "2026-03-04T10:14:00Z", "kind": "setup", "setup": "open"},
    {"n": 3, "at": "2026-03-04T10:21:00Z", "kind": "result", "test": "rail", "reading": 4.74}
  ]
}`

func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}

// onTheBench is that unit, opened.
func onTheBench() (*bench.Unit, *belief.Space) {
	m := must(model.Load(must(os.ReadFile("../model/testdata/example.json"))))
	s := must(belief.NewSpace(m))
	return must(bench.Open(s, must(trail.Load(fmt.Appendf(nil, evening, m.SHA256))))), s
}

// From a model file and a trail file to the first proposal.
func Example() {
	m := must(model.Load(must(os.ReadFile("../model/testdata/example.json"))))
	t := must(trail.Load(fmt.Appendf(nil, evening, m.SHA256)))

	space := must(belief.NewSpace(m)) // once for a model
	u := must(bench.Open(space, t))   // once for a trail
	planner := must(u.Planner(space)) // once for a model and terms
	search := u.Advise(planner)
	for !search.Work(4) { // in pieces of some milliseconds
	}
	first := search.Proposals()[0]

	fmt.Println("next:", u.Task(first.Step).ID)
	fmt.Printf("%.0f minutes, expected to cost %.2f from here\n", first.Minutes, first.Total)
	for _, c := range u.Cautions(first.Step) {
		fmt.Println("read first:", c.Title)
	}
	// Output:
	// next: clean-lens
	// 4 minutes, expected to cost 17.44 from here
	// read first: Mains voltage inside
}

// How a unit stands, what it cost so far and what leads.
func ExampleOpen() {
	u, _ := onTheBench()
	minutes, money := u.Spent()
	odds, _ := u.Now()
	leader := odds.Ranked()[0]
	fmt.Println("it stands:", u.Model.Setups[u.Setup()].Title)
	fmt.Printf("spent: %.0f minutes, %.2f %s\n", minutes, money, u.Terms().Currency)
	fmt.Printf("leading: %s, %.0f %%\n", u.Model.Modes[leader].ID, 100*odds.Modes[leader])
	// Output:
	// it stands: Cover off
	// spent: 11 minutes, 0.00 EUR
	// leading: lens.dirty, 81 %
}

// A unit that came with its cover off: the dangers of how it stands are told before a step that needs no
// way.
func ExampleUnit_CautionsHere() {
	u, _ := onTheBench()
	boot := plan.Step{Kind: plan.DoTest, Index: u.Model.Proof}
	for _, mv := range u.Way(boot) {
		work, to := u.Model.Move(mv)
		fmt.Printf("on the way: to %s, %.0f minutes\n", u.Model.Setups[to].ID, work.Minutes)
	}
	for _, c := range u.CautionsHere(boot) {
		fmt.Println("switched on as it stands:", c.Title)
	}
	// Output:
	// on the way: to closed, 5 minutes
	// switched on as it stands: Mains voltage inside
}

// What is not on offer, and what would change that.
func ExampleUnit_Held() {
	u, _ := onTheBench()
	u.Trail.Terms.Tools = nil
	for _, h := range u.Held() {
		fmt.Println(u.Task(h.Step).ID, h.Why, h.Lacks)
	}
	// Output:
	// rail tools [multimeter]
}

// Looking back: what was wrong when it came in, and which result is worth another look.
func ExampleUnit_LookBack() {
	u, s := onTheBench()
	if _, err := u.LookBack(s, nil); err != nil {
		panic(err)
	}
	for _, i := range u.Supported() {
		fmt.Printf("%s %.0f %%\n", u.Model.Modes[i].ID, 100*u.Origin.Modes[i])
	}
	_, doubtful := u.Doubtful()
	fmt.Println("a result to look at again:", doubtful)
	// Output:
	// lens.dirty 81 %
	// supply.low 9 %
	// a result to look at again: false
}

// A unit that was signed off and came back.
func ExampleUnit_CameBack() {
	u, _ := onTheBench()
	u.Trail.Events = append(u.Trail.Events,
		trail.Event{N: 4, Kind: trail.End, As: trail.SignedOff, Causes: []model.ModeID{"lens.dirty"}},
		trail.Event{N: 5, Kind: trail.Note, Text: "came back after two weeks"},
		trail.Event{N: 6, Kind: trail.Setup, Setup: "closed"},
	)
	e, back := u.CameBack()
	_, ended := u.Ended()
	fmt.Println(ended, back, e.As)
	// Output: false true signed-off
}
