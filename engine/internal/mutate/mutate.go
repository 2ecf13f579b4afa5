package mutate

import (
	"encoding/json"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
)

// Document returns the text with so many changes at random places. The same source
// of randomness gives the same text. It panics on a text that is not JSON.
func Document(rng *rand.Rand, text []byte, changes int) []byte {
	var root any
	d := json.NewDecoder(strings.NewReader(string(text)))
	d.UseNumber()
	if err := d.Decode(&root); err != nil {
		panic(err)
	}
	for range changes {
		m := mutator{rng: rng}
		m.count(root)
		if m.places == 0 {
			break
		}
		m.target = rng.IntN(m.places)
		m.places = 0
		root = m.value(root)
	}
	out, err := json.Marshal(root)
	if err != nil {
		panic(err)
	}
	return out
}

// Text returns s with so many changes at random places: a byte lost, one of the letters put in,
// or one put in place of a byte.
func Text(rng *rand.Rand, s, letters string, changes int) string {
	b := []byte(s)
	for range changes {
		at := rng.IntN(len(b) + 1)
		lost, came := min(rng.IntN(2), len(b)-at), rng.IntN(2)
		i := rng.IntN(len(letters))
		b = slices.Replace(b, at, at+lost, []byte(letters[i:i+came])...)
	}
	return string(b)
}

type mutator struct {
	rng    *rand.Rand
	places int
	target int
	names  []string // strings and keys of the document
}

func (m *mutator) count(v any) {
	m.places++
	switch v := v.(type) {
	case map[string]any:
		for _, key := range slices.Sorted(maps.Keys(v)) {
			m.names = append(m.names, key)
			m.count(v[key])
		}
	case []any:
		for _, each := range v {
			m.count(each)
		}
	case string:
		m.names = append(m.names, v)
	}
}

// value walks in the order of count and changes the value at the target.
func (m *mutator) value(v any) any {
	here := m.places
	m.places++
	if here == m.target {
		return m.change(v)
	}
	switch v := v.(type) {
	case map[string]any:
		for _, key := range slices.Sorted(maps.Keys(v)) {
			v[key] = m.value(v[key])
		}
	case []any:
		for i := range v {
			v[i] = m.value(v[i])
		}
	}
	return v
}

func (m *mutator) any() any {
	all := []any{nil, true, false, "", "x", "Not An Id", json.Number("0"), json.Number("1"), json.Number("-1"), json.Number("0.5"), json.Number("1e-300"),
		json.Number("1e300"), json.Number("1e999"), json.Number("7"), json.Number("2.5"), []any{}, []any{json.Number("1")}, map[string]any{}, map[string]any{"a.b": json.Number("0.5")}, m.name()}
	return all[m.rng.IntN(len(all))]
}

func (m *mutator) name() string {
	if len(m.names) == 0 {
		return "name"
	}
	return m.names[m.rng.IntN(len(m.names))]
}

func (m *mutator) change(v any) any {
	if m.rng.IntN(3) == 0 {
		return m.any()
	}
	switch v := v.(type) {
	case map[string]any:
		keys := slices.Sorted(maps.Keys(v))
		if len(keys) == 0 || m.rng.IntN(3) == 0 {
			v[m.name()] = m.any()
			return v
		}
		key := keys[m.rng.IntN(len(keys))]
		switch m.rng.IntN(3) {
		case 0:
			delete(v, key)
		case 1:
			v[m.name()] = v[key]
			delete(v, key)
		default:
			v[strings.ToUpper(key)] = v[key]
			delete(v, key)
		}
		return v
	case []any:
		if len(v) == 0 || m.rng.IntN(4) == 0 {
			return append(v, m.any())
		}
		i := m.rng.IntN(len(v))
		switch m.rng.IntN(3) {
		case 0:
			return slices.Delete(v, i, i+1)
		case 1:
			return append(v, v[i])
		default:
			j := m.rng.IntN(len(v))
			v[i], v[j] = v[j], v[i]
			return v
		}
	case string:
		return m.name()
	case json.Number:
		x, err := v.Float64()
		if err != nil {
			return m.any()
		}
		return x * []float64{0, -1, 2, 0.5, 1 + 1e-9, 1 - 1e-10, 1e6}[m.rng.IntN(7)]
	}
	return m.any()
}
