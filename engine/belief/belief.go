package belief

import (
	"errors"
	"fmt"
	"math"

	"pitwise/engine/model"
)

// ErrImpossible says that no kept hypothesis allows what was reported.
var ErrImpossible = errors.New("belief: no combination of faults allows this")

// A Belief is the odds over the hypotheses of a space, given what was done so far.
type Belief struct {
	space   *Space
	p       masses // one a hypothesis, summing to 1
	dropped float64
	logZ    float64
	urns    []*urn // by test; nil for a test without results since it was last touched
}

// Prior returns the belief before anything was seen.
func (s *Space) Prior() *Belief {
	return &Belief{space: s, p: s.prior.clone(), dropped: s.beyond, urns: make([]*urn, len(s.model.Tests))}
}

// Clone returns a belief that goes its own way from here. It takes 12 bytes a hypothesis: 24 MB
// at the most that a space holds.
func (b *Belief) Clone() *Belief {
	c := *b
	c.p = b.p.clone()
	c.urns = append([]*urn(nil), b.urns...)
	return &c
}

// Space returns the space of hypotheses.
func (b *Belief) Space() *Space { return b.space }

// LogEvidence returns the natural log of the probability of every result so far, each
// given those before it.
func (b *Belief) LogEvidence() float64 { return b.logZ }

// Dropped returns the mass that was never kept or was cut since, for having more faults
// than the model holds at once; each cut counts as a share of the belief it was cut from.
func (b *Belief) Dropped() float64 { return b.dropped }

// P returns the probability of hypothesis h.
func (b *Belief) P(h int) float64 { return b.p.plain(h) }

// Counts returns how often each outcome of a test was seen since the test was last
// touched, in expectation where readings leave it open; nil if it was not run since.
func (b *Belief) Counts(test int) []float64 {
	u := b.urns[test]
	if u == nil {
		return nil
	}
	sums := make([]float64, len(u.counts[0]))
	c := b.space.classesOf(test)
	share := make([]float64, c.n)
	if u.odds != nil {
		for h, class := range c.of {
			share[class] += b.p.plain(h)
		}
	}
	for i, counts := range u.counts {
		w := 1.0
		if u.odds != nil {
			w = 0
			for class, odds := range u.odds {
				w += float64(share[class] * odds[i])
			}
		}
		for o, n := range counts {
			sums[o] += float64(w * float64(n))
		}
	}
	return sums
}

// Sound returns the probability that nothing is wrong.
func (b *Belief) Sound() float64 { return b.p.plain(0) }

// Modes returns the probability of each mode, by mode index, in dst if it is large enough.
func (b *Belief) Modes(dst []float64) []float64 {
	s := b.space
	sums := make([]neumaier, len(s.model.Modes))
	for h := 1; h < s.Len(); h++ {
		p := b.p.plain(h)
		for _, i := range s.Modes(h) {
			sums[i].add(p)
		}
	}
	dst = dst[:0]
	for i := range sums {
		dst = append(dst, sums[i].value())
	}
	return dst
}

// Faults returns the probability of each number of faults, 0 to MostFaults, in dst if it
// is large enough.
func (b *Belief) Faults(dst []float64) []float64 {
	s := b.space
	dst = dst[:0]
	for size := 0; size <= s.model.MostFaults; size++ {
		var sum neumaier
		if size+1 < len(s.first) {
			for h := s.first[size]; h < s.first[size+1]; h++ {
				sum.add(b.p.plain(h))
			}
		}
		dst = append(dst, sum.value())
	}
	return dst
}

// Predict returns the probability of each outcome of a test if it were run now, in dst
// if it is large enough. It changes nothing.
func (b *Belief) Predict(dst []float64, test int) []float64 {
	mass, odds := b.next(test, b.space.classesOf(test))
	return predicted(dst, len(b.space.model.Tests[test].Outcomes), mass, odds)
}

// Observe takes a result of a test: a weight for each outcome, from Named or Weights. The
// error is ErrImpossible or ErrTooBlurred; the belief is then as it was.
func (b *Belief) Observe(test int, weights []float64) error {
	_, err := b.observe(test, weights)
	return err
}

// observe does the work of Observe and returns the likelihood of the result in each class.
func (b *Belief) observe(test int, weights []float64) (masses, error) {
	c := b.space.classesOf(test)
	like, next, err := b.urns[test].draw(c, b.space.model.Tests[test].Steadiness, weights)
	if err != nil {
		return masses{}, err
	}
	p := b.p.clone()
	p.weigh(c, like)
	logP, ok := p.normalise()
	if !ok {
		return masses{}, fmt.Errorf("%w: test %q", ErrImpossible, b.space.model.Tests[test].ID)
	}
	b.p = p
	b.logZ += logP
	b.urns[test] = next
	return like, nil
}

// weigh multiplies each mass by the likelihood of its class.
func (a masses) weigh(c *classes, like masses) {
	c.work.Add(uint64(len(c.of)))
	for h, class := range c.of {
		if a.m[h] != 0 {
			a.scale(h, like.m[class], like.e[class])
		}
	}
}

// Decibans returns the weight of evidence that a result would be for each mode, by mode
// index, under the belief as it is now:
//
//	10 log10( P(result | mode present) / P(result | mode absent) )
//
// It is NaN for a mode that is certainly present or certainly absent.
// Source: Good (1950), Probability and the Weighing of Evidence.
func (b *Belief) Decibans(test int, weights []float64) ([]float64, error) {
	s := b.space
	c := s.classesOf(test)
	like, _, err := b.urns[test].draw(c, s.model.Tests[test].Steadiness, weights)
	if err != nil {
		return nil, err
	}
	after := b.p.clone()
	after.weigh(c, like)
	return s.decibans(b.p, after), nil
}

// DecibansTo returns how the odds of each mode differ in another belief of the same space,
// by mode index, in decibans:
//
//	10 log10( odds of the mode in after / odds of the mode in b )
//
// It is NaN for a mode that is certainly present or certainly absent in b. For a belief and
// the one that a result made of it this is what Decibans gives.
func (b *Belief) DecibansTo(after *Belief) []float64 { return b.space.decibans(b.p, after.p) }

// decibans compares two sets of masses: what each mode gained against what its absence did.
func (s *Space) decibans(before, after masses) []float64 {
	was, is := before.split(s), after.split(s)
	w := make([]float64, len(s.model.Modes))
	for i := range w {
		w[i] = math.NaN()
		with, without := was.with, was.without
		if with.m[i] == 0 || without.m[i] == 0 {
			continue
		}
		w[i] = 10 / math.Ln10 * ((logMass(is.with.m[i], is.with.e[i]) - logMass(with.m[i], with.e[i])) -
			(logMass(is.without.m[i], is.without.e[i]) - logMass(without.m[i], without.e[i])))
	}
	return w
}

// halves are the masses of the hypotheses with and without each mode, by mode index.
type halves struct{ with, without masses }

// split sums the masses with and without each mode, so that neither is a difference.
func (a masses) split(s *Space) halves {
	n := len(s.model.Modes)
	out := halves{newMasses(n), newMasses(n)}
	for h := range a.m {
		for _, i := range s.Modes(h) {
			out.with.m[i], out.with.e[i] = plus(out.with.m[i], out.with.e[i], a.m[h], a.e[h])
		}
	}
	all, level := a.total()
	for i := range n {
		if out.with.m[i] == 0 {
			out.without.m[i], out.without.e[i] = all, level
			continue
		}
		if with := plain(out.with.m[i], out.with.e[i]-level); with < float64(0.5*all) {
			// most is without it: the difference is safe
			out.without.m[i], out.without.e[i] = settle(all-with, level)
			continue
		}
		for h := range a.m {
			if !s.has(h, uint16(i)) {
				out.without.m[i], out.without.e[i] = plus(out.without.m[i], out.without.e[i], a.m[h], a.e[h])
			}
		}
	}
	return out
}

func (s *Space) has(h int, mode uint16) bool {
	for _, i := range s.Modes(h) {
		if i == mode {
			return true
		}
	}
	return false
}

// Apply takes a change: a repair, or one step of the way between setups. Tests that it
// touches start afresh. The error is ErrImpossible if it leaves nothing that is kept; the
// belief is then as it was.
func (b *Belief) Apply(c model.Change) error {
	p := b.p.clone()
	cut, level := b.space.change(p, c)
	if _, ok := p.normalise(); !ok {
		return fmt.Errorf("%w: every one has more than %d faults after the change", ErrImpossible, b.space.model.MostFaults)
	}
	b.p = p
	b.dropped += plain(cut, level)
	for test := range b.urns {
		if b.urns[test] != nil && b.space.Touches(c, test) {
			b.urns[test] = nil
		}
	}
	return nil
}
