package random

import (
	"fmt"
	"math/rand/v2"
)

// Terms are what time, parts and the unit are worth: the `terms` of a trail.
type Terms struct {
	MinuteValue  float64  `json:"minute_value"`
	Currency     string   `json:"currency"`
	Exchange     float64  `json:"exchange,omitempty"`
	Tools        []string `json:"tools"`
	WorkingValue float64  `json:"working_value"`
	AsIsValue    float64  `json:"as_is_value"`
	ComebackCost float64  `json:"comeback_cost"`
}

// Small returns the text of a model whose decision problem can be solved exactly, and
// terms for it: 3 to 5 modes, 3 to 5 tests (one of them the intake test), 2 to 4
// repairs, 1 or 2 setups, at most two or three faults at once. The intake test tells a
// working unit from a broken one, every mode has a repair that removes it more often
// than not, and the terms make both repairing and writing off sensible now and then.
func Small(rng *rand.Rand) ([]byte, Terms) {
	d, terms := small(rng)
	return encode(d), terms
}

// SmallSecond returns a model as Small does, with some of what version 2 of the format brought: told
// tests, a proof, repairs that remember and that come only after a result.
func SmallSecond(rng *rand.Rand) ([]byte, Terms) {
	d, terms := small(rng)
	d.second(rng)
	return encode(d), terms
}

func small(rng *rand.Rand) (*document, Terms) {
	modes := 3 + rng.IntN(3)
	d := &document{
		Format: "pitwise/model", Version: 1,
		ID: fmt.Sprintf("small-%d", rng.IntN(1_000_000)), Revision: "1", Title: "A small random model",
		Sources:  map[string]source{"dice": {Kind: "memory", Cite: "drawn at random, means nothing"}},
		Cautions: []titled{},
		Tools:    []titled{{ID: "meter", Title: "Meter"}},
		Setups:   []setup{{ID: "shut", Title: "Shut"}},
	}
	for left := modes; left > 0; {
		part := component{ID: fmt.Sprintf("c%d", len(d.Components)), Title: fmt.Sprintf("Part %d", len(d.Components)), Place: "spot"}
		for m := range min(left, 1+rng.IntN(2)) {
			part.Modes = append(part.Modes, mode{ID: fmt.Sprintf("m%d", m), Title: fmt.Sprintf("Fault %d", m), Prior: 0.01 + 0.19*rng.Float64()*rng.Float64(), Source: "dice"})
			left--
		}
		d.Components = append(d.Components, part)
	}
	d.MostFaults = 1 + rng.IntN(min(3, len(d.Components)))
	var all []string
	for _, c := range d.Components {
		for _, m := range c.Modes {
			all = append(all, c.ID+"."+m.ID)
		}
	}
	if rng.IntN(3) > 0 {
		s := setup{ID: "apart", Title: "Apart", Inside: "shut",
			Enter: &step{Minutes: 1 + tenths(rng, 7), Source: "dice"},
			Leave: &step{Minutes: 1 + tenths(rng, 7), Source: "dice"}}
		if rng.IntN(2) == 0 {
			s.Leave.Risks = map[string]float64{all[rng.IntN(len(all))]: 0.01 + 0.05*rng.Float64()}
		}
		d.Setups = append(d.Setups, s)
	}

	for t := range 3 + rng.IntN(3) {
		outcomes := 2 + rng.IntN(2)
		one := test{
			ID: fmt.Sprintf("t%d", t), Title: fmt.Sprintf("Test %d", t), At: d.anySetup(rng),
			Minutes: pointer(0.5 + tenths(rng, 5)), Money: pointer(0), Given: map[string][]float64{},
			Steadiness: []float64{0.5, 1, 2, 5, 20}[rng.IntN(5)], Source: "dice",
		}
		for k := range outcomes {
			one.Outcomes = append(one.Outcomes, outcome{ID: fmt.Sprintf("o%d", k), Title: fmt.Sprintf("Seen %d", k)})
		}
		one.Healthy = leaning(rng, outcomes, 0.90+0.09*rng.Float64())
		touched := rng.Perm(len(all))[:1+rng.IntN(2)]
		if t == 0 {
			one.Intake, one.At = true, "shut"
			one.Steadiness = []float64{2, 5, 20}[rng.IntN(3)]
			touched = rng.Perm(len(all))
		} else if rng.IntN(6) == 0 {
			one.Needs = []string{"meter"}
		}
		for _, i := range touched {
			steps := make([]float64, outcomes) // how far the ratio rises at each outcome
			steps[0] = 0.03 + 0.35*rng.Float64()*rng.Float64()
			rest := 1 - steps[0]
			for k := 1; k < outcomes-1; k++ {
				steps[k] = rest * rng.Float64()
				rest -= steps[k]
			}
			steps[outcomes-1] = rest
			one.Given[all[i]] = given(one.Healthy, steps)
		}
		d.Tests = append(d.Tests, one)
	}

	repairs := 2 + rng.IntN(3)
	for r := range repairs {
		d.Repairs = append(d.Repairs, repair{
			ID: fmt.Sprintf("r%d", r), Title: fmt.Sprintf("Repair %d", r), At: d.anySetup(rng),
			Minutes: 1 + tenths(rng, 14), Money: tenths(rng, 9),
			Fixes: map[string]float64{}, Risks: map[string]float64{}, Source: "dice",
		})
		if rng.IntN(4) == 0 {
			d.Repairs[r].Risks[all[rng.IntN(len(all))]] = 0.01 + 0.05*rng.Float64()
		}
	}
	for i, m := range rng.Perm(len(all)) { // every mode is in the reach of some repair
		d.Repairs[i%repairs].Fixes[all[m]] = 0.6 + 0.39*rng.Float64()
	}

	terms := Terms{
		MinuteValue: []float64{0.2, 0.3, 0.5, 0.8, 1}[rng.IntN(5)], Currency: "EUR", Tools: []string{"meter"},
		WorkingValue: 15 + float64(rng.IntN(80)), AsIsValue: float64(rng.IntN(10)), ComebackCost: 5 + float64(rng.IntN(60)),
	}
	if rng.IntN(8) == 0 {
		terms.Tools = []string{}
	}
	return d, terms
}

// leaning returns a row with p on its first entry and the rest dealt at random.
func leaning(rng *rand.Rand, n int, p float64) []float64 {
	row := make([]float64, n)
	row[0] = p
	sum := 0.0
	for k := 1; k < n; k++ {
		row[k] = 0.1 + rng.Float64()
		sum += row[k]
	}
	for k := 1; k < n; k++ {
		row[k] *= (1 - p) / sum
	}
	return row
}
