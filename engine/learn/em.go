package learn

import (
	"math"
	"slices"
	"sort"
	"sync"
)

// Options say how to learn. The zero Options are the usual ones.
type Options struct {
	Cores  int              // goroutines; 1 if it is 0. The answer does not depend on it
	Rounds int              // at most so many rounds of EM; 1,000 if it is 0
	Close  float64          // no number moves by more than this share of its own uncertainty in the last round; 1e-3 if it is 0
	Told   func(rounds int) // called after each round with how many there were, if given
	Within func(trails int) // called in the course of a round with how many different trails of it are done, if given
	Stop   func() bool      // asked between pieces of work; true ends with ErrStopped
	trace  *[]float64       // gets the objective of each round
	start  func([]float64)  // sets off from elsewhere
	rough  bool             // only to compare: see climb
	many   int              // in place of manyGroups, for tests
	trust  float64          // in place of what would be found; 0 for that
}

// A Fit is numbers that were learnt: the fixed point of EM, and what they rest on.
type Fit struct {
	frame   *frame
	groups  []group
	used    []bool // by test
	needs   needs
	alpha   []float64 // what the shipped numbers and other benches weigh, by entry
	numbers []float64
	kappa   []float64 // by change
	counts  []float64 // expected, by entry: of this bench's units alone
	tries   []float64 // by change: expected further tries of what failed before
	Units   int       // trails that were learnt from
	Trust   float64   // how many times what their sources say the shipped numbers were taken to be worth: see findTrust
	Rounds  int       // of EM
	Log     float64   // log likelihood of the trails, given that the units were brought in
	Shipped float64   // the same with the shipped numbers, and the bench's habits as learnt
	Score   float64   // Log and the log of the prior density, up to a constant: what EM makes largest
	Left    []Left
	benches []Bench
	spans   []Interval // after Intervals: of each entry, then of the rows of links
}

// Fit finds the numbers that make
//
//	sum over trails of log P(trail | brought in) + sum over blocks of sum_k alpha_k log p_k
//
// as large as it gets from the shipped ones on, with alpha the shipped numbers times their
// weight and Trust. It does not change the learner.
func (l *Learner) Fit(o Options) (*Fit, error) {
	if told, rounds := o.Told, 0; told != nil {
		o.Told = func(int) { rounds++; told(rounds) } // of all that is climbed, one after another
	}
	f := l.frame
	fit := &Fit{frame: f, groups: l.groups(), used: make([]bool, len(f.laws)), Units: len(l.trails), benches: l.others}
	fit.used[f.model.Intake] = true
	for i := range fit.groups {
		for _, s := range f.staged(&fit.groups[i]) {
			if s.op == named || s.op == weighed {
				fit.used[s.test] = true
			}
		}
	}
	for t, used := range fit.used {
		if used {
			if o.Stop != nil && o.Stop() {
				return nil, ErrStopped
			}
			f.laws[t].sort()
		}
	}
	fit.needs = f.noNeeds(fit.used)
	fit.alpha = l.alpha(1)
	numbers := make([]float64, len(f.ship))
	f.maximise(numbers, fit.alpha, make([]float64, len(f.ship)))
	kappa := f.kappas()
	left, err := fit.drop(l, numbers, kappa, o)
	if err != nil {
		return nil, err
	}
	if o.start != nil {
		o.start(numbers)
	}
	fit.Left = append(left, l.left...)
	sort.Slice(fit.Left, func(i, j int) bool { return fit.Left[i].ID < fit.Left[j].ID })
	if fit.Trust = o.trust; fit.Trust == 0 {
		if fit.Trust, err = l.findTrust(fit, numbers, kappa, o); err != nil {
			return nil, err
		}
	}
	fit.alpha = l.alpha(fit.Trust)
	if numbers, kappa, err = fit.approach(numbers, kappa, o); err != nil {
		return nil, err
	}
	if err := fit.climb(numbers, kappa, o); err != nil {
		return nil, err
	}
	fit.Shipped, err = fit.before(o)
	return fit, err
}

// withHabits returns numbers with the habits of the bench as they were learnt.
func (fit *Fit) withHabits(numbers []float64) []float64 {
	f := fit.frame
	all := slices.Clone(numbers)
	for i := range f.blocks {
		if f.blocks[i].Kind.ofTheBench() {
			copy(f.row(all, i), f.row(fit.numbers, i))
		}
	}
	return all
}

// before returns the log likelihood by the shipped numbers, with the habits of the bench as they were
// learnt: to know them is no better model of units.
func (fit *Fit) before(o Options) (float64, error) {
	f := fit.frame
	numbers := fit.withHabits(f.ship)
	logs, err := newWorkers(fit, o).logs(f.newRound(numbers, f.kappas(), fit.used, nil), fit.groups)
	sum := 0.0
	for i, log := range logs {
		sum += float64(fit.groups[i].n * log)
	}
	return sum, err
}

// manyGroups is from how many different trails on Fit climbs on some of them first.
const manyGroups = 4000

// approach returns where to set off from where there are very many trails: the fixed point for every
// so many of them, each standing for as many. A round over some is that much cheaper, and what is
// left to climb with all takes few rounds.
func (fit *Fit) approach(numbers, kappa []float64, o Options) ([]float64, []float64, error) {
	many := manyGroups
	if o.many > 0 {
		many = o.many
	}
	if len(fit.groups) < many {
		return numbers, kappa, nil
	}
	step := len(fit.groups) / (many / 4)
	some := *fit
	some.groups = nil
	for i := 0; i < len(fit.groups); i += step {
		g := fit.groups[i]
		g.n = float64(g.n * float64(step))
		some.groups = append(some.groups, g)
	}
	o.trace = nil
	if err := some.climb(numbers, kappa, o); err != nil {
		return nil, nil, err
	}
	return some.numbers, some.kappa, nil
}

// A try is numbers with their score, and where EM goes from there.
type try struct {
	numbers, kappa []float64
	counts         []float64
	tries          []float64
	log, score     float64
	next, after    []float64 // of numbers and kappa
	moved          float64   // the most that next moves a number, in the standard deviations that it would have with nothing missing
}

// rough is the share of a trail below which a rough climb, or a draw from the posterior, leaves a hypothesis out.
const rough = 1e-6

// climb goes from the given numbers up to a fixed point.
//
// Each round of EM is one of Dempster, Laird & Rubin's (1977), so that the score cannot fall.
//
// Of every three rounds one sets off from where the two before it point, if the score is larger
// there (SQUAREM, scheme S3: Varadhan & Roland 2008, Scand. J. Stat. 35).
//
// Of each trail only the hypotheses with more than 1e-9 of it are followed: all are looked at in a
// first round and in the last, whose numbers stand. If that one still moves, climbing goes on with
// those of more than a hundredth of that. A rough climb follows what a first round finds, or an earlier climb found, and
// looks no further.
func (fit *Fit) climb(numbers, kappa []float64, o Options) error {
	rounds, close := o.Rounds, o.Close
	if rounds == 0 {
		rounds = 1000
	}
	if close == 0 {
		close = 1e-3
	}
	w := newWorkers(fit, o)
	if w.little = close * 1e-6; o.rough {
		w.little = rough
	}
	at := func(numbers, kappa []float64, whole bool) (*try, error) {
		t, err := w.try(numbers, kappa, whole)
		if err != nil {
			return nil, err
		}
		fit.Rounds++
		if o.Told != nil {
			o.Told(fit.Rounds)
		}
		return t, nil
	}
	known := o.rough && fit.groups[0].act != nil
	now, err := at(numbers, kappa, !known)
	if err != nil {
		return err
	}
	fit.take(now, o)
	if now.moved <= close || fit.Rounds >= rounds {
		return nil
	}
	for near := close / 2; ; near /= 2 {
		// The score of fewer hypotheses is another one: the comparison starts afresh.
		if now, err = at(now.next, now.after, false); err != nil {
			return err
		}
		for now.moved > near && fit.Rounds < rounds {
			one, err := at(now.next, now.after, false)
			if err != nil {
				return err
			}
			if one.moved <= near {
				now = one
				break
			}
			ahead, err := at(fit.frame.whole(leap(now.numbers, one.numbers, one.next)), leap(now.kappa, one.kappa, one.after), false)
			if err != nil {
				return err
			}
			if !(ahead.score >= one.score) {
				if ahead, err = at(one.next, one.after, false); err != nil {
					return err
				}
			}
			now = ahead
		}
		if o.rough {
			fit.take(now, o)
			return nil
		}
		w.little /= 100 // should this not do, more hypotheses matter
		if now, err = at(now.numbers, now.kappa, true); err != nil {
			return err
		}
		fit.take(now, o)
		if now.moved <= close || fit.Rounds >= rounds {
			return nil
		}
	}
}

// take makes a whole round the answer so far.
func (fit *Fit) take(t *try, o Options) {
	fit.numbers, fit.kappa, fit.Log, fit.Score = t.numbers, t.kappa, t.log, t.score
	fit.counts, fit.tries = t.counts, t.tries
	if o.trace != nil {
		*o.trace = append(*o.trace, t.score)
	}
}

// leap returns the point that three in a row lead to: with r = b-a, v = c-2b+a and s = -|r|/|v|,
// a - 2 s r + s^2 v, entry by entry no farther from c than by a factor of five.
func leap(a, b, c []float64) []float64 {
	var rr, vv float64
	for i := range a {
		r := b[i] - a[i]
		v := c[i] - b[i] - r
		rr += float64(r * r)
		vv += float64(v * v)
	}
	out := slices.Clone(c)
	if vv == 0 {
		return out
	}
	s := -math.Sqrt(rr / vv)
	if s > -1 {
		return out
	}
	for i := range a {
		r := b[i] - a[i]
		v := c[i] - b[i] - r
		out[i] = min(max(a[i]-float64(2*s*r)+float64(s*s*v), c[i]/5), 5*c[i])
	}
	return out
}

// whole scales each block to sum to 1.
func (f *frame) whole(numbers []float64) []float64 {
	f.maximise(numbers, numbers, make([]float64, len(numbers)))
	return numbers
}

// try works out one round.
func (w *workers) try(numbers, kappa []float64, whole bool) (*try, error) {
	fit := w.fit
	f := fit.frame
	var some needs
	if !whole {
		some = fit.needs
	}
	r := f.newRound(numbers, kappa, fit.used, some)
	counts, log, err := w.expect(r, whole)
	if err != nil {
		return nil, err
	}
	t := &try{numbers: numbers, kappa: kappa, counts: counts[:len(f.ship)], tries: f.furtherTries(r, counts), log: log}
	t.score = log + fit.logPrior(numbers, kappa)
	t.next = make([]float64, len(numbers))
	f.maximise(t.next, fit.alpha, t.counts)
	t.after = f.memories(r, t.next, counts)
	for i := range f.blocks {
		b := &f.blocks[i]
		all := b.Weight
		for k := b.at; k < b.at+b.Len; k++ {
			all += max(t.counts[k], 0)
		}
		for k := b.at; k < b.at+b.Len; k++ {
			if p := numbers[k]; p > 0 && p < 1 {
				t.moved = max(t.moved, math.Abs(t.next[k]-p)/math.Sqrt(float64(p*(1-p))/all))
			}
		}
	}
	for c, k := range kappa {
		if k > 0 {
			t.moved = max(t.moved, math.Abs(t.after[c]-k)/k)
		}
	}
	return t, nil
}

// alpha returns the weight of what was known before: shipped numbers, trusted so far, and other benches.
func (l *Learner) alpha(trust float64) []float64 {
	f := l.frame
	a := make([]float64, len(f.ship))
	for i := range f.blocks {
		b := &f.blocks[i]
		weight := b.Weight
		if !b.Kind.ofTheBench() {
			weight *= trust
		}
		for k := b.at; k < b.at+b.Len; k++ {
			a[k] = float64(weight * f.ship[k])
		}
	}
	for i := range l.others {
		l.others[i].lend(f, a)
	}
	return a
}

// maximise is the M step: in each block the numbers are the weights and counts of its
// entries, scaled to 1. What is certain in the shipped model (0 or 1) stays so.
func (f *frame) maximise(dst, alpha, counts []float64) {
	for i := range f.blocks {
		b := &f.blocks[i]
		sum := 0.0
		for k := b.at; k < b.at+b.Len; k++ {
			x := 0.0
			if f.ship[k] > 0 {
				x = alpha[k] + counts[k]
			}
			dst[k] = x // dst may be alpha
			sum += x
		}
		for k := b.at; k < b.at+b.Len; k++ {
			dst[k] /= sum
		}
	}
}

// logPrior is the log of the prior density of the numbers, up to a constant, in the basis
// of their logs: a Dirichlet of parameters alpha has its mode there at alpha over its sum,
// the shipped numbers, where in the basis of the numbers themselves it has none if an alpha is
// below 1. Source: MacKay (1998), "Choice of basis for Laplace approximation".
func (fit *Fit) logPrior(numbers, kappa []float64) float64 {
	sum := 0.0
	for k, a := range fit.alpha {
		if a > 0 && fit.frame.ship[k] > 0 {
			sum += float64(a * math.Log(numbers[k]))
		}
	}
	for c := range kappa {
		if mv := &fit.frame.change[c]; mv.kappa > 0 {
			x := math.Log(kappa[c]/mv.kappa) / memorySpread(fit.frame.repairWeight(c))
			sum -= float64(x*x) / 2
		}
	}
	return sum
}

func (f *frame) repairWeight(change int) float64 {
	return f.weight(f.model.Repairs[f.change[change].repair].Source)
}

// furtherTries sums by change how many tries of what had failed before are expected.
func (f *frame) furtherTries(r *round, counts []float64) []float64 {
	n := make([]float64, len(f.change))
	for c := range f.change {
		for _, b := range f.change[c].fixes {
			if at := r.triesAt[b]; at >= 0 {
				for k := 2; k < 2*mostTries; k++ {
					n[c] += counts[at+k]
				}
			}
		}
	}
	return n
}

// memories is the M step of what repairs remember. With S_n and F_n the expected number of
// tries after n failures that took the mode away or left it, it makes
//
//	sum_n S_n log(kappa p/(kappa+n)) + F_n log((kappa(1-p)+n)/(kappa+n)) - (log kappa/kappa_0)^2 / (2 s^2)
//
// larger, all fixes of a repair together, by a zero of its derivative with respect to log kappa.
func (f *frame) memories(r *round, numbers, counts []float64) []float64 {
	out := slices.Clone(r.kappa)
	for c := range f.change {
		mv := &f.change[c]
		if mv.kappa == 0 {
			continue
		}
		s := memorySpread(f.repairWeight(c))
		value := func(kappa float64) (v, slope float64) {
			x := math.Log(kappa / mv.kappa)
			v, slope = -float64(x*x)/(2*s*s), -x/(s*s)
			for _, b := range mv.fixes {
				row := f.row(numbers, b)
				at := r.triesAt[b]
				for n := 1; n < mostTries; n++ {
					gone, left := counts[at+2*n], counts[at+2*n+1]
					share := kappa / (kappa + float64(n))
					if gone > 0 {
						v += float64(gone * math.Log(float64(share*row[0])))
						slope += float64(gone * (1 - share))
					}
					if left > 0 {
						v += float64(left * math.Log((float64(kappa*row[1])+float64(n))/(kappa+float64(n))))
						slope += float64(left * (float64(kappa*row[1])/(float64(kappa*row[1])+float64(n)) - share))
					}
				}
			}
			return v, slope
		}
		low, high := mv.kappa/4096, mv.kappa*4096
		for range 60 {
			mid := math.Sqrt(low * high)
			if _, slope := value(mid); slope > 0 {
				low = mid
			} else {
				high = mid
			}
		}
		before, _ := value(r.kappa[c])
		if after, _ := value(low); after > before {
			out[c] = low
		}
	}
	return out
}

// piece is how many trails a goroutine works out before it hands in what they add. What is
// handed in is added in the order of the trails, so that the sums do not depend on who did it.
const piece = 16

type workers struct {
	fit    *Fit
	each   []*smoother
	sinks  []sink
	little float64 // see smoother
	within func(trails int)
	stop   func() bool
}

func newWorkers(fit *Fit, o Options) *workers {
	return &workers{fit: fit, each: make([]*smoother, max(o.Cores, 1)), within: o.Within, stop: o.Stop}
}

// wave is for how many trails at most there are sinks; between waves others have their turn.
func (w *workers) wave() int {
	if len(w.each) == 1 {
		return piece / 4
	}
	return 4 * piece * len(w.each)
}

// waves calls each for 0 to n-1 on all goroutines, and after every wave then, if given, for what it was of.
func (w *workers) waves(r *round, n int, each func(s *smoother, i int), then func(from, to int)) error {
	for from := 0; from < n; from += w.wave() {
		if w.stop != nil && w.stop() {
			return ErrStopped
		}
		to := min(from+w.wave(), n)
		w.spread(r, to-from, func(s *smoother, i int) { each(s, from+i) })
		if then != nil {
			then(from, to)
		}
		if w.within != nil {
			w.within(to)
		}
	}
	return nil
}

// expect is the E step: the expected counts of everything given the trails and the numbers.
func (w *workers) expect(r *round, whole bool) (counts []float64, log float64, err error) {
	counts = make([]float64, r.places)
	groups := w.fit.groups
	if w.sinks == nil {
		w.sinks = make([]sink, w.wave())
	}
	logs := make([]float64, w.wave())
	units := 0.0
	err = w.waves(r, len(groups), func(s *smoother, i int) {
		g, at := &groups[i], i%w.wave()
		w.sinks[at].reset()
		if whole {
			s.follow(nil)
		} else {
			s.followPacked(g.act)
		}
		logs[at], _ = s.smooth(s.staged(g), &w.sinks[at])
		if whole {
			act := s.matter()
			g.act = pack(act)
			w.fit.needs.add(r.frame, act)
		}
	}, func(from, to int) {
		for i := range groups[from:to] {
			n := groups[from+i].n
			units += n
			log += float64(n * logs[i])
			for k, place := range w.sinks[i].places {
				counts[place] += float64(n * w.sinks[i].adds[k])
			}
		}
	})
	if err != nil {
		return nil, 0, err
	}
	log -= float64(units * math.Log(r.in))
	r.brought(counts)
	r.shareOut(counts)
	return counts, log, nil
}

// logs returns the log of how probable each trail is, its unit being brought in; -Inf where no
// hypothesis allows it.
func (w *workers) logs(r *round, groups []group) ([]float64, error) {
	logs := make([]float64, len(groups))
	err := w.waves(r, len(groups), func(s *smoother, i int) {
		s.follow(nil)
		log, ok := s.smooth(s.staged(&groups[i]), nil)
		if !ok {
			log = math.Inf(-1)
		}
		logs[i] = log - math.Log(r.in)
	}, nil)
	return logs, err
}

// ready returns the smoothers, made if need be, with the numbers of a round.
func (w *workers) ready(r *round) []*smoother {
	for g, s := range w.each {
		if s == nil {
			s = r.smoother()
			w.each[g] = s
		}
		s.round, s.little = r, w.little
	}
	return w.each
}

// spread calls f for 0 to n-1, in pieces, on all goroutines.
func (w *workers) spread(r *round, n int, f func(s *smoother, i int)) {
	each := w.ready(r)
	if len(each) == 1 {
		for i := range n {
			f(each[0], i)
		}
		return
	}
	next := make(chan int)
	var wait sync.WaitGroup
	for _, s := range each {
		wait.Go(func() {
			for from := range next {
				for i := from; i < min(from+piece, n); i++ {
					f(s, i)
				}
			}
		})
	}
	for from := 0; from < n; from += piece {
		next <- from
	}
	close(next)
	wait.Wait()
}

// brought adds the units that were never brought in: for each that was, (1-z)/z are expected,
// with z the probability of being brought in. They have the faults of units in general less
// those of units brought in; and where they were kept at all, the intake test showed its best.
//
// Source: Dempster, Laird & Rubin (1977), section 4.2, on truncated data.
func (r *round) brought(counts []float64) {
	f := r.frame
	per := counts[r.unitsAt] / r.in
	intake := &f.laws[f.model.Intake]
	table := r.tables[f.model.Intake]
	in := make([]float64, len(f.model.Modes))
	for h, w := range r.weight {
		at := int(intake.of[h]) * intake.n
		best := table[at]
		counts[r.tableAt[f.model.Intake]+at] += float64(float64(per*w) * best)
		some := 0.0
		for k := 1; k < intake.n; k++ {
			some += table[at+k]
		}
		for _, i := range f.space.Modes(h) {
			in[i] += float64(w * some)
		}
	}
	for c := range f.model.Components {
		b := &f.blocks[f.prior[c]]
		sound := float64(per * (1 - r.in))
		for k := 1; k < b.Len; k++ {
			x := float64(per * max(0, r.numbers[b.at+k]-in[f.model.Components[c].FirstMode+k-1]))
			counts[b.at+k] += x
			sound -= x
		}
		counts[b.at] += max(sound, 0)
	}
}

// shareOut turns the counts of classes and outcomes into counts of leaks and links.
func (r *round) shareOut(counts []float64) {
	var c causes
	for t := range r.laws {
		if r.tables[t] == nil {
			continue
		}
		l := &r.laws[t]
		for class := range l.sets {
			loaded := false
			for k := range l.n {
				at := class*l.n + k
				n := counts[r.tableAt[t]+at]
				if math.Abs(n) < negligible || r.tables[t][at] == 0 {
					continue
				}
				if !loaded {
					l.load(&c, r.numbers, r.sums, class)
					loaded = true
				}
				c.share(counts, n, r.tables[t][at], k)
			}
		}
	}
}

// drop leaves out the trails that the model does not allow, and lists them.
func (fit *Fit) drop(l *Learner, numbers, kappa []float64, o Options) ([]Left, error) {
	logs, err := newWorkers(fit, o).logs(fit.frame.newRound(numbers, kappa, fit.used, nil), fit.groups)
	if err != nil {
		return nil, err
	}
	var possible []group
	dropped := map[string]bool{}
	for i, g := range fit.groups {
		if math.IsInf(logs[i], -1) {
			dropped[string(g.shape)] = true
			fit.Units -= int(g.n)
			continue
		}
		possible = append(possible, g)
	}
	fit.groups = possible
	var left []Left
	if len(dropped) > 0 {
		for id, k := range l.trails {
			if dropped[string(k.shape)] {
				left = append(left, Left{id, ErrImpossible})
			}
		}
	}
	return left, nil
}
