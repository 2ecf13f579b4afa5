package plan

import "slices"

// opening returns the test that opens the repair which takes away most of the odds of being at fault
// for the cost of both, of those that are not on offer yet.
func (g *growth) opening(q point) (best Step, ok bool) {
	m := g.model
	most := 0.0
	modes, _ := g.modesOf(q.hyps, q.p)
	for _, r := range g.repairs {
		if g.Open(r, q.seen) {
			continue
		}
		gain := 0.0
		for _, f := range m.Repairs[r].After(q.tried(r)).Fixes {
			gain += float64(f.P * modes[f.Mode])
		}
		for _, s := range m.Repairs[r].OnlyAfter.Any {
			step := Step{DoTest, s.Test}
			if !slices.Contains(g.tests, s.Test) || q.run.has(s.Test) {
				continue
			}
			cost := g.StepCost(step, q.setup) + g.StepCost(Step{DoRepair, r}, m.Tests[s.Test].At)
			if x := gain / (cost + g.trifle()); x > most {
				most, best, ok = x, step, true
			}
		}
	}
	return best, ok
}
