package oracle

import (
	"slices"
)

// A hypothesis has, for each component, 0 if it is sound or the number of its mode,
// counted from 1.
type hypothesis []int8

func (s hypothesis) key() string {
	b := make([]byte, len(s))
	for i, f := range s {
		b[i] = byte(f)
	}
	return string(b)
}

func (s hypothesis) faults() int {
	n := 0
	for _, f := range s {
		if f != 0 {
			n++
		}
	}
	return n
}

// names lists the modes that are present.
func (m *Model) names(s hypothesis) []string {
	var out []string
	for c, f := range s {
		if f != 0 {
			out = append(out, m.Components[c].ID+"."+m.Components[c].Modes[f-1].ID)
		}
	}
	return out
}

// find returns the component and the number of a mode that is written component.mode.
func (m *Model) find(id string) (component int, mode int8) {
	for c, part := range m.Components {
		for f, one := range part.Modes {
			if part.ID+"."+one.ID == id {
				return c, int8(f + 1)
			}
		}
	}
	return -1, 0
}

// list enumerates every kept hypothesis with its weight w(S), and what the cut dropped.
func (m *Model) list() {
	m.index = map[string]int{}
	m.laws, m.likes = map[string][][]num{}, map[string][]int{}
	m.dropped = whole(1)
	current := make(hypothesis, len(m.Components))
	var visit func(c int, weight num)
	visit = func(c int, weight num) {
		if current.faults() > m.MostFaults {
			return
		}
		if c == len(m.Components) {
			m.index[current.key()] = len(m.kept)
			m.kept = append(m.kept, slices.Clone(current))
			m.prior = append(m.prior, weight)
			m.dropped = sub(m.dropped, weight)
			return
		}
		sound := whole(1)
		for _, f := range m.Components[c].Modes {
			sound = sub(sound, exact(f.Prior))
		}
		current[c] = 0
		visit(c+1, mul(weight, sound))
		for f, one := range m.Components[c].Modes {
			current[c] = int8(f + 1)
			visit(c+1, mul(weight, exact(one.Prior)))
		}
		current[c] = 0
	}
	visit(0, whole(1))
}

// outcomes is the outcome law P(k|S), from the cumulative sums F(k|S) as the format
// has them.
func (m *Model) outcomes(t *test, s hypothesis) []num {
	out := make([]num, len(t.Healthy))
	before := zero()
	for k := range t.Healthy {
		q := sum(t.Healthy[:k+1])
		f := zero().Set(q)
		for _, id := range m.names(s) {
			if row, ok := t.Given[id]; ok {
				f = mul(f, quo(sum(row[:k+1]), q))
			}
		}
		out[k] = sub(f, before)
		before = f
	}
	return out
}

func sum(row []float64) num {
	total := zero()
	for _, p := range row {
		total = add(total, exact(p))
	}
	return total
}

// law returns P(k|S) for every kept hypothesis.
func (m *Model) law(t *test) [][]num {
	if m.laws[t.ID] == nil {
		var law [][]num
		for h, g := range m.like(t) {
			if g < h {
				law = append(law, law[g])
			} else {
				law = append(law, m.outcomes(t, m.kept[h]))
			}
		}
		m.laws[t.ID] = law
	}
	return m.laws[t.ID]
}

// like returns for every kept hypothesis the first that has the same modes of those in
// the test's given: both have the same law.
func (m *Model) like(t *test) []int {
	if m.likes[t.ID] == nil {
		first := map[string]int{}
		for h, s := range m.kept {
			known := ""
			for _, id := range m.names(s) {
				if _, ok := t.Given[id]; ok {
					known += id + " "
				}
			}
			if _, ok := first[known]; !ok {
				first[known] = h
			}
			m.likes[t.ID] = append(m.likes[t.ID], first[known])
		}
	}
	return m.likes[t.ID]
}

// Outcomes returns P(k|S) of a test when exactly the given modes are present.
func (m *Model) Outcomes(testID string, modes ...string) []float64 {
	s := make(hypothesis, len(m.Components))
	for _, id := range modes {
		c, f := m.find(id)
		s[c] = f
	}
	return floats(m.outcomes(m.test(testID), s))
}

func floats(in []num) []float64 {
	out := make([]float64, len(in))
	for i, x := range in {
		out[i] = float(x)
	}
	return out
}

// Weights returns the weight of a reading on each outcome of a test.
func (m *Model) Weights(testID string, x float64) []float64 {
	return floats(m.test(testID).weights(x))
}

func (t *test) weights(x float64) []num {
	if known, ok := t.read[x]; ok {
		return known // nobody changes a number that is there
	}
	size := zero().Abs(exact(x))
	u := quo(add(mul(quo(exact(t.Reading.Percent), whole(100)), size), exact(t.Reading.Absolute)), root(whole(3)))
	out := make([]num, len(t.Outcomes))
	for k, o := range t.Outcomes {
		if u.Sign() == 0 {
			out[k] = zero()
			if (o.From == nil || *o.From <= x) && (o.To == nil || x < *o.To) {
				out[k] = whole(1)
			}
			continue
		}
		var from, to num
		if o.From != nil {
			from = quo(sub(exact(*o.From), exact(x)), u)
		}
		if o.To != nil {
			to = quo(sub(exact(*o.To), exact(x)), u)
		}
		out[k] = between(from, to)
	}
	if t.read == nil {
		t.read = map[float64][]num{}
	}
	t.read[x] = out
	return out
}

// named is the weight of a result that names its outcome.
func (t *test) named(id string) []num {
	out := make([]num, len(t.Outcomes))
	for k, o := range t.Outcomes {
		out[k] = zero()
		if o.ID == id {
			out[k] = whole(1)
		}
	}
	return out
}
