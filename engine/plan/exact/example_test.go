package exact_test

import (
	"fmt"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/plan/exact"
	"pitwise/engine/trail"
)

// A lid that may be short: a boot shows it mostly, a pad cures it mostly.
const lid = `{"format": "pitwise/model", "version": 1, "id": "lid", "revision": "1", "title": "One fault", "most_faults": 1,
  "sources": {}, "cautions": [], "tools": [], "setups": [{"id": "bench", "title": "On the bench"}],
  "components": [{"id": "lid", "title": "Lid", "place": "lid", "modes": [{"id": "short", "title": "Too short", "prior": 0.3}]}],
  "tests": [{"id": "boot", "title": "Boot", "intake": true, "at": "bench", "minutes": 2, "money": 0, "steadiness": 4,
    "outcomes": [{"id": "yes", "title": "Boots"}, {"id": "no", "title": "Does not"}], "healthy": [0.98, 0.02], "given": {"lid.short": [0.05, 0.95]}}],
  "repairs": [{"id": "pad", "title": "Stick a pad", "at": "bench", "minutes": 4, "money": 0, "fixes": {"lid.short": 0.9}, "risks": {}}]}`

func ExampleSolve() {
	m, err := model.Load([]byte(lid))
	if err != nil {
		panic(err)
	}
	space, err := belief.NewSpace(m)
	if err != nil {
		panic(err)
	}
	terms := trail.Terms{MinuteValue: 0.5, Currency: "EUR", WorkingValue: 60, AsIsValue: 10, ComebackCost: 40}
	solution, err := exact.Solve(plan.NewProblem(space, terms), exact.Effort{Tolerance: 0.001, Backups: 10_000})
	if err != nil {
		panic(err)
	}
	bounds := solution.Bounds()
	fmt.Printf("a unit that does not boot costs %.1f to %.1f\n", bounds.Low, bounds.High)

	b := space.Prior()
	if err := b.Observe(m.Intake, belief.Named(&m.Tests[m.Intake], 1)); err != nil {
		panic(err)
	}
	step, err := solution.Next(plan.Situation{Belief: b, Setup: m.Root})
	if err != nil {
		panic(err)
	}
	fmt.Println(step.Kind, m.Repairs[step.Index].ID)
	// Output:
	// a unit that does not boot costs 3.8 to 3.8
	// repair pad
}
