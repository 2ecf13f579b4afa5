package oracle

import "slices"

// An urn holds the results of one test since a change last touched it: for every way
// to count them over the outcomes (c_o), the sum over all assignments o_1…o_n with
// those counts of the product of the results' weights.
type urn struct {
	n     int
	ways  map[string]num
	joint []num // L under each kept hypothesis, worked out last
}

func newUrn(m *Model) *urn {
	u := &urn{ways: map[string]num{"": whole(1)}}
	for range m.kept {
		u.joint = append(u.joint, whole(1))
	}
	return u
}

// with returns the urn with one more result.
func (u *urn) with(m *Model, t *test, weights []num) *urn {
	next := &urn{n: u.n + 1, ways: map[string]num{}}
	for key, way := range u.ways {
		for o, w := range weights {
			if w.Sign() == 0 {
				continue
			}
			counts := make([]byte, len(weights))
			copy(counts, key)
			counts[o]++
			if old := next.ways[string(counts)]; old != nil {
				next.ways[string(counts)] = add(old, mul(way, w))
			} else {
				next.ways[string(counts)] = mul(way, w)
			}
		}
	}
	keys := make([]string, 0, len(next.ways))
	for key := range next.ways {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	kappa := exact(t.Steadiness)
	below := t.rising(kappa, next.n)[next.n]
	for h, p := range m.law(t) {
		if g := m.like(t)[h]; g < h { // the same modes of those the test knows
			next.joint = append(next.joint, next.joint[g])
			continue
		}
		table := make([][]num, len(p)) // Gamma(kappa P + c) / Gamma(kappa P)
		for o := range p {
			table[o] = t.rising(mul(kappa, p[o]), next.n)
		}
		l := zero()
		for _, key := range keys {
			term := next.ways[key]
			for o := range p {
				if c := key[o]; c > 0 {
					term = mul(term, table[o][c])
				}
			}
			l = add(l, term)
		}
		next.joint = append(next.joint, quo(l, below))
	}
	return next
}

// rising lists the rising factorials Gamma(x+c)/Gamma(x) = x (x+1) … (x+c-1) for
// c = 0…n. The same few are asked for at each result: those of a test are kept.
func (t *test) rising(x num, n int) []num {
	key := x.Text('p', 0)
	out := t.rises[key]
	if out == nil {
		out = []num{whole(1)}
	}
	for c := len(out) - 1; c < n; c++ {
		out = append(out, mul(out[c], add(x, whole(c))))
	}
	if t.rises == nil {
		t.rises = map[string][]num{}
	}
	t.rises[key] = out
	return out[:n+1]
}
