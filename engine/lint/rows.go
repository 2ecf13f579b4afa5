package lint

import (
	"fmt"
	"math"
	"reflect"

	"pitwise/engine/belief"
	"pitwise/engine/document"
	"pitwise/engine/model"
)

// Apart is the least distance of two rows in some test for two modes to count as told
// apart. The distance is the total variation, half the sum of the absolute differences:
// 0 for the same odds, 1 for odds that share no outcome.
const Apart = 0.25

// RareBelow is the probability below which an outcome is not worth a button.
const RareBelow = 1e-4

// Rows returns what the tables of a model show. The space must be the model's.
func Rows(s *belief.Space) []Finding {
	m := s.Model()
	var all []Finding
	all = append(all, twins(m)...)
	all = append(all, rare(s)...)
	for i := range m.Tests {
		all = append(all, odd(m, &m.Tests[i])...)
		all = append(all, steep(m, &m.Tests[i])...)
	}
	all = append(all, covered(m)...)
	all = append(all, renewing(m)...)
	all = append(all, beaten(m)...)
	return all
}

// given returns the odds of a test's outcomes when the mode is the only fault.
func given(t *model.Test, mode int) []float64 {
	for i := range t.Given {
		if t.Given[i].Mode == mode {
			return t.Given[i].P
		}
	}
	return t.Healthy
}

// distance returns the total variation between two rows.
func distance(p, q []float64) float64 {
	d := 0.0
	for i := range p {
		d += math.Abs(p[i] - q[i])
	}
	return d / 2
}

func twins(m *model.Model) []Finding {
	var all []Finding
	for f := range m.Modes {
		for g := f + 1; g < len(m.Modes); g++ {
			best, by := 0.0, -1
			for i := range m.Tests {
				t := &m.Tests[i]
				if d := distance(given(t, f), given(t, g)); d > best {
					best, by = d, i
				}
			}
			if best >= Apart {
				continue
			}
			found := "no test shows a difference"
			if by >= 0 {
				found = fmt.Sprintf("the best test, %s, differs by %.2f, want %.2f", m.Tests[by].ID, best, Apart)
			}
			all = append(all, Finding{Twins, []string{string(m.Modes[f].ID), string(m.Modes[g].ID)}, found})
		}
	}
	return all
}

// rare looks at every combination of faults that the space keeps.
func rare(s *belief.Space) []Finding {
	m := s.Model()
	var all []Finding
	for i := range m.Tests {
		t := &m.Tests[i]
		n := len(t.Outcomes)
		most := make([]float64, n)
		_, odds := s.Classes(i)
		for c := 0; c < len(odds)/n; c++ {
			for o := range n {
				most[o] = max(most[o], odds[c*n+o])
			}
		}
		for o, p := range most {
			if p < RareBelow {
				all = append(all, Finding{Rare, []string{string(t.ID), string(t.Outcomes[o].ID)}, fmt.Sprintf("at most %.2g whatever is wrong", p)})
			}
		}
	}
	return all
}

// odd looks for rows that say what healthy says, or better. A model that loads can have
// the latter only within the loader's tolerance.
func odd(m *model.Model, t *model.Test) []Finding {
	var all []Finding
	for _, row := range t.Given {
		of := []string{string(t.ID), string(m.Modes[row.Mode].ID)}
		if distance(row.P, t.Healthy) < 1e-6 {
			all = append(all, Finding{Idle, of, "the row says what healthy says"})
			continue
		}
		h, f := 0.0, 0.0
		for k := range row.P {
			h += t.Healthy[k]
			f += row.P[k]
			if f > h+1e-12 && k < len(row.P)-1 {
				all = append(all, Finding{Healthier, of, fmt.Sprintf("%s or better comes with %.12g, healthy with %.12g", t.Outcomes[k].ID, f, h)})
				break
			}
		}
	}
	return all
}

// SteepFrom is the factor between a row and healthy from which an outcome has to say why.
const SteepFrom = 10

// steep looks for outcomes that some fault makes more than SteepFrom times likelier than
// healthy, or rarer, in a test that says nowhere why: neither of itself nor of the outcome.
func steep(m *model.Model, t *model.Test) []Finding {
	var all []Finding
	for o := range t.Outcomes {
		if t.Why != "" || t.Outcomes[o].Why != "" {
			continue
		}
		most, mode, more := 0.0, -1, -1
		for _, row := range t.Given {
			if by := max(row.P[o]/t.Healthy[o], t.Healthy[o]/row.P[o]); by > SteepFrom {
				more++
				if by > most {
					most, mode = by, row.Mode
				}
			}
		}
		if mode < 0 {
			continue
		}
		times := "likelier"
		if given(t, mode)[o] < t.Healthy[o] {
			times = "rarer"
		}
		found := fmt.Sprintf("%s makes it %.3g times %s", m.Modes[mode].ID, most, times)
		if more > 0 {
			found += fmt.Sprintf(" and %d more by above %d", more, SteepFrom)
		}
		all = append(all, Finding{Steep, []string{string(t.ID), string(t.Outcomes[o].ID)}, found + ", and no why says how that is known"})
	}
	return all
}

// Unasked returns the weighty repairs (model.Repair.Weighty) that ask for no result first.
func Unasked(m *model.Model) []Finding {
	var all []Finding
	for i := range m.Repairs {
		r := &m.Repairs[i]
		if r.Weighty() && len(r.OnlyAfter.Any) == 0 {
			found := fmt.Sprintf("%s minutes of work without only_after", document.Number64(r.Minutes))
			for _, id := range r.Cautions {
				if id == "mains" || id == "laser" {
					found = fmt.Sprintf("work under the caution %s without only_after", id)
				}
			}
			all = append(all, Finding{Blind, []string{string(r.ID)}, found})
		}
	}
	return all
}

// covered looks for modes that no test shows or no repair takes away.
func covered(m *model.Model) []Finding {
	seen, mended := make([]bool, len(m.Modes)), make([]bool, len(m.Modes))
	for i := range m.Tests {
		for _, row := range m.Tests[i].Given {
			seen[row.Mode] = true
		}
	}
	changes := func(c model.Change) {
		for _, f := range c.Fixes {
			mended[f.Mode] = mended[f.Mode] || f.P > 0
		}
	}
	for i := range m.Repairs {
		changes(m.Repairs[i].Change)
	}
	for i := range m.Setups {
		changes(m.Setups[i].Enter.Change)
		changes(m.Setups[i].Leave.Change)
	}
	var all []Finding
	for i := range m.Modes {
		of := []string{string(m.Modes[i].ID)}
		if !seen[i] {
			all = append(all, Finding{Unseen, of, "no test has a row for it"})
		}
		if !mended[i] {
			all = append(all, Finding{Unmended, of, "no repair takes it away"})
		}
	}
	return all
}

// SlightBelow is the risk below which it hardly weighs in any advice.
const SlightBelow = 0.02

// renewing looks for repairs and ways whose slight risk of a mode makes a repair of it forget that it failed
// (model.Disturbed), and looks at it count as none: the planner then does the one so as to try the other afresh.
func renewing(m *model.Model) []Finding {
	var all []Finding
	look := func(id string, c model.Change, self int) {
		for _, risk := range c.Risks {
			if risk.P >= SlightBelow {
				continue
			}
			for j := range m.Repairs {
				if r := &m.Repairs[j]; j != self && r.Steadiness > 0 && chance(r.Change.Fixes, risk.Mode) > 0 {
					all = append(all, Finding{Renewing, []string{id, string(m.Modes[risk.Mode].ID)}, fmt.Sprintf("%s then counts as never tried, for a risk of %.2g", r.ID, risk.P)})
					break
				}
			}
		}
	}
	for i := range m.Setups {
		look(string(m.Setups[i].ID), m.Setups[i].Enter.Change, -1)
		look(string(m.Setups[i].ID), m.Setups[i].Leave.Change, -1)
	}
	for i := range m.Repairs {
		look(string(m.Repairs[i].ID), m.Repairs[i].Change, i)
	}
	return all
}

// beaten looks for repairs that another one beats: at least as likely to take away each
// mode, no likelier to bring one in, no dearer by any terms, in a setup on the way to
// its own, needing no tool that it does not need; and better in one of these.
func beaten(m *model.Model) []Finding {
	var all []Finding
	for i := range m.Repairs {
		for j := range m.Repairs {
			if i != j && beats(m, &m.Repairs[j], &m.Repairs[i]) {
				all = append(all, Finding{Beaten, []string{string(m.Repairs[i].ID)}, fmt.Sprintf("%s does as well in every respect", m.Repairs[j].ID)})
				break
			}
		}
	}
	return all
}

func beats(m *model.Model, a, b *model.Repair) bool {
	better := false
	// at reports whether x is at most y, and notes it if it is less.
	most := func(x, y float64) bool {
		better = better || x < y
		return x <= y
	}
	if !most(a.Minutes, b.Minutes) || !most(a.Money, b.Money) {
		return false
	}
	if a.At != b.At {
		if !above(m, a.At, b.At) {
			return false
		}
		better = true
	}
	for _, tool := range a.Needs {
		if !contains(b.Needs, tool) {
			return false
		}
	}
	better = better || len(a.Needs) < len(b.Needs)
	if len(a.OnlyAfter.Any) > 0 && !reflect.DeepEqual(a.OnlyAfter, b.OnlyAfter) {
		return false
	}
	better = better || len(a.OnlyAfter.Any) < len(b.OnlyAfter.Any)
	if !most(forgets(b), forgets(a)) {
		return false
	}
	for f := range m.Modes {
		if !most(chance(b.Change.Fixes, f), chance(a.Change.Fixes, f)) || !most(chance(a.Change.Risks, f), chance(b.Change.Risks, f)) {
			return false
		}
	}
	return better
}

// forgets returns how little a repair remembers: its steadiness, infinite if it has none.
func forgets(r *model.Repair) float64 {
	if r.Steadiness == 0 {
		return math.Inf(1)
	}
	return r.Steadiness
}

// above reports whether setup a lies on the way from the root to b.
func above(m *model.Model, a, b int) bool {
	for b >= 0 {
		if a == b {
			return true
		}
		b = m.Setups[b].Inside
	}
	return false
}

func chance(all []model.Chance, mode int) float64 {
	for _, c := range all {
		if c.Mode == mode {
			return c.P
		}
	}
	return 0
}

func contains[T comparable](all []T, x T) bool {
	for _, y := range all {
		if x == y {
			return true
		}
	}
	return false
}
