package sim_test

import (
	"fmt"
	"os"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/sim"
	"pitwise/engine/trail"
)

func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}

// Units are drawn from a model and played through two policies: the same units for both.
func Example() {
	m := must(model.Load(must(os.ReadFile("../model/testdata/example.json"))))
	terms := trail.Terms{MinuteValue: 0.5, Currency: "EUR", Tools: []model.ToolID{"multimeter"}, WorkingValue: 60, AsIsValue: 10, ComebackCost: 40}
	p := plan.NewProblem(must(belief.NewSpace(m)), terms)
	for _, row := range []struct {
		name   string
		policy func() (sim.Policy, error)
	}{
		{"checklist", func() (sim.Policy, error) { return sim.NewChecklist(p), nil }},
		{"clairvoyant", func() (sim.Policy, error) { return sim.NewClairvoyant(p), nil }},
	} {
		runs := must(sim.PlayAll(p, row.policy, 1, 200, 2, nil, nil))
		s := sim.Summarise(runs)
		fmt.Printf("%s: fixed %.0f %%, written off %.0f %%, come back %.0f %%, a unit costs %.1f\n",
			row.name, 100*s.Fixed, 100*s.WrittenOff, 100*s.ComeBack, s.MeanCost)
	}
	// Output:
	// checklist: fixed 48 %, written off 48 %, come back 3 %, a unit costs 35.6
	// clairvoyant: fixed 55 %, written off 43 %, come back 2 %, a unit costs 26.7
}

// The trails of simulated units are those of a bench, with what was truly wrong as their
// causes where a unit left sound.
func ExampleGames() {
	m := must(model.Load(must(os.ReadFile("../model/testdata/second.json"))))
	terms := trail.Terms{MinuteValue: 0.5, Currency: "EUR", Tools: []model.ToolID{"multimeter"}, WorkingValue: 60, AsIsValue: 10, ComebackCost: 40}
	p := plan.NewProblem(must(belief.NewSpace(m)), terms)
	games := sim.Games{
		Problem: p, Policy: func() (sim.Policy, error) { return sim.NewChecklist(p), nil },
		Seed: 6, Units: 1, Goroutines: 1,
		Done: func(n int, r sim.Run, events []trail.Event) error {
			for _, e := range events {
				fmt.Println(string(e.Encode()))
			}
			return nil
		},
	}
	must(games.Play())
	// Output:
	// {"n": 1, "at": "2026-01-01T00:00:00Z", "kind": "result", "test": "story", "outcome": "skips"}
	// {"n": 2, "at": "2026-01-01T00:10:00Z", "kind": "setup", "setup": "open"}
	// {"n": 3, "at": "2026-01-01T00:10:00Z", "kind": "repair", "repair": "clean-lens"}
	// {"n": 4, "at": "2026-01-01T00:17:00Z", "kind": "setup", "setup": "closed"}
	// {"n": 5, "at": "2026-01-01T00:17:00Z", "kind": "result", "test": "boot", "outcome": "boots"}
	// {"n": 6, "at": "2026-01-01T00:17:00Z", "kind": "end", "as": "signed-off", "causes": ["lens.dirty"]}
}
