package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A chance draws truths and units with a generator of its own, sharing no code with the
// package but the layout of its blocks.
type chance struct {
	*rand.Rand
	f *frame
}

// gamma draws from a gamma distribution of that shape, as a log, since small shapes underflow.
// Source: Marsaglia & Tsang (2000), ACM TOMS 26(3).
func (d chance) logGamma(shape float64) float64 {
	if shape < 1 {
		return d.logGamma(shape+1) + math.Log(1-d.Float64())/shape
	}
	a := shape - 1.0/3
	c := 1 / math.Sqrt(9*a)
	for {
		x := d.NormFloat64()
		v := 1 + c*x
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(1-d.Float64()) < x*x/2+a-a*v+a*math.Log(v) {
			return math.Log(a * v)
		}
	}
}

// dirichlet draws a row whose mean is p.
func (d chance) dirichlet(weight float64, p []float64) []float64 {
	out := make([]float64, len(p))
	most := math.Inf(-1)
	for k, x := range p {
		out[k] = math.Inf(-1)
		if x > 0 {
			out[k] = d.logGamma(weight * x)
		}
		most = max(most, out[k])
	}
	sum := 0.0
	for k := range out {
		out[k] = math.Exp(out[k] - most)
		if p[k] > 0 {
			out[k] = max(out[k], 1e-9)
		}
		sum += out[k]
	}
	for k := range out {
		out[k] /= sum
	}
	return out
}

// truth draws numbers around the shipped ones, each block with its own weight.
func (d chance) truth() []float64 {
	out := slices.Clone(d.f.ship)
	for i := range d.f.blocks {
		copy(d.f.row(out, i), d.dirichlet(d.f.blocks[i].Weight, d.f.row(d.f.ship, i)))
	}
	return out
}

func (d chance) pick(row []float64) int {
	x := d.Float64()
	for k, p := range row[:len(row)-1] {
		if x -= p; x < 0 {
			return k
		}
	}
	return len(row) - 1
}

// A thing is one true unit.
type thing struct {
	chance
	numbers []float64
	faults  map[int]int // by component: the mode
	urns    map[int][]int
	tries   map[[2]int]int
}

func (u *thing) show(test int) int {
	f := u.f
	m := f.model
	drawn := u.urns[test]
	kappa := m.Tests[test].Steadiness
	o := 0
	if i := u.Float64() * (kappa + float64(len(drawn))); i < float64(len(drawn)) {
		o = drawn[int(i)]
	} else {
		o = u.pick(f.row(u.numbers, f.leak[test]))
		for i, g := range m.Tests[test].Given {
			if mode, bad := u.faults[m.Modes[g.Mode].Component]; bad && mode == g.Mode {
				o = max(o, u.pick(f.row(u.numbers, f.links[test][i])))
			}
		}
	}
	u.urns[test] = append(drawn, o)
	return o
}

func (u *thing) apply(change int) {
	f := u.f
	mv := &f.change[change]
	for i, x := range mv.change.Fixes {
		c := f.model.Modes[x.Mode].Component
		if mode, bad := u.faults[c]; bad && mode == x.Mode {
			p := f.row(u.numbers, mv.fixes[i])[0]
			if n := float64(u.tries[[2]int{change, i}]); mv.kappa > 0 {
				p = mv.kappa * p / (mv.kappa + n)
			}
			if u.Float64() < p {
				delete(u.faults, c)
			}
		}
		u.tries[[2]int{change, i}]++
	}
	for i, x := range mv.change.Risks {
		c := f.model.Modes[x.Mode].Component
		if _, bad := u.faults[c]; !bad && u.Float64() < f.row(u.numbers, mv.risks[i])[0] {
			u.faults[c] = x.Mode
		}
		for r := range f.model.Repairs {
			for k, y := range f.model.Repairs[r].Change.Fixes {
				if x.Mode == y.Mode {
					u.tries[[2]int{r, k}] = 0
				}
			}
		}
	}
	for t := range u.urns {
		if mv.touch[t] {
			delete(u.urns, t)
		}
	}
}

// unit draws a unit that is brought in, and an evening of so many random steps with it. The
// causes are what was wrong at intake.
func (d chance) unit(numbers []float64, steps int) (*trail.Trail, []model.ModeID) {
	f := d.f
	m := f.model
	for {
		u := &thing{chance: d, numbers: numbers, faults: map[int]int{}, urns: map[int][]int{}, tries: map[[2]int]int{}}
		for c := range m.Components {
			if k := d.pick(f.row(numbers, f.prior[c])); k > 0 {
				u.faults[c] = m.Components[c].FirstMode + k - 1
			}
		}
		if len(u.faults) > m.MostFaults {
			continue
		}
		first := u.show(m.Intake)
		if first == 0 {
			continue
		}
		var causes []model.ModeID
		for i := range m.Modes {
			if mode, bad := u.faults[m.Modes[i].Component]; bad && mode == i {
				causes = append(causes, m.Modes[i].ID)
			}
		}
		t := &trail.Trail{ID: fmt.Sprint(d.Uint64()), Created: "2026-01-01T00:00:00Z", Model: trail.ModelRef{ID: m.ID, SHA256: m.SHA256}}
		add := func(e trail.Event) {
			e.N, e.At = len(t.Events)+1, t.Created
			t.Events = append(t.Events, e)
		}
		result := func(test, o int) {
			add(trail.Event{Kind: trail.Result, Test: m.Tests[test].ID, Outcome: m.Tests[test].Outcomes[o].ID})
		}
		for test := range m.Tests {
			if m.Tests[test].Told && test != m.Intake {
				result(test, u.show(test))
			}
		}
		result(m.Intake, first)
		setup := m.Root
		goTo := func(to int) {
			if to == setup {
				return
			}
			for _, mv := range m.Way(setup, to) {
				u.apply(f.move(mv))
			}
			setup = to
			add(trail.Event{Kind: trail.Setup, Setup: m.Setups[to].ID})
		}
		for range steps {
			if len(m.Repairs) > 0 && d.IntN(4) == 0 {
				r := d.IntN(len(m.Repairs))
				goTo(m.Repairs[r].At)
				add(trail.Event{Kind: trail.Repair, Repair: m.Repairs[r].ID})
				u.apply(r)
				continue
			}
			test := d.IntN(len(m.Tests))
			if m.Tests[test].Told {
				continue
			}
			goTo(m.Tests[test].At)
			result(test, u.show(test))
		}
		if len(u.faults) > m.MostFaults {
			continue
		}
		return t, causes
	}
}
