package model

import "slices"

// After returns the repair's change on a unit on which it has been tried before: tries is, for
// each of Change.Fixes, how many tries the fault has outlived, each at least 0. A fix of chance p
// then has
//
//	kappa*p / (kappa + n)
//
// the next draw from a latent rate Beta(kappa*p, kappa*(1-p)) that failed n times. Without
// Steadiness, with nil and for a fault not tried yet the chance is p to the last bit.
// Source: beta-binomial predictive distribution.
func (r *Repair) After(tries []int) Change {
	if r.Steadiness == 0 {
		return r.Change
	}
	c := r.Change
	for i, n := range tries {
		if n == 0 {
			continue
		}
		if &c.Fixes[0] == &r.Change.Fixes[0] {
			c.Fixes = append([]Chance(nil), c.Fixes...)
		}
		c.Fixes[i].P = float64(r.Steadiness*c.Fixes[i].P) / (r.Steadiness + float64(n))
	}
	return c
}

// Untried returns the counts of a unit on which nothing has been tried: for each repair that
// remembers its failures a number for each of its fixes, nil for the others; nil if no repair
// of the model remembers.
func (m *Model) Untried() [][]int {
	var tries [][]int
	for r := range m.Repairs {
		if m.Repairs[r].Steadiness == 0 || len(m.Repairs[r].Change.Fixes) == 0 {
			continue
		}
		if tries == nil {
			tries = make([][]int, len(m.Repairs))
		}
		tries[r] = make([]int, len(m.Repairs[r].Change.Fixes))
	}
	return tries
}

// Tried returns what the counts of Untried come to when a repair is done. It leaves tries as
// they were.
func (m *Model) Tried(tries [][]int, repair int) [][]int {
	if tries == nil {
		return nil
	}
	if tries[repair] != nil {
		next := slices.Clone(tries[repair])
		for i := range next {
			next[i]++
		}
		tries = slices.Clone(tries)
		tries[repair] = next
	}
	return m.Disturbed(tries, m.Repairs[repair].Change)
}

// Disturbed returns what the counts come to by a change: a mode that stands in its risks may be
// a new fault, so that every count of tries against it begins afresh. It leaves tries as they
// were. Tried does this for the repair itself.
func (m *Model) Disturbed(tries [][]int, c Change) [][]int {
	if tries == nil {
		return nil
	}
	own := false
	for r := range tries {
		mine := false
		for i := range tries[r] {
			if tries[r][i] == 0 || !slices.ContainsFunc(c.Risks, func(x Chance) bool { return x.Mode == m.Repairs[r].Change.Fixes[i].Mode }) {
				continue
			}
			if !own {
				tries, own = slices.Clone(tries), true
			}
			if !mine {
				tries[r], mine = slices.Clone(tries[r]), true
			}
			tries[r][i] = 0
		}
	}
	return tries
}

// Met reports whether what was seen last is what a repair asks for; seen is the last outcome
// of each test by index, -1 for none. The zero OnlyAfter is always met.
func (o *OnlyAfter) Met(seen []int) bool {
	if len(o.Any) == 0 {
		return true
	}
	for _, s := range o.Any {
		if s.Test < len(seen) && slices.Contains(s.Outcomes, seen[s.Test]) {
			return true
		}
	}
	return false
}

// Allows reports whether a repair is on offer as far as OnlyAfter goes: it is Met, or the tools
// at hand allow none of the tests that it names, and it is not strict.
func (m *Model) Allows(o *OnlyAfter, seen []int, tools []ToolID) bool {
	if o.Met(seen) {
		return true
	}
	if o.Strict {
		return false
	}
	for _, s := range o.Any {
		if !slices.ContainsFunc(m.Tests[s.Test].Needs, func(id ToolID) bool { return !slices.Contains(tools, id) }) {
			return false
		}
	}
	return true
}

// BearsOn reports whether a test looks at anything that a repair fixes.
func (t *Test) BearsOn(r *Repair) bool {
	return slices.ContainsFunc(r.Change.Fixes, func(f Chance) bool {
		return f.P > 0 && slices.ContainsFunc(t.Given, func(row Row) bool { return row.Mode == f.Mode })
	})
}

// LongWork is how many minutes of work a repair may take before it asks for a look first.
const LongWork = 15

// Weighty reports whether a repair is one that common practice does only after a look or a
// meter: more than LongWork minutes, or under a caution of mains voltage or of laser light,
// which models give the ids "mains" and "laser".
func (r *Repair) Weighty() bool {
	return r.Minutes > LongWork || slices.Contains(r.Cautions, "mains") || slices.Contains(r.Cautions, "laser")
}
