package belief

import (
	"errors"
	"fmt"
)

// ErrTooBlurred says that the readings of one test leave too many ways open of which
// outcome each of them was.
var ErrTooBlurred = errors.New("belief: too many blurred readings of one test")

// An urn follows at most so many count vectors, so many over all classes, and so many over
// all classes in all draws together, so that a long row of blurred readings ends soon.
const (
	maxVectors = 20_000
	maxStates  = 1 << 24
	maxFollow  = 1 << 27

	// vectorWork is what a count vector itself takes, in states of one class.
	vectorWork = 32
)

// An urn is what one test has shown since a change last touched it. The results are
// exchangeable draws from a Dirichlet-multinomial: with n results so far, c_o of them
// outcome o, the next is o with probability
//
//	(kappa P(o|S) + c_o) / (kappa + n)
//
// A reading does not say which outcome it was, only how much of it each outcome gets.
// So an urn follows every vector of counts that the readings leave open, with its odds
// in each class of hypotheses; as long as all results are plain there is just one.
// An urn is immutable.
// Source: Pólya's urn; Dirichlet-multinomial distribution.
type urn struct {
	n      int
	follow int         // count vectors over all classes so far, where more than one was open
	counts [][]int32   // the open count vectors
	odds   [][]float64 // odds[class][i] of counts[i]; nil while there is just one vector
}

// draw returns the likelihood of a further result in each class, and the urn after it.
func (u *urn) draw(c *classes, kappa float64, weights []float64) (like masses, next *urn, err error) {
	if u == nil {
		u = &urn{counts: [][]int32{make([]int32, len(weights))}}
	}
	next, from := u.grow(weights)
	if n := len(next.counts); n > 1 {
		next.follow = u.follow + n*(c.n+vectorWork)
	}
	if n := len(next.counts); n > maxVectors || n > 1 && n*c.n > maxStates || next.follow > maxFollow {
		return masses{}, nil, fmt.Errorf("%w: %d results", ErrTooBlurred, next.n)
	}
	c.work.Add(uint64(c.n * len(u.counts) * len(weights)))
	like = newMasses(c.n)
	all := kappa + float64(u.n)
	for class := range c.n {
		p := c.row(class, len(weights))
		var after []float64
		if len(next.counts) > 1 {
			after = make([]float64, len(next.counts))
		}
		sum := 0.0
		for i, counts := range u.counts {
			w := 1.0
			if u.odds != nil {
				w = u.odds[class][i]
			}
			for o, mu := range weights {
				if mu == 0 {
					continue
				}
				x := float64(float64(w*mu) * ((float64(kappa*p[o]) + float64(counts[o])) / all))
				sum += x
				if after != nil {
					after[from[i][o]] += x
				}
			}
		}
		like.m[class], like.e[class] = settle(sum, 0)
		if after != nil {
			if sum > 0 {
				for i := range after {
					after[i] /= sum
				}
			}
			next.odds = append(next.odds, after)
		}
	}
	if len(next.counts) > 1 {
		next.prune()
	}
	return like, next, nil
}

// grow returns the urn with one more result, without its odds, and where the count
// vector i goes when the result is outcome o.
func (u *urn) grow(weights []float64) (next *urn, from [][]int) {
	next = &urn{n: u.n + 1}
	known := map[string]int{}
	from = make([][]int, len(u.counts))
	key := make([]byte, 4*len(weights))
	for i, counts := range u.counts {
		from[i] = make([]int, len(weights))
		for o, mu := range weights {
			if mu == 0 {
				continue
			}
			for j, c := range counts {
				if j == o {
					c++
				}
				key[4*j], key[4*j+1], key[4*j+2], key[4*j+3] = byte(c), byte(c>>8), byte(c>>16), byte(c>>24)
			}
			at, ok := known[string(key)]
			if !ok {
				at = len(next.counts)
				known[string(key)] = at
				v := append([]int32(nil), counts...)
				v[o]++
				next.counts = append(next.counts, v)
			}
			from[i][o] = at
		}
	}
	return next, from
}

// prune drops count vectors that are beyond reach in every class. What is dropped could
// come back only by a factor of (kappa+n)/(kappa P) for each further result; the limit
// leaves room for that, and rises only where very many vectors are open.
func (u *urn) prune() {
	limit := 1e-120
	switch {
	case len(u.counts) > 1<<14:
		limit = 1e-30
	case len(u.counts) > 1<<10:
		limit = 1e-45
	}
	kept := 0
	for i := range u.counts {
		most := 0.0
		for _, odds := range u.odds {
			most = max(most, odds[i])
		}
		if most < limit {
			continue
		}
		u.counts[kept] = u.counts[i]
		for _, odds := range u.odds {
			odds[kept] = odds[i]
		}
		kept++
	}
	u.counts = u.counts[:kept]
	for class, odds := range u.odds {
		u.odds[class] = odds[:kept]
	}
	if kept == 1 {
		u.odds = nil
	}
}
