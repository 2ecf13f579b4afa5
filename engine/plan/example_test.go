package plan_test

import (
	"fmt"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// A drive that may be stuck or dirty: a boot shows both, a look shows the stuck one, and it is bent
// back only after the look.
const drive = `{"format": "pitwise/model", "version": 2, "id": "drive", "revision": "1", "title": "Two faults", "most_faults": 1,
  "sources": {}, "cautions": [], "tools": [], "setups": [{"id": "shut", "title": "Cover on"},
    {"id": "open", "title": "Cover off", "inside": "shut", "enter": {"minutes": 4, "money": 0}, "leave": {"minutes": 4, "money": 0}}],
  "components": [
    {"id": "arm", "title": "Arm", "place": "arm", "modes": [{"id": "bent", "title": "Bent", "prior": 0.3}]},
    {"id": "lens", "title": "Lens", "place": "lens", "modes": [{"id": "dirty", "title": "Dirty", "prior": 0.2}]}],
  "tests": [
    {"id": "boot", "title": "Boot", "intake": true, "at": "shut", "minutes": 2, "money": 0, "steadiness": 4,
      "outcomes": [{"id": "yes", "title": "Boots"}, {"id": "no", "title": "Does not"}], "healthy": [0.98, 0.02],
      "given": {"arm.bent": [0.02, 0.98], "lens.dirty": [0.2, 0.8]}},
    {"id": "look", "title": "Look at the arm", "at": "open", "minutes": 1, "money": 0, "steadiness": 10,
      "outcomes": [{"id": "straight", "title": "Straight"}, {"id": "bent", "title": "Bent"}], "healthy": [0.99, 0.01], "given": {"arm.bent": [0.05, 0.95]}}],
  "repairs": [
    {"id": "bend", "title": "Bend it back", "at": "open", "minutes": 10, "money": 0, "fixes": {"arm.bent": 0.95}, "risks": {},
      "steadiness": 1, "only_after": {"any": [{"test": "look", "outcomes": ["bent"]}]}},
    {"id": "clean", "title": "Clean the lens", "at": "open", "minutes": 3, "money": 0, "fixes": {"lens.dirty": 0.9}, "risks": {}}]}`

var driveTerms = trail.Terms{MinuteValue: 0.5, Currency: "EUR", WorkingValue: 60, AsIsValue: 10, ComebackCost: 40}

// A unit came in that does not boot. The planner is asked until its answer is settled.
func ExampleNew() {
	m, err := model.Load([]byte(drive))
	if err != nil {
		panic(err)
	}
	space, err := belief.NewSpace(m)
	if err != nil {
		panic(err)
	}
	planner, err := plan.New(space, driveTerms)
	if err != nil {
		panic(err)
	}
	b := space.Prior()
	if err := b.Observe(m.Intake, belief.Named(&m.Tests[m.Intake], 1)); err != nil {
		panic(err)
	}
	search := planner.Start(plan.Situation{Belief: b, Setup: m.Root, Tries: m.Untried(), Seen: []int{1, -1}})
	for !search.Work(10) {
		// some milliseconds have passed: time for other things
	}
	first := search.Proposals()[0]
	fmt.Println(first.Step.Kind, m.Tests[first.Step.Index].ID)
	for _, f := range first.Outcomes {
		fmt.Printf("%s (%.2f): then %s\n", m.Tests[first.Step.Index].Outcomes[f.Outcome].ID, f.P, f.Next.Kind)
	}
	// Output:
	// test look
	// straight (0.37): then test
	// bent (0.63): then repair
}

// A repair that comes only after a result is on offer while that result is the last of its test.
func ExampleProblem_Open() {
	m, err := model.Load([]byte(drive))
	if err != nil {
		panic(err)
	}
	space, err := belief.NewSpace(m)
	if err != nil {
		panic(err)
	}
	p := plan.NewProblem(space, driveTerms)
	bend, _ := m.Repair("bend")
	fmt.Println(p.Open(bend.Index, []int{1, -1}), p.Open(bend.Index, []int{1, 0}), p.Open(bend.Index, []int{1, 1}))
	// Output: false false true
}
