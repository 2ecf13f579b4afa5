package learn

import (
	"math"
	"sync/atomic"

	"pitwise/engine/belief"
)

// mostTries is how many tries of a remembering repair are told apart; later ones count as
// the last.
const mostTries = 24

// A round is the numbers of one step of EM with what is worked out from them once for all
// trails. Its counts have places for the entries of all blocks, then for each test's
// classes and outcomes, then for the tries of repairs that remember.
type round struct {
	*frame
	numbers []float64
	kappa   []float64 // by change: 0 for none
	sums    []float64
	tables  [][]float64 // by test; nil for a test that no trail has
	weight  []float64   // w(S), by hypothesis: not scaled
	in      float64     // the sum of w(S) P(the unit is brought in | S) over what is kept
	tableAt []int       // by test
	triesAt []int       // by block: of a Fix that remembers, else -1
	unitsAt int         // how many units there are
	places  int
}

// newRound works out the tables of the tests that are used; if some is not nil, only for the
// classes that it holds.
func (f *frame) newRound(numbers, kappa []float64, used []bool, some needs) *round {
	r := &round{frame: f, numbers: numbers, kappa: kappa, sums: f.sumsOf(numbers), tables: make([][]float64, len(f.laws)),
		tableAt: make([]int, len(f.laws)), triesAt: make([]int, len(f.blocks)), places: len(f.ship)}
	for t := range f.laws {
		if used[t] || t == f.model.Intake {
			var classes []atomic.Bool
			if some != nil && t != f.model.Intake {
				classes = some[t]
			}
			r.tables[t] = f.laws[t].table(numbers, r.sums, classes)
			r.tableAt[t] = r.places
			r.places += len(r.tables[t])
		}
	}
	for i := range r.triesAt {
		r.triesAt[i] = -1
	}
	for c := range f.change {
		if f.change[c].kappa > 0 {
			for _, b := range f.change[c].fixes {
				r.triesAt[b] = r.places
				r.places += 2 * mostTries
			}
		}
	}
	r.unitsAt = r.places
	r.places++
	r.weigh()
	return r
}

// weigh works out w(S) = the product of the priors of the modes in S and of the soundness of
// all other components, and how much of it is brought in.
func (r *round) weigh() {
	f := r.frame
	all := 1.0
	odds := make([]float64, len(f.model.Modes))
	for c := range f.model.Components {
		row := f.row(r.numbers, f.prior[c])
		all = float64(all * row[0])
		for k, p := range row[1:] {
			odds[f.model.Components[c].FirstMode+k] = p / row[0]
		}
	}
	n := f.space.Len()
	r.weight = make([]float64, n)
	intake := &f.laws[f.model.Intake]
	best := r.tables[f.model.Intake]
	for h := range n {
		w := all
		for _, i := range f.space.Modes(h) {
			w = float64(w * odds[i])
		}
		r.weight[h] = w
		in := 0.0
		for k := 1; k < intake.n; k++ {
			in += best[int(intake.of[h])*intake.n+k]
		}
		r.in += float64(w * in)
	}
}

// A sink takes what a trail adds to the counts.
type sink struct {
	places []int32
	adds   []float64
}

func (s *sink) reset() { s.places, s.adds = s.places[:0], s.adds[:0] }

func (s *sink) add(place int, x float64) {
	if x != 0 {
		s.places, s.adds = append(s.places, int32(place)), append(s.adds, x)
	}
}

// A smoother works trails out, one at a time, with memory of its own.
type smoother struct {
	*round
	a, b  []float64   // forwards and backwards masses, as act, and one place for all that is not followed
	saved [][]float64 // a before each move and at the end of each stretch
	used  int
	likes [][]float64 // of each result, by class
	given int
	// little is the share of a trail below which a hypothesis does not matter.
	little float64
	end    []float64 // weights of the hypotheses at the end, by hypothesis, from 0 on; nil for none
	act    []int32   // the hypotheses that are followed, rising
	at     []int32   // by hypothesis: its place in act, -1 for none
	all    []int32
	few    []int32         // what act was unpacked to
	some   bool            // act is not all
	mark   []bool          // as act
	pairs  [][]belief.Pair // by mode: see pairsOf
	full   [][]int32       // by component: see fullOf
	paired []bool          // by mode: pairs holds what is followed now
	filled []bool          // by component: full does
	class  []float64       // noughts between results
	fresh  []float64
	cause  causes

	cut float64 // after smooth: see there

	// gamma is the odds of each hypothesis in a stretch given the whole trail, as act; after smooth, in the
	// first. Its sum is 1.
	gamma []float64
}

func (r *round) smoother() *smoother {
	n := r.space.Len()
	modes, components := len(r.model.Modes), len(r.model.Components)
	s := &smoother{round: r, all: make([]int32, n), few: make([]int32, 0, n), at: make([]int32, n),
		pairs: make([][]belief.Pair, modes), paired: make([]bool, modes), full: make([][]int32, components), filled: make([]bool, components)}
	for h := range s.all {
		s.all[h], s.at[h] = int32(h), -1
	}
	return s
}

// follow makes the smoother follow these hypotheses alone, rising; all if act is nil.
func (s *smoother) follow(act []int32) {
	s.forget()
	s.some = act != nil
	if s.act = act; act == nil {
		s.act = s.all
	}
	for i, h := range s.act {
		s.at[h] = int32(i)
	}
	clear(s.paired)
	clear(s.filled)
	n := len(s.act)
	s.a, s.b, s.gamma = zeros(s.a, n+1), zeros(s.b, n+1), zeros(s.gamma, n)
	if s.mark = s.mark[:0]; !s.some {
		s.mark = make([]bool, n)
	}
}

// forget ends what follow began.
func (s *smoother) forget() {
	for _, h := range s.act {
		s.at[h] = -1
	}
	s.act = nil
}

// followPacked is follow for hypotheses that were packed.
func (s *smoother) followPacked(p packed) {
	s.forget() // they may stand where these come to
	s.few = p.unpack(s.few[:0])
	s.follow(s.few)
}

// zeros returns n noughts, in x if it holds as many.
func zeros(x []float64, n int) []float64 {
	if cap(x) < n {
		return make([]float64, n)
	}
	x = x[:n]
	clear(x)
	return x
}

// pairsOf returns the places of the pairs of a mode, as far as they are followed: one that is not has the
// place after all others, which holds nothing before and after each move.
func (s *smoother) pairsOf(mode int) []belief.Pair {
	all := s.space.Pairs(mode)
	if !s.some {
		return all
	}
	if s.paired[mode] {
		return s.pairs[mode]
	}
	s.paired[mode] = true
	none := int32(len(s.act))
	pairs := s.pairs[mode][:0]
	for _, p := range all {
		at := belief.Pair{With: s.at[p.With], Without: s.at[p.Without]}
		if at.With < 0 && at.Without < 0 {
			continue
		}
		if at.With < 0 {
			at.With = none
		}
		if at.Without < 0 {
			at.Without = none
		}
		pairs = append(pairs, at)
	}
	s.pairs[mode] = pairs
	return pairs
}

// fullOf returns the places where a mode of the component cannot enter without being cut, as far as they are
// followed.
func (s *smoother) fullOf(component int) []int32 {
	if !s.some {
		return s.frame.full[component]
	}
	if s.filled[component] {
		return s.full[component]
	}
	s.filled[component] = true
	c := &s.model.Components[component]
	full := s.full[component][:0]
	first := int32(s.space.FirstOf(min(s.model.MostFaults, len(s.model.Components))))
next:
	for i := len(s.act) - 1; i >= 0 && s.act[i] >= first; i-- {
		for _, m := range s.space.Modes(int(s.act[i])) {
			if j := int(m) - c.FirstMode; j >= 0 && j < c.ModeCount {
				continue next
			}
		}
		full = append(full, int32(i))
	}
	s.full[component] = full
	return full
}

// matter returns the hypotheses that had more than a little of the trail in any stretch of it,
// after smooth over all of them.
func (s *smoother) matter() []int32 {
	n := 0
	for _, m := range s.mark {
		if m {
			n++
		}
	}
	act := make([]int32, 0, n)
	for h, m := range s.mark {
		if m {
			act = append(act, int32(h))
		}
	}
	return act
}

func (s *smoother) save() int {
	if s.used == len(s.saved) {
		s.saved = append(s.saved, nil)
	}
	s.saved[s.used] = append(s.saved[s.used][:0], s.a...)
	s.used++
	return s.used - 1
}

func (s *smoother) like(n int) []float64 {
	if s.given == len(s.likes) {
		s.likes = append(s.likes, nil)
	}
	if cap(s.likes[s.given]) < n {
		s.likes[s.given] = make([]float64, n)
	}
	s.likes[s.given] = s.likes[s.given][:n]
	s.given++
	return s.likes[s.given-1]
}

// negligible is the share of one trail below which a hypothesis adds nothing to the counts.
// What is left out of all of a trail's counts is at most the number of hypotheses times that.
const negligible = 1e-13

// rowLike returns the joint likelihood of a row of results with those counts, in a class with
// outcome odds p, but for the factor Gamma(kappa)/Gamma(kappa+n) that all vectors share.
func rowLike(kappa float64, p []float64, counts []int) float64 {
	x := 1.0
	for o, c := range counts {
		for j := range c {
			x = float64(x * (float64(kappa*p[o]) + float64(j)))
		}
	}
	return x
}

// fresh returns how many of c equal results of probability p are expected to be draws from
// the law, not copies of an earlier one: sum over j < c of kappa p/(kappa p + j).
// Source: Pólya's urn; Antoniak (1974) for the number of distinct draws.
func fresh(kappa, p float64, c int) float64 {
	x := 0.0
	for j := range c {
		x += float64(kappa*p) / (float64(kappa*p) + float64(j))
	}
	return x
}

// blurredLike returns the likelihood of a weighed result given those before it in a class,
// and, if dst is not nil, by how much it changes the expected fresh draws of each outcome.
func blurredLike(dst []float64, kappa float64, p []float64, g *stage) float64 {
	sum := func(vs []vector, sign float64) float64 {
		total := 0.0
		for _, v := range vs {
			total += float64(v.weight * rowLike(kappa, p, v.counts))
		}
		if dst != nil && total > 0 {
			for _, v := range vs {
				w := float64(sign*v.weight) * rowLike(kappa, p, v.counts) / total
				for o, c := range v.counts {
					dst[o] += float64(w * fresh(kappa, p[o], c))
				}
			}
		}
		return total
	}
	before, after := sum(g.before, -1), sum(g.after, 1)
	if before == 0 {
		return 0
	}
	return after / (before * (kappa + float64(g.n)))
}

// smooth works out one trail and returns the log of its probability without the selection,
//
//	log of sum over S of w(S) P(results, never more faults than are kept | S)
//
// If out is not nil it gets what the trail adds to the counts. A replay scales the belief back to 1
// after each change, so that its log evidence leaves out what the changes cut: s.cut is the log of
// what they kept, and the difference of both is the replay's. Here it is left in, or the likelihood
// would be larger the more a change is thought to break.
func (s *smoother) smooth(stages []stage, out *sink) (logP float64, ok bool) {
	f := s.frame
	s.used, s.given, s.cut = 0, 0, 0
	for i, h := range s.act {
		s.a[i] = s.weight[h]
	}
	type piece struct {
		end   int     // what was saved at the end of the stretch
		total float64 // the probability of the stretch's results, of the first with w
		kept  float64 // by the change that ends it
	}
	var pieces []piece
	for i := range stages {
		g := &stages[i]
		if g.op != changed {
			s.weighIn(g)
			continue
		}
		p := piece{}
		if p.total, ok = s.scale(); !ok {
			return 0, false
		}
		logP += math.Log(p.total)
		p.end = s.save()
		s.forwards(g)
		if p.kept, ok = s.scale(); !ok {
			return 0, false
		}
		logP += math.Log(p.kept)
		s.cut += math.Log(p.kept)
		pieces = append(pieces, p)
	}
	last := piece{}
	if last.total, ok = s.scale(); !ok {
		return 0, false
	}
	logP += math.Log(last.total)
	if out == nil {
		return logP, true
	}
	if s.end != nil {
		for i, h := range s.act {
			s.a[i] = float64(s.a[i] * s.end[h])
		}
		s.scale()
	}
	last.end = s.save()
	pieces = append(pieces, last)
	for i := range s.act {
		s.b[i] = 1
	}
	at := len(pieces) - 1
	s.gather(pieces[at].end)
	for i := len(stages) - 1; i >= 0; i-- {
		g := &stages[i]
		switch g.op {
		case named, weighed:
			s.given--
			like := s.likes[s.given]
			s.result(g, out)
			f.laws[g.test].times(s.b, s.act, like)
		case ended:
			s.signedOff(g, out)
		case written:
			s.reported(g, out)
		case answered:
			s.said(g, out)
		case changed:
			by := 1 / pieces[at].total
			for i := range s.act {
				s.b[i] = float64(s.b[i] * by)
			}
			at--
			s.backwards(g, pieces[at].end+1, pieces[at].kept, out)
			s.gather(pieces[at].end)
		}
	}
	s.born(out)
	return logP, true
}

// times multiplies the masses of the hypotheses in act, each by what its class of a law makes of it.
func (l *law) times(masses []float64, act []int32, like []float64) {
	of := l.of
	masses = masses[:len(act)]
	for i, h := range act {
		masses[i] = float64(masses[i] * like[of[h]])
	}
}

// weighIn takes what a stage tells into the forwards masses.
func (s *smoother) weighIn(g *stage) {
	f := s.frame
	switch g.op {
	case named, weighed:
		law := &f.laws[g.test]
		table := s.tables[g.test]
		like := s.like(len(law.sets))
		kappa := f.model.Tests[g.test].Steadiness
		of := func(c int) float64 {
			p := table[c*law.n : (c+1)*law.n]
			if g.outcome >= 0 {
				return (float64(kappa*p[g.outcome]) + float64(g.same)) / (kappa + float64(g.n))
			}
			return blurredLike(nil, kappa, p, g)
		}
		if len(s.act) < len(like) {
			for _, h := range s.act {
				like[law.of[h]] = of(int(law.of[h]))
			}
		} else {
			for c := range like {
				like[c] = of(c)
			}
		}
		law.times(s.a, s.act, like)
	case ended:
		for i, h := range s.act {
			s.a[i] = float64(s.a[i] * s.numbers[s.frame.ending(g.back, h == 0)])
		}
	case written:
		for i, h := range s.act {
			right, wrong := s.report(g.modes, int(h))
			s.a[i] = float64(s.a[i] * (right + wrong))
		}
	case answered:
		for i, h := range s.act {
			no, nothing := s.answers(g, h == 0)
			s.a[i] = float64(s.a[i] * (no + nothing))
		}
	}
}

// gather works out gamma in the stretch whose end was saved there.
func (s *smoother) gather(saved int) {
	n := len(s.act)
	a, b, gamma := s.saved[saved][:n], s.b[:n], s.gamma[:n]
	for i, x := range a {
		gamma[i] = float64(x * b[i])
	}
	if s.some {
		return
	}
	mark := s.mark[:n]
	for i, x := range gamma {
		if x > s.little {
			mark[i] = true
		}
	}
}

// result adds the fresh draws of a result to the counts of its test's classes.
func (s *smoother) result(g *stage, out *sink) {
	law := &s.laws[g.test]
	n := len(law.sets)
	for len(s.class) < n {
		s.class = append(s.class, 0)
	}
	class, of, gamma := s.class, law.of, s.gamma[:len(s.act)]
	for i, h := range s.act {
		class[of[h]] += gamma[i]
	}
	kappa := s.model.Tests[g.test].Steadiness
	for _, h := range s.act {
		c := int(of[h])
		x := class[c]
		class[c] = 0
		if x < negligible {
			continue
		}
		at := c * law.n
		p := s.tables[g.test][at : at+law.n]
		at += s.tableAt[g.test]
		if g.outcome >= 0 {
			m := float64(kappa * p[g.outcome])
			out.add(at+g.outcome, float64(x*m)/(m+float64(g.same)))
			continue
		}
		s.fresh = append(s.fresh[:0], make([]float64, law.n)...)
		blurredLike(s.fresh, kappa, p, g)
		for o, y := range s.fresh {
			out.add(at+o, float64(x*y))
		}
	}
}

// report returns the probability that a person writes down those causes of a unit that came in
// with hypothesis h, and does so rightly or wrongly. Who is right names some of the modes that
// are there, each choice as likely as another; who is wrong names any that many.
func (s *smoother) report(modes []int, h int) (right, wrong float64) {
	row := s.row(s.numbers, s.record)
	wrong = row[0]
	for i := range modes {
		wrong /= float64(len(s.model.Modes) - i)
	}
	for i := range modes {
		wrong *= float64(i + 1)
	}
	have := s.space.Modes(h)
	for _, m := range modes {
		there := false
		for _, i := range have {
			there = there || int(i) == m
		}
		if !there {
			return 0, wrong
		}
	}
	if len(have) == 0 {
		return 0, wrong
	}
	return row[1] / float64(int(1)<<len(have)-1), wrong
}

// reported takes causes that were written down back, and counts them as right or wrong.
func (s *smoother) reported(g *stage, out *sink) {
	at := s.blocks[s.record].at
	var rights, wrongs float64
	for i, h := range s.act {
		right, wrong := s.report(g.modes, int(h))
		if x := s.gamma[i]; x > 0 {
			rights += float64(x*right) / (right + wrong)
			wrongs += float64(x*wrong) / (right + wrong)
		}
		s.b[i] = float64(s.b[i] * (right + wrong))
	}
	out.add(at, wrongs)
	out.add(at+1, rights)
}

// answers returns, where the person said what was wrong, the probability that they do; else those that they
// do not say, and that they would and had nothing to say, as they are right and nothing was wrong. Left
// out, units with nothing wrong, of which nobody can write a cause down, would be taken for ones of
// which nobody did.
func (s *smoother) answers(g *stage, sound bool) (no, nothing float64) {
	row := s.row(s.numbers, s.answer)
	switch {
	case g.said:
		return row[0], 0
	case sound:
		return row[1], float64(row[0] * s.row(s.numbers, s.record)[1])
	}
	return row[1], 0
}

// said takes an answer or silence back, and counts it.
func (s *smoother) said(g *stage, out *sink) {
	answer, record := s.blocks[s.answer].at, s.blocks[s.record].at
	var whole, nothing float64
	for i, h := range s.act {
		no, none := s.answers(g, h == 0)
		if x := s.gamma[i]; x > 0 {
			whole += float64(x*no) / (no + none)
			nothing += float64(x*none) / (no + none)
		}
		s.b[i] = float64(s.b[i] * (no + none))
	}
	if g.said {
		out.add(answer, whole)
		return
	}
	out.add(answer+1, whole)
	out.add(answer, nothing)
	out.add(record+1, nothing)
}

// chance returns the probabilities that a fix takes its mode away, or leaves it.
func (s *smoother) chance(block, change, tries int) (away, stays float64) {
	row := s.row(s.numbers, block)
	kappa := s.kappa[change]
	if kappa == 0 || tries == 0 {
		return row[0], row[1]
	}
	all := kappa + float64(tries)
	return float64(kappa*row[0]) / all, (float64(kappa*row[1]) + float64(tries)) / all
}

// forwards takes the masses through a change, and saves them before each move.
func (s *smoother) forwards(g *stage) {
	mv, a := &s.change[g.change], s.a
	for i, block := range mv.fixes {
		s.save()
		away, stays := s.chance(block, g.change, g.tries[i])
		for _, p := range s.pairsOf(s.blocks[block].Mode) {
			x := a[p.With]
			a[p.Without] += float64(x * away)
			a[p.With] = float64(x * stays)
		}
		s.a[len(s.act)] = 0
	}
	for _, block := range mv.risks {
		s.save()
		row := s.row(s.numbers, block)
		enters, stays := row[0], row[1]
		mode := s.blocks[block].Mode
		for _, i := range s.fullOf(s.model.Modes[mode].Component) {
			a[i] = float64(a[i] * stays)
		}
		for _, p := range s.pairsOf(mode) {
			x := a[p.Without]
			a[p.With] += float64(x * enters)
			a[p.Without] = float64(x * stays)
		}
		s.a[len(s.act)] = 0
	}
}

// backwards takes b, which belongs just after a change, to just before it, and counts what
// moved. The moves were saved from there on.
func (s *smoother) backwards(g *stage, saved int, kept float64, out *sink) {
	mv := &s.change[g.change]
	by := 1 / kept
	for i := range s.act {
		s.b[i] = float64(s.b[i] * by)
	}
	b := s.b
	for i := len(mv.risks) - 1; i >= 0; i-- {
		block := mv.risks[i]
		a := s.saved[saved+len(mv.fixes)+i]
		row := s.row(s.numbers, block)
		mode := s.blocks[block].Mode
		enter, leave := row[0], row[1]
		var enters, not float64
		for _, p := range s.pairsOf(mode) {
			in, stay := float64(enter*b[p.With]), float64(leave*b[p.Without])
			enters += float64(a[p.Without] * in)
			not += float64(a[p.Without] * stay)
			b[p.Without] = in + stay
		}
		for _, i := range s.fullOf(s.model.Modes[mode].Component) {
			stay := float64(row[1] * s.b[i]) // had it entered, it would have been cut
			not += float64(a[i] * stay)
			s.b[i] = stay
		}
		s.b[len(s.act)] = 0
		at := s.blocks[block].at
		out.add(at, enters)
		out.add(at+1, not)
	}
	for i := len(mv.fixes) - 1; i >= 0; i-- {
		block := mv.fixes[i]
		a := s.saved[saved+i]
		away, stays := s.chance(block, g.change, g.tries[i])
		var gone, left float64
		for _, p := range s.pairsOf(s.blocks[block].Mode) {
			off, stay := float64(away*b[p.Without]), float64(stays*b[p.With])
			gone += float64(a[p.With] * off)
			left += float64(a[p.With] * stay)
			b[p.With] = off + stay
		}
		s.b[len(s.act)] = 0
		at := s.blocks[block].at
		out.add(at, gone)
		out.add(at+1, float64(left*s.freshFailure(block, g.change, g.tries[i])))
		if t := s.triesAt[block]; t >= 0 {
			t += 2 * min(g.tries[i], mostTries-1)
			out.add(t, gone)
			out.add(t+1, left)
		}
	}
}

// freshFailure is how much of a failure after n others is expected to be a draw of its own,
// not a copy of an earlier one: kappa (1-p)/(kappa (1-p) + n).
func (s *smoother) freshFailure(block, change, tries int) float64 {
	kappa := s.kappa[change]
	if kappa == 0 || tries == 0 {
		return 1
	}
	x := float64(kappa * s.row(s.numbers, block)[1])
	return x / (x + float64(tries))
}

// born counts what was wrong when the unit came in.
func (s *smoother) born(out *sink) {
	f := s.frame
	modes := make([]float64, len(f.model.Modes))
	units := 0.0
	for i, h := range s.act {
		x := s.gamma[i]
		units += x
		if x < negligible {
			continue
		}
		for _, i := range f.space.Modes(int(h)) {
			modes[i] += x
		}
	}
	for c := range f.model.Components {
		at := f.blocks[f.prior[c]].at
		sound := units
		for k := range f.blocks[f.prior[c]].Len - 1 {
			x := modes[f.model.Components[c].FirstMode+k]
			sound -= x
			out.add(at+1+k, x)
		}
		out.add(at, max(sound, 0))
	}
	out.add(s.unitsAt, units)
}

// ending returns where it is counted that a unit comes back, or that it does not, after it was signed off sound or faulty.
func (f *frame) ending(back, sound bool) (entry int) {
	block := f.back[0]
	if sound {
		block = f.back[1]
	}
	if back {
		return f.blocks[block].at
	}
	return f.blocks[block].at + 1
}

// signedOff takes what an ending tells back, and counts it.
func (s *smoother) signedOff(g *stage, out *sink) {
	for i, h := range s.act {
		at := s.frame.ending(g.back, h == 0)
		out.add(at, s.gamma[i])
		s.b[i] = float64(s.b[i] * s.numbers[at])
	}
}

// scale makes the forwards masses sum to 1 and returns what they summed to.
func (s *smoother) scale() (sum float64, ok bool) {
	a := s.a[:len(s.act)]
	for _, x := range a {
		sum += x
	}
	if !(sum > 0) || math.IsInf(sum, 0) {
		return 0, false
	}
	by := 1 / sum
	for i, x := range a {
		a[i] = float64(x * by)
	}
	return sum, true
}
