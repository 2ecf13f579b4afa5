package belief

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"pitwise/engine/model"
)

// A Link is one thing that moved a belief: a result of Test with its Weights, or, where
// Weights is nil, a Change.
type Link struct {
	Test    int
	Weights []float64
	Change  model.Change
}

// A chain is all that was done to one unit, cut into stretches: some results, then one
// change. Within a stretch the order of the results does not matter, so that they act
// as one factor for each test.
type chain struct {
	space     *Space
	stretches []stretch
}

type stretch struct {
	start  masses // the belief at its start, summing to 1
	runs   []run
	change *model.Change // what ends it; nil at the end of the chain
}

// A run is the results of one test in one stretch.
type run struct {
	test  int
	links []int // which links they are
	draws [][]float64
	urn   *urn   // before the run
	like  masses // joint likelihood of the run in each class
	kinds int    // different draws
	open  int    // the most count vectors of the urn in the run
}

// follow builds the chain of links. The error is that of the link that cannot be.
func (s *Space) follow(links []Link) (*chain, error) {
	c := &chain{space: s}
	b := s.Prior()
	now := stretch{start: b.p}
	for i, l := range links {
		if l.Weights == nil {
			if err := b.Apply(l.Change); err != nil {
				return nil, fmt.Errorf("link %d: %w", i, err)
			}
			now.change = &links[i].Change
			c.stretches = append(c.stretches, now)
			now = stretch{start: b.p}
			continue
		}
		at := slices.IndexFunc(now.runs, func(r run) bool { return r.test == l.Test })
		if at < 0 {
			at = len(now.runs)
			now.runs = append(now.runs, run{test: l.Test, urn: b.urns[l.Test], like: ones(s.classesOf(l.Test).n)})
		}
		like, err := b.observe(l.Test, l.Weights)
		if err != nil {
			return nil, fmt.Errorf("link %d: %w", i, err)
		}
		r := &now.runs[at]
		if !slices.ContainsFunc(r.draws, func(w []float64) bool { return slices.Equal(w, l.Weights) }) {
			r.kinds++
		}
		r.open = max(r.open, len(b.urns[l.Test].counts))
		r.links = append(r.links, i)
		r.draws = append(r.draws, l.Weights)
		r.like.times(like)
	}
	c.stretches = append(c.stretches, now)
	return c, nil
}

// times multiplies mass by mass.
func (a masses) times(b masses) {
	for i := range a.m {
		a.scale(i, b.m[i], b.e[i])
	}
}

// Origin returns the belief about how the unit came in, given all links: the chain
// smoothed back to its start. Its evidence and dropped mass are those of the prior.
func (s *Space) Origin(links []Link) (*Belief, error) {
	c, err := s.follow(links)
	if err != nil {
		return nil, err
	}
	later := ones(s.Len()) // the probability of what came later, given each hypothesis
	for i := len(c.stretches) - 1; i >= 0; i-- {
		st := &c.stretches[i]
		if st.change != nil {
			s.changeBack(later, *st.change)
		}
		for _, r := range st.runs {
			later.weigh(s.classesOf(r.test), r.like)
		}
	}
	b := s.Prior()
	b.p.times(later)
	if _, ok := b.p.normalise(); !ok {
		return nil, ErrImpossible
	}
	return b, nil
}

// LeaveOneOut returns, for each link that is a result, the probability of that result
// given all the other links: Z(all)/Z(all but it). It is NaN for a change.
//
// A result is left out by following the chain anew from its stretch on; equal results
// of one stretch are worked out once. The work grows with the number of different results
// times the number of stretches behind them: with the square of the number of changes. The
// error is ErrTooLong where that is more than a person would wait for.
func (s *Space) LeaveOneOut(links []Link) ([]float64, error) {
	c, err := s.follow(links)
	if err != nil {
		return nil, err
	}
	if c.effort() > maxEffort {
		return nil, fmt.Errorf("%w: %d changes", ErrTooLong, len(c.stretches)-1)
	}
	out := make([]float64, len(links))
	for i := range out {
		out[i] = math.NaN()
	}
	for at := range c.stretches {
		var all float64
		started := false
		for _, r := range c.stretches[at].runs {
			known := map[int]float64{} // by the first equal draw
			for i, link := range r.links {
				same := slices.IndexFunc(r.draws, func(w []float64) bool { return slices.Equal(w, r.draws[i]) })
				if p, ok := known[same]; ok {
					out[link] = p
					continue
				}
				if !started {
					started = true
					if all, err = c.logEvidence(at, -1, -1); err != nil {
						return nil, err
					}
				}
				without, err := c.logEvidence(at, r.test, i)
				if err != nil {
					return nil, err
				}
				known[same] = math.Exp(all - without)
				out[link] = known[same]
			}
		}
	}
	return out, nil
}

// ErrTooLong says that there are too many changes, or too many different results, for each
// result to be left out in turn.
var ErrTooLong = errors.New("belief: too long to leave out each result")

// maxEffort is the most work for leaving out each result in turn, in masses that are
// multiplied: some seconds.
const maxEffort = 1e9

// effort returns how many masses LeaveOneOut multiplies, about.
func (c *chain) effort() float64 {
	sum := 0.0
	behind := 0.0 // to follow the chain from here on
	for at := len(c.stretches) - 1; at >= 0; at-- {
		st := &c.stretches[at]
		behind += float64(float64(2+len(st.runs)) * float64(c.space.Len()))
		for _, r := range st.runs {
			draws := float64(len(r.draws)) * float64(len(r.like.m)) * float64(r.open)
			sum += float64(float64(r.kinds) * (behind + draws))
		}
	}
	return sum
}

// logEvidence returns the log of the probability of all results from a stretch on, each
// given those before it, with the given draw of a test's run there left out (none if
// test is -1).
func (c *chain) logEvidence(from, test, draw int) (float64, error) {
	s := c.space
	p := c.stretches[from].start.clone()
	logZ := 0.0
	var urn *urn // the test's urn without the draw, while it differs from the chain's
	differs := test >= 0
	for at := from; at < len(c.stretches); at++ {
		st := &c.stretches[at]
		for _, r := range st.runs {
			like := r.like
			if differs && r.test == test {
				var err error
				if at == from {
					urn = r.urn
				} else {
					draw = -1
				}
				if like, urn, err = s.runWithout(r, urn, draw); err != nil {
					return 0, err
				}
			}
			p.weigh(s.classesOf(r.test), like)
		}
		logP, ok := p.normalise()
		if !ok {
			return 0, ErrImpossible
		}
		logZ += logP
		if st.change == nil {
			break
		}
		s.change(p, *st.change)
		if _, ok := p.normalise(); !ok {
			return 0, ErrImpossible
		}
		if differs && s.Touches(*st.change, test) {
			differs = false
		}
	}
	return logZ, nil
}

// runWithout returns the likelihood of a run that starts from an urn, with one draw left out.
func (s *Space) runWithout(r run, u *urn, without int) (masses, *urn, error) {
	c := s.classesOf(r.test)
	like := ones(c.n)
	for i, w := range r.draws {
		if i == without {
			continue
		}
		next, after, err := u.draw(c, s.model.Tests[r.test].Steadiness, w)
		if err != nil {
			return masses{}, nil, err
		}
		like.times(next)
		u = after
	}
	return like, u, nil
}
