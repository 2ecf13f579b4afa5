package random

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// A Size bounds a random model. Every count is drawn from its least sensible value up
// to the bound; a zero bound is read as that least value.
type Size struct {
	Components int // at least 1
	Modes      int // of one component, at least 1
	Tests      int // at least 1
	Outcomes   int // of one test, at least 2
	Repairs    int
	Setups     int // at least 1
	MostFaults int // 0: anything from 1 to the number of components, at most 6

	// Exact makes every count equal to its bound.
	Exact bool

	// Second lets in what version 2 of the format brought: told tests, a proof, repairs that
	// remember and that ask for a result, weights, a currency.
	Second bool

	// Extreme lets in entries and priors of 1e-9, steadiness from 1e-6 to 1e6, meters
	// without error, intervals far narrower than the meter's error, changes that are
	// certain, and rows whose sum is off by a little less than 1e-9.
	Extreme bool
}

type document struct {
	Format     string            `json:"format"`
	Version    int               `json:"version"`
	ID         string            `json:"id"`
	Revision   string            `json:"revision"`
	Title      string            `json:"title"`
	MostFaults int               `json:"most_faults"`
	Currency   string            `json:"currency,omitempty"`
	Sources    map[string]source `json:"sources"`
	Cautions   []titled          `json:"cautions"`
	Tools      []titled          `json:"tools"`
	Setups     []setup           `json:"setups"`
	Components []component       `json:"components"`
	Tests      []test            `json:"tests"`
	Repairs    []repair          `json:"repairs"`
}

type source struct {
	Kind   string  `json:"kind"`
	Cite   string  `json:"cite"`
	Weight float64 `json:"weight,omitempty"`
}

type titled struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Text  string `json:"text,omitempty"`
}

type setup struct {
	ID       string   `json:"id"`
	Title    string   `json:"title"`
	Inside   string   `json:"inside,omitempty"`
	Cautions []string `json:"cautions,omitempty"`
	Enter    *step    `json:"enter,omitempty"`
	Leave    *step    `json:"leave,omitempty"`
}

type step struct {
	Minutes float64            `json:"minutes"`
	Money   float64            `json:"money"`
	Fixes   map[string]float64 `json:"fixes,omitempty"`
	Risks   map[string]float64 `json:"risks,omitempty"`
	Source  string             `json:"source,omitempty"`
}

type component struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Place string `json:"place"`
	Modes []mode `json:"modes"`
}

type mode struct {
	ID     string  `json:"id"`
	Title  string  `json:"title"`
	Prior  float64 `json:"prior"`
	Source string  `json:"source,omitempty"`
}

type test struct {
	ID         string               `json:"id"`
	Title      string               `json:"title"`
	Intake     bool                 `json:"intake,omitempty"`
	Told       bool                 `json:"told,omitempty"`
	Proof      bool                 `json:"proof,omitempty"`
	At         string               `json:"at,omitempty"`
	Minutes    *float64             `json:"minutes,omitempty"` // nil for a told test
	Money      *float64             `json:"money,omitempty"`
	Needs      []string             `json:"needs,omitempty"`
	Cautions   []string             `json:"cautions,omitempty"`
	Reading    *reading             `json:"reading,omitempty"`
	Outcomes   []outcome            `json:"outcomes"`
	Healthy    []float64            `json:"healthy"`
	Given      map[string][]float64 `json:"given"`
	Steadiness float64              `json:"steadiness"`
	Source     string               `json:"source,omitempty"`
}

type reading struct {
	Unit     string   `json:"unit"`
	Nominal  *float64 `json:"nominal,omitempty"`
	Percent  float64  `json:"percent"`
	Absolute float64  `json:"absolute"`
}

type outcome struct {
	ID    string   `json:"id"`
	Title string   `json:"title"`
	From  *float64 `json:"from,omitempty"`
	To    *float64 `json:"to,omitempty"`
}

type repair struct {
	ID      string             `json:"id"`
	Title   string             `json:"title"`
	At      string             `json:"at"`
	Minutes float64            `json:"minutes"`
	Money   float64            `json:"money"`
	Needs   []string           `json:"needs,omitempty"`
	Fixes   map[string]float64 `json:"fixes"`
	Risks   map[string]float64 `json:"risks"`

	Steadiness float64    `json:"steadiness,omitempty"`
	OnlyAfter  *onlyAfter `json:"only_after,omitempty"`
	Source     string     `json:"source,omitempty"`
}

type onlyAfter struct {
	Any    []seen `json:"any"`
	Strict bool   `json:"strict,omitempty"`
}

type seen struct {
	Test     string   `json:"test"`
	Outcomes []string `json:"outcomes"`
}

// Model returns the text of a valid model.
func Model(rng *rand.Rand, size Size) []byte {
	return encode(build(rng, size))
}

func encode(d *document) []byte {
	text, err := json.MarshalIndent(d, "", "  ")
	if err != nil {
		panic(err) // every number in it is finite
	}
	return append(text, '\n')
}

func build(rng *rand.Rand, size Size) *document {
	count := func(least, bound int) int {
		if bound <= least {
			return least
		}
		if size.Exact {
			return bound
		}
		return least + rng.IntN(bound-least+1)
	}
	d := &document{
		Format: "pitwise/model", Version: 1,
		ID: fmt.Sprintf("random-%d", rng.IntN(1_000_000)), Revision: "1", Title: "A random model",
		Sources: map[string]source{
			"dice": {Kind: "memory", Cite: "drawn at random, means nothing"},
		},
		Cautions: []titled{{ID: "sparks", Title: "Sparks", Text: "Drawn at random."}},
		Tools:    []titled{{ID: "meter", Title: "Meter"}, {ID: "scope", Title: "Scope"}},
	}

	for c := range count(1, size.Components) {
		part := component{ID: fmt.Sprintf("c%d", c), Title: fmt.Sprintf("Part %d", c), Place: fmt.Sprintf("spot-%d", c)}
		sum := 0.0
		for m := range count(1, size.Modes) {
			prior := math.Pow(10, -3*rng.Float64()-0.3)
			if size.Extreme && rng.IntN(8) == 0 {
				prior = 1e-9 * (1 + rng.Float64())
			}
			sum += prior
			part.Modes = append(part.Modes, mode{ID: fmt.Sprintf("m%d", m), Title: fmt.Sprintf("Fault %d", m), Prior: prior, Source: "dice"})
		}
		if sum > 0.9 {
			for m := range part.Modes {
				part.Modes[m].Prior *= 0.9 / sum
			}
		}
		d.Components = append(d.Components, part)
	}
	d.MostFaults = size.MostFaults
	if d.MostFaults == 0 {
		d.MostFaults = 1 + rng.IntN(min(len(d.Components), 6))
	}

	for s := range count(1, size.Setups) {
		place := setup{ID: fmt.Sprintf("s%d", s), Title: fmt.Sprintf("Way %d", s)}
		if s > 0 {
			place.Inside = d.Setups[rng.IntN(s)].ID
			place.Enter = d.step(rng, size)
			place.Leave = d.step(rng, size)
			if rng.IntN(3) == 0 {
				place.Cautions = []string{"sparks"}
			}
		}
		d.Setups = append(d.Setups, place)
	}
	// The root need not come first in the file.
	if rng.IntN(3) == 0 {
		rng.Shuffle(len(d.Setups), func(i, j int) { d.Setups[i], d.Setups[j] = d.Setups[j], d.Setups[i] })
	}

	tests := count(1, size.Tests)
	intake := rng.IntN(tests)
	for t := range tests {
		d.Tests = append(d.Tests, d.test(rng, size, t, count(2, size.Outcomes)))
		if t == intake {
			d.Tests[t].Intake = true
			d.Tests[t].At = d.root()
			d.Tests[t].Needs = nil
		}
	}
	for r := range count(0, size.Repairs) {
		d.Repairs = append(d.Repairs, repair{
			ID: fmt.Sprintf("r%d", r), Title: fmt.Sprintf("Repair %d", r), At: d.anySetup(rng),
			Minutes: tenths(rng, 20), Money: tenths(rng, 10),
			Fixes: d.chances(rng, size, 1+rng.IntN(3), false), Risks: d.chances(rng, size, rng.IntN(3), true), Source: "dice",
		})
	}
	if d.Repairs == nil {
		d.Repairs = []repair{}
	}
	if size.Second {
		d.second(rng)
	}
	return d
}

// second gives a model some of what version 2 of the format brought.
func (d *document) second(rng *rand.Rand) {
	d.Version = 2
	if rng.IntN(2) == 0 {
		d.Currency = "XTS" // ISO 4217: for tests
	}
	if rng.IntN(2) == 0 {
		d.Sources["dice"] = source{Kind: "memory", Cite: d.Sources["dice"].Cite, Weight: 1 + 10*rng.Float64()}
	}
	var asked []int // tests that are not told
	intakeTold := false
	for t := range d.Tests {
		one := &d.Tests[t]
		last := t == len(d.Tests)-1 && asked == nil
		if rng.IntN(3) > 0 || last {
			asked = append(asked, t)
			continue
		}
		one.Told, one.At, one.Minutes, one.Money, one.Needs, one.Cautions = true, "", nil, nil, nil, nil
		intakeTold = intakeTold || one.Intake
	}
	if intakeTold || rng.IntN(2) == 0 {
		proof := &d.Tests[asked[rng.IntN(len(asked))]]
		proof.Proof, proof.At, proof.Needs = true, d.root(), nil
	}
	for r := range d.Repairs {
		one := &d.Repairs[r]
		if rng.IntN(3) > 0 {
			one.Steadiness = math.Pow(10, 4*rng.Float64()-2)
		}
		if rng.IntN(2) == 0 {
			continue
		}
		one.OnlyAfter = &onlyAfter{Strict: rng.IntN(3) == 0}
		for range 1 + rng.IntN(2) {
			t := &d.Tests[rng.IntN(len(d.Tests))]
			s := seen{Test: t.ID}
			for _, k := range rng.Perm(len(t.Outcomes))[:1+rng.IntN(len(t.Outcomes))] {
				s.Outcomes = append(s.Outcomes, t.Outcomes[k].ID)
			}
			one.OnlyAfter.Any = append(one.OnlyAfter.Any, s)
		}
	}
}

func (d *document) root() string {
	for _, s := range d.Setups {
		if s.Inside == "" {
			return s.ID
		}
	}
	return ""
}

func (d *document) anySetup(rng *rand.Rand) string { return d.Setups[rng.IntN(len(d.Setups))].ID }

func (d *document) step(rng *rand.Rand, size Size) *step {
	s := &step{Minutes: tenths(rng, 10), Money: tenths(rng, 2), Source: "dice"}
	if rng.IntN(2) == 0 {
		s.Risks = d.chances(rng, size, 1+rng.IntN(2), true)
	}
	if rng.IntN(4) == 0 {
		s.Fixes = d.chances(rng, size, 1+rng.IntN(2), false)
	}
	return s
}

// chances draws n modes, each with a probability, at most one of a component if once
// is set (and then smaller: a risk).
func (d *document) chances(rng *rand.Rand, size Size, n int, once bool) map[string]float64 {
	out := map[string]float64{}
	parts := rng.Perm(len(d.Components))
	for i := range n {
		if once && i >= len(parts) {
			break
		}
		part := d.Components[parts[i%len(parts)]]
		m := part.Modes[rng.IntN(len(part.Modes))]
		p := 0.3 + 0.7*rng.Float64()
		if once {
			p = 0.4 * rng.Float64() * rng.Float64()
		}
		if size.Extreme {
			switch rng.IntN(12) {
			case 0:
				p = 0
			case 1:
				p = 1
			case 2:
				p = 1e-9
			}
		}
		out[part.ID+"."+m.ID] = p
	}
	return out
}

func (d *document) test(rng *rand.Rand, size Size, index, outcomes int) test {
	t := test{
		ID: fmt.Sprintf("t%d", index), Title: fmt.Sprintf("Test %d", index), At: d.anySetup(rng),
		Minutes: pointer(tenths(rng, 10)), Money: pointer(tenths(rng, 1)), Source: "dice",
		Given: map[string][]float64{}, Steadiness: math.Pow(10, 3*rng.Float64()-1),
	}
	if size.Extreme && rng.IntN(3) == 0 {
		t.Steadiness = math.Pow(10, 12*rng.Float64()-6)
	}
	if rng.IntN(3) == 0 {
		t.Needs = []string{d.Tools[rng.IntN(len(d.Tools))].ID}
	}
	if rng.IntN(4) == 0 {
		t.Cautions = []string{"sparks"}
	}
	for k := range outcomes {
		t.Outcomes = append(t.Outcomes, outcome{ID: fmt.Sprintf("o%d", k), Title: fmt.Sprintf("Seen %d", k)})
	}
	if rng.IntN(2) == 0 {
		t.measured(rng, size)
	}
	t.Healthy = healthy(rng, size, outcomes)
	var listed []string
	for _, c := range d.Components {
		for _, m := range c.Modes {
			if rng.IntN(5) < 3 {
				listed = append(listed, c.ID+"."+m.ID)
				t.Given[c.ID+"."+m.ID] = given(t.Healthy, ratios(rng, size, outcomes))
			}
		}
	}
	if size.Extreme && rng.IntN(6) == 0 {
		t.blur(rng, listed)
	}
	return t
}

// measured gives the test a meter and deals the intervals of the line to its outcomes.
func (t *test) measured(rng *rand.Rand, size Size) {
	nominal := (rng.Float64() - 0.3) * math.Pow(10, 4*rng.Float64()-1)
	t.Reading = &reading{Unit: "V", Percent: 2 * rng.Float64(), Absolute: 0.01 * math.Abs(nominal) * rng.Float64()}
	if rng.IntN(2) == 0 {
		t.Reading.Nominal = &nominal
	}
	if rng.IntN(4) == 0 {
		t.Reading.Percent = 0
	}
	if rng.IntN(4) == 0 && t.Reading.Percent > 0 {
		t.Reading.Absolute = 0
	}
	if size.Extreme && rng.IntN(8) == 0 {
		t.Reading.Percent, t.Reading.Absolute = 0, 0
	}
	u := (t.Reading.Percent/100*math.Abs(nominal) + t.Reading.Absolute) / math.Sqrt(3)
	if u == 0 {
		u = 0.01 * math.Abs(nominal)
	}
	borders := make([]float64, 0, len(t.Outcomes)-1)
	for len(borders) < len(t.Outcomes)-1 {
		b := nominal + 12*u*rng.NormFloat64()
		if size.Extreme && len(borders) > 0 && rng.IntN(5) == 0 {
			b = borders[0] + u*math.Pow(10, -3-2*rng.Float64())
		}
		if !slices.Contains(borders, b) {
			borders = append(borders, b)
		}
	}
	slices.Sort(borders)
	for i, k := range rng.Perm(len(t.Outcomes)) { // outcome k gets the i-th interval
		if i > 0 {
			t.Outcomes[k].From = &borders[i-1]
		}
		if i < len(borders) {
			t.Outcomes[k].To = &borders[i]
		}
	}
}

// healthy draws a row that mostly leans to the best outcome.
func healthy(rng *rand.Rand, size Size, n int) []float64 {
	row := make([]float64, n)
	sum := 0.0
	lean := rng.IntN(4) > 0
	for k := range row {
		row[k] = 0.02 + rng.ExpFloat64()
		if lean && k == 0 {
			row[k] += 10 * rng.Float64()
		}
		if size.Extreme && rng.IntN(6) == 0 {
			row[k] = 1e-9 * (0.5 + rng.Float64())
		}
		sum += row[k]
	}
	if sum < 1e-3 {
		row[0] += 1
		sum++
	}
	for k := range row {
		row[k] /= sum
	}
	return row
}

// ratios draws the steps of a ratio that rises to 1; ties are common.
func ratios(rng *rand.Rand, size Size, n int) []float64 {
	steps := make([]float64, n)
	sum := 0.0
	for k := range steps {
		steps[k] = 0.01 + rng.ExpFloat64()
		if k > 0 && rng.IntN(4) == 0 {
			steps[k] = 0
		}
		if k == 0 && rng.IntN(3) > 0 {
			steps[k] *= 0.1
		}
		if size.Extreme && k == 0 && rng.IntN(5) == 0 {
			steps[k] = 1e-9 * (0.5 + rng.Float64())
		}
		sum += steps[k]
	}
	if sum < 1e-3 {
		steps[n-1] = 1
		sum++
	}
	for k := range steps {
		steps[k] /= sum
	}
	return steps
}

func given(healthy, steps []float64) []float64 {
	row := make([]float64, len(healthy))
	ratio, below := 0.0, 0.0
	for k, h := range healthy {
		ratio += steps[k]
		row[k] = float64(h*ratio) + float64(below*steps[k])
		below += h
	}
	return row
}

// blur scales every row by its own factor within 4e-10 of 1, so that sums are off as
// far as a valid file allows.
func (t *test) blur(rng *rand.Rand, order []string) {
	scale := func(row []float64) {
		f := 1 + 4e-10*(2*rng.Float64()-1)
		for k := range row {
			row[k] *= f
		}
	}
	scale(t.Healthy)
	for _, id := range order {
		scale(t.Given[id])
	}
}

// tenths draws from 0 to bound in tenths.
func tenths(rng *rand.Rand, bound int) float64 { return float64(rng.IntN(10*bound+1)) / 10 }

func pointer(x float64) *float64 { return &x }
