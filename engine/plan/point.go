package plan

import (
	"slices"

	"pitwise/engine/belief"
	"pitwise/engine/model"
)

// A point is a belief as the planner follows it (a belief point, in the literature on point-based
// value iteration): the hypotheses that matter, rising, with their odds; the setup; and the
// record. A point is immutable.
type point struct {
	hyps  []int32
	p     []float64 // sums to 1
	setup int
	record
}

// A record is what was done so far as what comes next depends on it. It is immutable.
type record struct {
	run    set         // tests with results since a change touched them
	counts [][]float64 // by test: how often each outcome was seen, where run has it

	tries [][]int // failures that repairs remember, as model.Untried has them; nil if none does
	seen  []int   // last outcome of each test, -1 for none; nil where no repair asks
}

// of returns the counts of a test; nil if it has no results.
func (r record) of(t int) []float64 {
	if r.run.has(t) {
		return r.counts[t]
	}
	return nil
}

// minus returns the record without the tests of a set.
func (r record) minus(s set) record {
	r.run = r.run.minus(s)
	return r
}

// plus returns the record with one more result of a test that has k outcomes, of tests.
func (r record) plus(t, o, k, tests int) record {
	c := make([]float64, k)
	copy(c, r.of(t))
	c[o]++
	counts := make([][]float64, tests)
	copy(counts, r.counts)
	counts[t] = c
	r.run, r.counts = r.run.with(t), counts
	if r.seen != nil {
		r.seen = slices.Clone(r.seen)
		r.seen[t] = o
	}
	return r
}

// of a repair: how many tries each of its fixes has outlived; nil for none.
func (r record) tried(repair int) []int {
	if r.tries == nil {
		return nil
	}
	return r.tries[repair]
}

// disturbed returns the record after changes that are no repair.
func (r record) disturbed(m *model.Model, changes []model.Change) record {
	for _, c := range changes {
		r.tries = m.Disturbed(r.tries, c)
	}
	return r
}

// mended returns the record after a repair, which touches tests.
func (r record) mended(m *model.Model, repair int, touched set) record {
	r.run = r.run.minus(touched)
	r.tries = m.Tried(r.tries, repair)
	return r
}

// fresh is the record of a unit on which nothing was done.
func (p *Problem) fresh() record {
	r := record{tries: p.model.Untried()}
	if p.asks {
		r.seen = make([]int, len(p.model.Tests))
		for t := range r.seen {
			r.seen[t] = -1
		}
	}
	return r
}

// A set is a set of tests.
type set [4]uint64

func (s set) has(t int) bool { return s[t>>6]>>(t&63)&1 == 1 }
func (s set) with(t int) set { s[t>>6] |= 1 << (t & 63); return s }
func (s set) minus(o set) set {
	for i := range s {
		s[i] &^= o[i]
	}
	return s
}
func (s set) or(o set) set {
	for i := range s {
		s[i] |= o[i]
	}
	return s
}
func (s *set) meets(o *set) bool {
	return s[0]&o[0]|s[1]&o[1]|s[2]&o[2]|s[3]&o[3] != 0
}

// A walker moves points about; it holds the scratch for it and serves one goroutine.
type walker struct {
	*Problem
	net   *net
	sum   []float64 // by hypothesis, all 0 between calls
	seen  []bool    // by hypothesis, all false between calls
	list  []int32
	loose point // of scatter
	row   []int // of joint: where the law of a hypothesis begins
}

func newWalker(p *Problem, n *net) *walker {
	return &walker{Problem: p, net: n, sum: make([]float64, n.n), seen: make([]bool, n.n)}
}

// load starts from dense odds, of which it keeps at most the most likely limit.
func (w *walker) load(odds func(h int) float64, setup, limit int) point {
	for h := range w.net.n {
		if p := odds(h); p > 0 {
			w.put(int32(h), p)
		}
	}
	return w.take(point{setup: setup, record: w.fresh()}, limit)
}

func (w *walker) put(h int32, p float64) {
	if !w.seen[h] {
		w.seen[h] = true
		w.list = append(w.list, h)
	}
	w.sum[h] += p
}

// take empties the scratch into q: the limit most likely hypotheses, scaled to sum to 1.
func (w *walker) take(q point, limit int) point {
	slices.Sort(w.list)
	total := 0.0
	most := 0.0
	for _, h := range w.list {
		total += w.sum[h]
		most = max(most, w.sum[h])
	}
	floor := float64(total * 1e-7)
	if len(w.list) > limit {
		// the least odds that are kept: the limit-th largest
		odds := make([]float64, 0, len(w.list))
		for _, h := range w.list {
			odds = append(odds, w.sum[h])
		}
		floor = max(floor, nth(odds, limit))
	}
	q.hyps = make([]int32, 0, min(limit, len(w.list)))
	q.p = make([]float64, 0, min(limit, len(w.list)))
	kept := 0.0
	for _, h := range w.list {
		if x := w.sum[h]; x >= floor && x > 0 && len(q.hyps) < limit {
			q.hyps = append(q.hyps, h)
			q.p = append(q.p, x)
			kept += x
		}
		w.sum[h], w.seen[h] = 0, false
	}
	w.list = w.list[:0]
	for i := range q.p {
		q.p[i] /= kept
	}
	return q
}

// nth returns the n-th largest of x, which it reorders.
func nth(x []float64, n int) float64 {
	lo, hi := 0, len(x)-1
	for lo < hi {
		pivot := x[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for x[i] > pivot {
				i++
			}
			for x[j] < pivot {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case n-1 <= j:
			hi = j
		case n-1 >= i:
			lo = i
		default:
			return pivot
		}
	}
	return x[n-1]
}

// change returns the point after changes, in a new setup, with another record.
func (w *walker) change(q point, setup int, r record, limit int, changes ...model.Change) point {
	out := point{setup: setup, record: r}
	if len(changes) == 0 {
		out.hyps, out.p = q.hyps, q.p
		return out
	}
	for i, h := range q.hyps {
		w.put(h, q.p[i])
	}
	for _, c := range changes {
		w.alter(c)
	}
	return w.take(out, limit)
}

// alter maps the scratch through a change.
func (w *walker) alter(c model.Change) {
	for t := range c.Transitions() {
		along := w.net.along(t)
		for _, h := range w.list {
			if to := along[h]; to >= 0 && t.P > 0 {
				w.shift(h, to, t.P)
			} else if w.net.cuts(t, h) {
				w.sum[h] = float64(w.sum[h] * (1 - t.P))
			}
		}
	}
}

// scatter returns the odds after a change, in no order and without leaving any out; they
// sum to what is not cut. The slices are good until the next call.
func (w *walker) scatter(q point, c model.Change) (hyps []int32, odds []float64) {
	for i, h := range q.hyps {
		w.put(h, q.p[i])
	}
	w.alter(c)
	w.loose.hyps, w.loose.p = append(w.loose.hyps[:0], w.list...), w.loose.p[:0]
	for _, h := range w.list {
		w.loose.p = append(w.loose.p, w.sum[h])
		w.sum[h], w.seen[h] = 0, false
	}
	w.list = w.list[:0]
	return w.loose.hyps, w.loose.p
}

// shift moves the share p of h's odds to another hypothesis, which does not have its turn
// in the same change of one mode.
func (w *walker) shift(h, to int32, p float64) {
	moved := float64(w.sum[h] * p)
	w.sum[h] = float64(w.sum[h] * (1 - p))
	w.put(to, moved)
}

// goTo returns the point after the way to where a step is done.
func (w *walker) goTo(q point, s Step, limit int) point {
	return w.travel(q, w.At(s, q.setup), limit)
}

// travel returns the point after the way to a setup.
func (w *walker) travel(q point, at, limit int) point {
	if at == q.setup {
		return q
	}
	way := &w.ways[q.setup][at]
	return w.change(q, at, q.minus(way.touched).disturbed(w.model, way.changes), limit, way.changes...)
}

// repair returns the point after a repair at whose setup it is.
func (w *walker) repair(q point, r, limit int) point {
	return w.change(q, q.setup, q.mended(w.model, r, w.touched[r]), limit, w.model.Repairs[r].After(q.tried(r)))
}

// joint fills dst[o] with the odds of each hypothesis of q together with outcome o of a
// test, and returns the probability of each outcome in odds.
func (w *walker) joint(dst [][]float64, odds []float64, q point, t int) ([][]float64, []float64) {
	test := &w.model.Tests[t]
	k := len(test.Outcomes)
	of, law := w.space.ClassesAmong(t, w.net.n)
	for len(dst) < k {
		dst = append(dst, nil)
	}
	dst = dst[:k]
	odds = odds[:0]
	counts := q.of(t)
	n := 0.0
	for _, c := range counts {
		n += c
	}
	w.row = slices.Grow(w.row[:0], len(q.hyps))[:len(q.hyps)]
	for i, h := range q.hyps {
		w.row[i] = int(of[h]) * k
	}
	for o := range dst {
		d := dst[o]
		if cap(d) < len(q.hyps) {
			d = make([]float64, len(q.hyps), len(q.hyps)+32)
		}
		d = d[:len(q.hyps)]
		sum := 0.0
		if counts == nil {
			i := 0
			for ; i+4 <= len(d); i += 4 { // written out for WebAssembly, as in library.go
				r, p, x := (*[4]int)(w.row[i:]), (*[4]float64)(q.p[i:]), (*[4]float64)(d[i:])
				x[0] = float64(p[0] * law[r[0]+o])
				x[1] = float64(p[1] * law[r[1]+o])
				x[2] = float64(p[2] * law[r[2]+o])
				x[3] = float64(p[3] * law[r[3]+o])
				sum += x[0]
				sum += x[1]
				sum += x[2]
				sum += x[3]
			}
			for ; i < len(d); i++ {
				d[i] = float64(q.p[i] * law[w.row[i]+o])
				sum += d[i]
			}
		} else {
			kappa := test.Steadiness
			for i, row := range w.row {
				x := float64(q.p[i] * ((float64(kappa*law[row+o]) + counts[o]) / (kappa + n)))
				d[i] = x
				sum += x
			}
		}
		dst[o] = d
		odds = append(odds, sum)
	}
	return dst, odds
}

// foresee returns the odds of each outcome of a test at a point, and how many bits it is expected to
// tell of the hypotheses: the entropy of its outcomes less what is left of it where the hypothesis is known,
// which is the same for all that show alike.
func (w *walker) foresee(q point, t int) (odds []float64, bits float64) {
	test := &w.model.Tests[t]
	k := len(test.Outcomes)
	of, law := w.space.ClassesAmong(t, w.net.n)
	if counts := q.of(t); counts != nil {
		law = urnLaw(law, test.Steadiness, counts)
	}
	mass := make([]float64, len(law)/k)
	for i, h := range q.hyps {
		mass[of[h]] += q.p[i]
	}
	odds = make([]float64, k)
	for class, m := range mass {
		if m == 0 {
			continue
		}
		row := law[class*k : class*k+k]
		for o, p := range row {
			odds[o] += float64(m * p)
		}
		bits -= float64(m * belief.Entropy(row))
	}
	return odds, max(bits+belief.Entropy(odds), 0)
}

// see returns the point after outcome o of test t, which has joint odds d of total sum.
func (w *walker) see(q point, t, o int, d []float64, sum float64, limit int) point {
	out := point{setup: q.setup, record: q.plus(t, o, len(w.model.Tests[t].Outcomes), len(w.model.Tests))}
	if len(q.hyps) > limit {
		for i, h := range q.hyps {
			if d[i] > 0 {
				w.put(h, d[i])
			}
		}
		return w.take(out, limit)
	}
	out.hyps, out.p = q.hyps, make([]float64, len(d))
	for i, x := range d {
		out.p[i] = x / sum
	}
	return out
}
