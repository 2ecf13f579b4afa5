package learn

import (
	"math"
	"slices"
)

// An Interval holds a number with the stated probability, as much above as below.
type Interval struct{ Low, High float64 }

// Sweeps says how the posterior is drawn from. The zero Sweeps are the usual ones.
type Sweeps struct {
	Warm  int     // sweeps that are thrown away first; 50 if it is 0
	Keep  int     // sweeps that are kept; 400 if it is 0
	Level float64 // of the intervals; 0.9 if it is 0
	Seed  uint64  // of the draws: the same seed, the same intervals
	Cores int     // goroutines; 1 if it is 0
	Told  func(done, of int)
	Stop  func() bool             // asked between pieces of work; true ends with ErrStopped
	each  func(numbers []float64) // gets each draw that is kept
}

// Intervals draws from the posterior of all numbers given all trails, and puts the interval of
// each into the fit, for Account and Figures to tell.
//
// It goes back and forth (Tanner & Wong 1987, data augmentation): given the numbers, what was
// wrong with each unit, when each fault came and went, which cause made each result and
// which results were mere copies are drawn for each trail, by filtering forwards and drawing
// backwards, as are the units that were never brought in; given all these, the numbers are
// independent Dirichlets, and are drawn anew. Nothing is taken to be normal, so that a number
// of which little was seen has the lopsided interval it should. What repairs remember stays as
// Fit found it.
//
// Where the shipped numbers are trusted beyond their sources, an interval holds that by the trust and that by the sources
// alone, each of half of the sweeps: that more trust fits better makes nothing certain.
func (fit *Fit) Intervals(o Sweeps) error {
	warm, keep, level := o.Warm, o.Keep, o.Level
	if warm == 0 {
		warm = 50
	}
	if keep == 0 {
		keep = 400
	}
	if level == 0 {
		level = 0.9
	}
	f := fit.frame
	rowsAt, places := f.rowPlaces()
	d, err := fit.sampler(o)
	if err != nil {
		return err
	}
	priors := [][]float64{fit.bySources()}
	if fit.Trust >= trustTold {
		priors = [][]float64{fit.alpha, fit.bySources()}
		keep = (keep + 1) / 2
	}
	fit.spans = make([]Interval, places)
	for i := range fit.spans {
		fit.spans[i] = Interval{1, 0} // holds nothing
	}
	for n, alpha := range priors {
		draws := make([][]float32, places)
		for sweep := range warm + keep {
			if err := d.sweep(alpha); err != nil {
				fit.spans = nil
				return err
			}
			if sweep >= warm {
				f.keep(draws, d.numbers, rowsAt)
				if o.each != nil {
					o.each(d.numbers)
				}
			}
			if o.Told != nil {
				o.Told(n*(warm+keep)+sweep+1, len(priors)*(warm+keep))
			}
		}
		for i, x := range draws {
			slices.Sort(x)
			fit.spans[i].hold(quantile(x, (1-level)/2))
			fit.spans[i].hold(quantile(x, (1+level)/2))
		}
	}
	fit.holdNumbers(rowsAt)
	return nil
}

// A sampler draws all numbers again and again.
type sampler struct {
	*workers
	drawers map[*smoother]*drawer
	numbers []float64 // drawn last
	seed    uint64
	sweeps  uint64 // so far
}

// sampler returns one that starts at the fixed point, and follows what has more than a little of each trail there.
func (fit *Fit) sampler(o Sweeps) (*sampler, error) {
	some := *fit
	some.needs = fit.frame.noNeeds(fit.used)
	d := &sampler{workers: newWorkers(&some, Options{Cores: o.Cores, Stop: o.Stop}), drawers: map[*smoother]*drawer{}, numbers: slices.Clone(fit.numbers), seed: o.Seed}
	d.little = rough
	_, _, err := d.expect(fit.frame.newRound(d.numbers, fit.kappa, fit.used, nil), true)
	return d, err
}

// sweep draws what happened to all units given the numbers, and then the numbers given that.
func (s *sampler) sweep(alpha []float64) error {
	fit := s.fit
	f := fit.frame
	r := f.newRound(s.numbers, fit.kappa, fit.used, fit.needs)
	for _, each := range s.ready(r) {
		if s.drawers[each] == nil {
			s.drawers[each] = &drawer{smoother: each, counts: make([]float64, len(f.ship))}
		}
		clear(s.drawers[each].counts)
	}
	err := s.waves(r, len(fit.groups), func(each *smoother, i int) {
		g, d := &fit.groups[i], s.drawers[each]
		d.dice = newDice(s.seed, s.sweeps, uint64(i))
		each.followPacked(g.act)
		d.trail(each.staged(g), int(g.n))
	}, nil)
	if err != nil {
		return err
	}
	counts := make([]float64, len(f.ship))
	for _, d := range s.drawers { // whole numbers: their order does not matter
		for at, n := range d.counts {
			counts[at] += n
		}
	}
	dice := newDice(s.seed, s.sweeps, math.MaxUint64)
	f.neverBrought(r, &dice, fit.Units, counts)
	f.redraw(s.numbers, alpha, counts, &dice)
	s.sweeps++
	return nil
}

// hold widens an interval so that it holds p.
func (i *Interval) hold(p float64) { i.Low, i.High = min(i.Low, p), max(i.High, p) }

// bySources returns what was known before with the shipped numbers as good as their sources say.
func (fit *Fit) bySources() []float64 {
	a := slices.Clone(fit.alpha)
	for i := range fit.frame.blocks {
		b := &fit.frame.blocks[i]
		if b.Kind.ofTheBench() {
			continue
		}
		for k := b.at; k < b.at+b.Len; k++ {
			a[k] += float64((1 - fit.Trust) * float64(b.Weight*fit.frame.ship[k]))
		}
	}
	return a
}

// holdNumbers makes each interval hold the number that it is of.
func (fit *Fit) holdNumbers(rowsAt []int) {
	f := fit.frame
	for i, p := range fit.numbers {
		fit.spans[i].hold(p)
	}
	for t := range f.links {
		leak := f.row(fit.numbers, f.leak[t])
		for _, b := range f.links[t] {
			for k, p := range rowOf(leak, f.row(fit.numbers, b)) {
				fit.spans[rowsAt[b]+k].hold(p)
			}
		}
	}
}

// quantile interpolates between the order statistics of a sorted sample (Hyndman & Fan 1996,
// definition 7).
func quantile(sorted []float32, q float64) float64 {
	at := float64(q * float64(len(sorted)-1))
	i := int(at)
	if i+1 >= len(sorted) {
		return float64(sorted[len(sorted)-1])
	}
	a, b := float64(sorted[i]), float64(sorted[i+1])
	return a + float64((at-float64(i))*(b-a))
}

// rowPlaces returns where the rows of a model that links stand for are kept after all entries,
// by block, and how many places there are.
func (f *frame) rowPlaces() (at []int, n int) {
	n = len(f.ship)
	at = make([]int, len(f.blocks))
	for i := range f.blocks {
		if f.blocks[i].Kind == Link {
			at[i] = n
			n += f.blocks[i].Len
		}
	}
	return at, n
}

func (f *frame) keep(draws [][]float32, numbers []float64, rowsAt []int) {
	for i, p := range numbers {
		draws[i] = append(draws[i], float32(p))
	}
	for t := range f.links {
		leak := f.row(numbers, f.leak[t])
		for _, b := range f.links[t] {
			for k, p := range rowOf(leak, f.row(numbers, b)) {
				draws[rowsAt[b]+k] = append(draws[rowsAt[b]+k], float32(p))
			}
		}
	}
}

// A drawer draws what happened in a trail.
type drawer struct {
	*smoother
	dice
	counts []float64 // as the numbers
	modes  []uint16
}

func (d *drawer) one(at int) { d.counts[at]++ }

// trail draws n courses of events for one shape.
func (d *drawer) trail(stages []stage, n int) {
	s := d.smoother
	s.used, s.given = 0, 0
	for i, h := range s.act {
		s.a[i] = s.weight[h]
	}
	var starts []int // where the moves of each change are saved
	for i := range stages {
		g := &stages[i]
		if g.op != changed {
			s.weighIn(g)
			continue
		}
		if _, ok := s.scale(); !ok {
			return
		}
		starts = append(starts, s.used)
		s.forwards(g)
	}
	if _, ok := s.scale(); !ok {
		return
	}
	for range n {
		h := d.end()
		at := len(starts)
		for i := len(stages) - 1; i >= 0; i-- {
			g := &stages[i]
			switch g.op {
			case named, weighed:
				d.seen(g, h)
			case written:
				right, wrong := s.report(g.modes, h)
				block := s.blocks[s.record].at
				if float64(d.uniform()*(right+wrong)) >= wrong {
					block++
				}
				d.one(block)
			case answered:
				d.answered(g, h)
			case ended:
				d.one(d.ending(g.back, h == 0))
			case changed:
				at--
				h = d.undo(g, starts[at], h)
			}
		}
		d.came(h)
	}
}

// answered draws why nothing was said.
func (d *drawer) answered(g *stage, h int) {
	answer := d.blocks[d.answer].at
	no, nothing := d.answers(g, h == 0)
	switch {
	case g.said:
		d.one(answer)
	case float64(d.uniform()*(no+nothing)) < no:
		d.one(answer + 1)
	default:
		d.one(answer)
		d.one(d.blocks[d.record].at + 1)
	}
}

// end draws the hypothesis at the end of a trail.
func (d *drawer) end() int {
	x := d.uniform()
	last := 0
	for i, h := range d.smoother.act {
		if p := d.a[i]; p > 0 {
			last = int(h)
			if x -= p; x < 0 {
				break
			}
		}
	}
	return last
}

// came counts what was wrong when the unit came in.
func (d *drawer) came(h int) {
	have := d.space.Modes(h)
	for c := range d.model.Components {
		comp := &d.model.Components[c]
		k := 0
		for _, i := range have {
			if j := int(i) - comp.FirstMode; j >= 0 && j < comp.ModeCount {
				k = 1 + j
			}
		}
		d.one(d.blocks[d.prior[c]].at + k)
	}
}

// seen draws whether a result was fresh, and then what each cause did.
func (d *drawer) seen(g *stage, h int) {
	law := &d.laws[g.test]
	class := int(law.of[h])
	p := d.tables[g.test][class*law.n : (class+1)*law.n]
	kappa := d.model.Tests[g.test].Steadiness
	if g.outcome >= 0 {
		m := float64(kappa * p[g.outcome])
		if float64(d.uniform()*(m+float64(g.same))) < m {
			d.causesOf(law, class, g.outcome)
		}
		return
	}
	// Of blurred rows the last result stands for all of them: the vector of counts is drawn
	// there, and how many of each count were fresh.
	if g.last {
		total := 0.0
		for _, v := range g.after {
			total += float64(v.weight * rowLike(kappa, p, v.counts))
		}
		x := float64(d.uniform() * total)
		for i, v := range g.after {
			if x -= float64(v.weight * rowLike(kappa, p, v.counts)); x < 0 || i == len(g.after)-1 {
				for o, c := range v.counts {
					for j := g.plain(o); j < c; j++ {
						m := float64(kappa * p[o])
						if float64(d.uniform()*(m+float64(j))) < m {
							d.causesOf(law, class, o)
						}
					}
				}
				break
			}
		}
	}
}

// causesOf draws what each cause did, given that the most was k, one cause after another: with
// q the cumulative sums and none so far at k, a cause is at k with p_j(k) prod_{l>j} q_l(k), and
// below it with q_j(k-1) (prod_{l>j} q_l(k) - prod_{l>j} q_l(k-1)).
func (d *drawer) causesOf(law *law, class, k int) {
	c := &d.cause
	law.load(c, d.numbers, d.sums, class)
	there := false
	for j := range c.at {
		at := int(c.at[j])
		if !there {
			rest, less := 1.0, 1.0
			for l := j + 1; l < len(c.at); l++ {
				rest *= c.q(l, k)
				if k > 0 {
					less *= c.q(l, k-1)
				}
			}
			up, down := float64(c.p(j, k)*rest), 0.0
			if k > 0 {
				down = float64(c.q(j, k-1) * (rest - less))
			}
			if j == len(c.at)-1 || float64(d.uniform()*(up+down)) < up {
				there = true
				d.one(at + k)
				continue
			}
			d.one(at + d.upTo(c, j, k-1))
			continue
		}
		d.one(at + d.upTo(c, j, k))
	}
}

// upTo draws what a cause did, given that it was at most k.
func (d *drawer) upTo(c *causes, j, k int) int {
	x := float64(d.uniform() * c.q(j, k))
	for i := range k {
		if x -= c.p(j, i); x < 0 {
			return i
		}
	}
	return k
}

// undo draws what a change did, given the hypothesis after it, and returns the one before it.
func (d *drawer) undo(g *stage, saved, h int) int {
	mv := &d.change[g.change]
	for i := len(mv.risks) - 1; i >= 0; i-- {
		block := mv.risks[i]
		b := &d.blocks[block]
		a := d.saved[saved+len(mv.fixes)+i]
		row := d.row(d.numbers, block)
		other, has := d.without(h, b.Mode)
		switch {
		case has:
			in := float64(d.mass(a, other) * row[0])
			if float64(d.uniform()*(in+d.mass(a, h))) < in {
				d.one(b.at)
				h = other
			}
		case other >= 0: // its component is sound
			d.one(b.at + 1)
		}
	}
	for i := len(mv.fixes) - 1; i >= 0; i-- {
		block := mv.fixes[i]
		b := &d.blocks[block]
		a := d.saved[saved+i]
		away, _ := d.chance(block, g.change, g.tries[i])
		other, has := d.without(h, b.Mode)
		switch {
		case has:
			if d.uniform() < d.freshFailure(block, g.change, g.tries[i]) {
				d.one(b.at + 1)
			}
		case other >= 0:
			with, ok := d.with(h, b.Mode)
			if !ok {
				continue
			}
			gone := float64(d.mass(a, with) * away)
			if float64(d.uniform()*(gone+d.mass(a, h))) < gone {
				d.one(b.at)
				h = with
			}
		}
	}
	return h
}

// mass returns what of a was saved of a hypothesis, 0 if it is not followed.
func (d *drawer) mass(a []float64, h int) float64 {
	if at := d.at[h]; at >= 0 {
		return a[at]
	}
	return 0
}

// without returns the hypothesis like h in which the mode's component is sound, and whether h
// has the mode; -1 if h has another mode of the component.
func (d *drawer) without(h, mode int) (int, bool) {
	have := d.space.Modes(h)
	c := d.model.Modes[mode].Component
	for at, i := range have {
		if int(i) == mode {
			d.modes = append(append(d.modes[:0], have[:at]...), have[at+1:]...)
			other, _ := d.space.Index(d.modes)
			return other, true
		}
		if d.model.Modes[i].Component == c {
			return -1, false
		}
	}
	return h, false
}

// with returns the hypothesis like h with a mode more, whose component is sound in h.
func (d *drawer) with(h, mode int) (int, bool) {
	d.modes = append(append(d.modes[:0], d.space.Modes(h)...), uint16(mode))
	slices.Sort(d.modes)
	return d.space.Index(d.modes)
}

// neverBrought draws the units that were not brought in, until so many were.
func (f *frame) neverBrought(r *round, d *dice, units int, counts []float64) {
	m := f.model
	picks := make([]int, len(m.Components))
	links := make([]int, len(m.Modes)) // block by mode
	for i, g := range m.Tests[m.Intake].Given {
		links[g.Mode] = f.links[m.Intake][i] + 1
	}
	for units > 0 {
		faults := 0
		for c := range picks {
			picks[c] = d.pick(f.row(r.numbers, f.prior[c]))
			if picks[c] > 0 {
				faults++
			}
		}
		kept := faults <= m.MostFaults
		if kept {
			best := f.row(r.numbers, f.leak[m.Intake])[0]
			for c, k := range picks {
				if k == 0 {
					continue
				}
				if b := links[m.Components[c].FirstMode+k-1]; b > 0 {
					best = float64(best * f.row(r.numbers, b-1)[0])
				}
			}
			if d.uniform() >= best {
				units--
				continue
			}
			counts[f.blocks[f.leak[m.Intake]].at]++
		}
		for c, k := range picks {
			counts[f.blocks[f.prior[c]].at+k]++
			if k > 0 && kept {
				if b := links[m.Components[c].FirstMode+k-1]; b > 0 {
					counts[f.blocks[b-1].at]++
				}
			}
		}
	}
}

// redraw draws each block from its Dirichlet.
func (f *frame) redraw(numbers, alpha, counts []float64, d *dice) {
	for i := range f.blocks {
		b := &f.blocks[i]
		most := math.Inf(-1)
		for k := b.at; k < b.at+b.Len; k++ {
			numbers[k] = math.Inf(-1)
			if f.ship[k] > 0 {
				numbers[k] = d.logGamma(alpha[k] + counts[k])
			}
			most = max(most, numbers[k])
		}
		sum := 0.0
		for k := b.at; k < b.at+b.Len; k++ {
			x := math.Exp(numbers[k] - most)
			if f.ship[k] > 0 {
				x = max(x, tiniest)
			}
			numbers[k] = x
			sum += x
		}
		for k := b.at; k < b.at+b.Len; k++ {
			numbers[k] /= sum
		}
	}
}

// tiniest keeps a drawn number from being so small that nothing could ever raise it again.
const tiniest = 1e-12

// A dice is a stream of random numbers that depends on its seed alone.
// Source: SplitMix64, Steele, Lea & Flood (2014).
type dice struct{ state uint64 }

func newDice(seed, a, b uint64) dice {
	d := dice{seed}
	d.state = d.next() + a
	d.state = d.next() + b
	return d
}

func (d *dice) next() uint64 {
	d.state += 0x9e3779b97f4a7c15
	z := d.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// uniform returns a number in [0, 1).
func (d *dice) uniform() float64 { return float64(d.next()>>11) / (1 << 53) }

func (d *dice) pick(row []float64) int {
	x := d.uniform()
	for k, p := range row[:len(row)-1] {
		if x -= p; x < 0 {
			return k
		}
	}
	return len(row) - 1
}

// normal returns a standard normal number. Source: the polar method, Marsaglia & Bray (1964).
func (d *dice) normal() float64 {
	for {
		x, y := float64(2*d.uniform())-1, float64(2*d.uniform())-1
		if s := float64(x*x) + float64(y*y); s > 0 && s < 1 {
			return float64(x * math.Sqrt(-2*math.Log(s)/s))
		}
	}
}

// logGamma returns the log of a number from the gamma distribution of that shape: a log, since
// small shapes give what no float64 holds. Source: Marsaglia & Tsang (2000), ACM TOMS 26(3).
func (d *dice) logGamma(shape float64) float64 {
	if shape < 1 {
		return d.logGamma(shape+1) + math.Log(1-d.uniform())/shape
	}
	a := shape - 1.0/3
	c := 1 / math.Sqrt(9*a)
	for {
		x := d.normal()
		v := 1 + float64(c*x)
		if v <= 0 {
			continue
		}
		v = float64(v*v) * v
		if math.Log(1-d.uniform()) < float64(x*x)/2+a-float64(a*v)+float64(a*math.Log(v)) {
			return math.Log(float64(a * v))
		}
	}
}
