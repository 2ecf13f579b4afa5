package learn

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// The stages of a course, as they stand in a shape.
const (
	named    = iota + 1 // test, outcome
	weighed             // test, a weight for each outcome
	changed             // change, and for a repair that remembers the tries of each fix before this one
	ended               // 1 if the unit came back, 0 if nothing of the kind is recorded
	written             // how many modes, the modes: the causes that the person wrote down
	implied             // as weighed: the result that brought the unit in, where none was recorded
	answered            // 1 if the person who signed the unit off for good wrote causes down, 0 if not
)

// A shape is all of a trail that bears on the numbers, in few bytes: trails of one shape
// tell the same. Texts, labels, times and terms are not in it.
type shape []byte

// named reports whether causes were written down: they come first.
func (s shape) named() bool { return len(s) > 0 && s[0] == written }

func (s shape) put(x int) shape { return binary.AppendUvarint(s, uint64(x)) }

// Errors about single trails, which are then left out and counted.
var (
	ErrOtherModel = errors.New("learn: the trail is of another model")
	ErrBlurred    = errors.New("learn: too many blurred readings of one test")
	ErrImpossible = errors.New("learn: no combination of faults allows this trail")
)

// shapeOf returns the shape of a trail: told results first, then what the live events did,
// in their order. The first result of the intake test is the one that brought the unit in;
// where the trail has none that could have, that one is taken to be any but the best.
func (f *frame) shapeOf(t *trail.Trail) (shape, error) {
	m := f.model
	if t.Model.ID != m.ID {
		return nil, fmt.Errorf("%w: %s", ErrOtherModel, t.Model.ID)
	}
	if err := t.Check(m); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrOtherModel, err)
	}
	live := t.Live()
	c := courser{frame: f, setup: m.Root, tries: m.Untried()}
	var causes []int
	for i := range t.Events {
		e := &t.Events[i]
		if !live[i] {
			continue
		}
		switch e.Kind {
		case trail.Result:
			if test, _ := m.Test(e.Test); test.Told {
				c.result(test, e)
			}
		case trail.End:
			if len(e.Causes) > 0 {
				causes = causes[:0]
				for _, id := range e.Causes {
					mode, _ := m.Mode(id)
					causes = append(causes, mode.Index)
				}
			}
		}
	}
	for i := range t.Events {
		e := &t.Events[i]
		if !live[i] {
			continue
		}
		switch e.Kind {
		case trail.Result:
			if test, _ := m.Test(e.Test); !test.Told {
				c.result(test, e)
			}
		case trail.Repair:
			repair, _ := m.Repair(e.Repair)
			c.move(repair.Index)
		case trail.Setup:
			to, _ := m.Setup(e.Setup)
			for _, mv := range m.Way(c.setup, to.Index) {
				c.move(f.move(mv))
			}
			c.setup = to.Index
		case trail.End:
			c.end(t, live, i)
		}
	}
	var out shape
	if len(causes) > 0 {
		out = out.put(written).put(len(causes))
		for _, i := range causes {
			out = out.put(i)
		}
	}
	if c.stands {
		said := 0
		if len(causes) > 0 {
			said = 1
		}
		out = out.put(answered).put(said)
	}
	if !c.brought {
		w := make([]float64, len(m.Tests[m.Intake].Outcomes))
		for k := range w {
			w[k] = 1
		}
		w[0] = 0
		out = out.weigh(implied, m.Intake, w)
	}
	return append(out, c.shape...), nil
}

type courser struct {
	*frame
	shape    shape
	setup    int
	tries    [][]int // as model.Untried
	changed  bool
	brought  bool // the result that brought the unit in is there
	returned bool // the last sign-off is known to have come back
	stands   bool // the last ending is a sign-off, and the unit has not come back
}

func (s shape) weigh(op, test int, w []float64) shape {
	s = s.put(op).put(test)
	for _, x := range w {
		s = binary.LittleEndian.AppendUint64(s, math.Float64bits(x))
	}
	return s
}

func (c *courser) result(test *model.Test, e *trail.Event) {
	first := test.Index == c.model.Intake && !c.brought && !c.changed
	if e.Reading == nil {
		o, _ := test.Outcome(e.Outcome)
		c.brought = c.brought || first && o > 0
		c.shape = c.shape.put(named).put(test.Index).put(o)
		return
	}
	w := belief.Weights(test, *e.Reading)
	if first {
		rest := 0.0
		for _, x := range w[1:] {
			rest += x
		}
		if rest >= 0.5 { // it counts as another than the best
			c.brought, w[0] = true, 0
		}
	}
	only := -1
	for o, x := range w {
		if x > 0 && only < 0 {
			only = o
		} else if x > 0 {
			only = len(w)
		}
	}
	if only >= 0 && only < len(w) && w[only] == 1 {
		c.shape = c.shape.put(named).put(test.Index).put(only)
		return
	}
	c.shape = c.shape.weigh(weighed, test.Index, w)
}

func (c *courser) move(change int) {
	mv := &c.frame.change[change]
	if len(mv.fixes) == 0 && len(mv.risks) == 0 {
		return
	}
	c.changed = true
	c.shape = c.shape.put(changed).put(change)
	if mv.repair < 0 {
		c.tries = c.model.Disturbed(c.tries, mv.change)
		return
	}
	if mv.kappa > 0 {
		for i := range mv.fixes {
			c.shape = c.shape.put(c.tries[mv.repair][i])
		}
	}
	c.tries = c.model.Tried(c.tries, mv.repair)
}

// end adds what an ending tells: of a sign-off whether the unit came back from it.
func (c *courser) end(t *trail.Trail, live []bool, at int) {
	c.stands = false
	switch t.Events[at].As {
	case trail.SignedOff:
		c.returned = false
	later:
		for i := at + 1; i < len(t.Events); i++ {
			e := &t.Events[i]
			if !live[i] {
				continue
			}
			switch {
			case e.Kind == trail.End && e.As == trail.SignedOff:
				break later
			case e.Kind == trail.End && e.As == trail.Returned, e.Kind == trail.Repair, e.Kind == trail.Setup:
				c.returned = true
				break later
			case e.Kind == trail.Result:
				if test, _ := c.model.Test(e.Test); !test.Told {
					c.returned = true
					break later
				}
			}
		}
		back := 0
		if c.returned {
			back = 1
		}
		c.stands = back == 0
		c.shape = c.shape.put(ended).put(back)
	case trail.Returned:
		if !c.returned { // nothing says when it was signed off
			c.shape = c.shape.put(ended).put(1)
		}
		c.returned = false
	}
}

// A stage is one thing that was done, ready to be worked with.
type stage struct {
	op      int
	test    int
	outcome int // of named, where nothing of the urn is blurred: -1 otherwise
	n, same int // results of the urn before this one, and those of the same outcome
	before  []vector
	after   []vector
	implied bool  // nobody saw it
	last    bool  // of weighed: no further result of the urn
	first   []int // of weighed: counts before anything was blurred
	change  int
	tries   []int
	back    bool
	said    bool // of answered
	modes   []int
}

// plain returns how many results of an outcome the urn had before anything was blurred.
func (g *stage) plain(o int) int { return g.first[o] }

// A vector is counts of outcomes that a row of results leaves open, with its weight.
type vector struct {
	counts []int
	weight float64
}

// mostVectors is how many count vectors a row of blurred readings may leave open.
const mostVectors = 4096

// stages reads a shape. The error is ErrBlurred.
func (f *frame) stages(s shape) ([]stage, error) {
	var all []stage
	m := f.model
	type urn struct {
		at      int // the last stage of it
		n       int
		counts  []int
		vectors []vector // nil while nothing is blurred
	}
	urns := make(map[int]*urn)
	next := func() int {
		x, n := binary.Uvarint(s)
		s = s[n:]
		return int(x)
	}
	for len(s) > 0 {
		g := stage{op: next(), outcome: -1}
		switch g.op {
		case named, weighed, implied:
			g.implied = g.op == implied
			g.test = next()
			k := len(m.Tests[g.test].Outcomes)
			u := urns[g.test]
			if u == nil {
				u = &urn{at: -1, counts: make([]int, k)}
				urns[g.test] = u
			}
			g.n = u.n
			u.n++
			var w []float64
			if g.op == named {
				o := next()
				if u.vectors == nil {
					g.outcome, g.same = o, u.counts[o]
					u.counts[o]++
					break
				}
				w = make([]float64, k)
				w[o] = 1
			} else {
				w = make([]float64, k)
				for o := range w {
					w[o] = math.Float64frombits(binary.LittleEndian.Uint64(s))
					s = s[8:]
				}
				if u.vectors == nil {
					u.vectors = []vector{{append([]int(nil), u.counts...), 1}}
				}
			}
			g.op, g.last, g.first = weighed, true, u.counts
			if u.at >= 0 && all[u.at].op == weighed {
				all[u.at].last = false
			}
			u.at = len(all)
			g.before = u.vectors
			u.vectors = drawn(u.vectors, w)
			if len(u.vectors) > mostVectors {
				return nil, fmt.Errorf("%w: %d results of %s", ErrBlurred, u.n, m.Tests[g.test].ID)
			}
			g.after = u.vectors
		case changed:
			g.change = next()
			mv := &f.change[g.change]
			g.tries = make([]int, len(mv.fixes))
			if mv.kappa > 0 {
				for i := range g.tries {
					g.tries[i] = next()
				}
			}
			for t := range urns {
				if mv.touch[t] {
					delete(urns, t)
				}
			}
		case ended:
			g.back = next() == 1
		case answered:
			g.said = next() == 1
		case written:
			n := next()
			for range n {
				g.modes = append(g.modes, next())
			}
		}
		all = append(all, g)
	}
	return all, nil
}

// staged reads the shape of trails that were taken in, and so can be read.
func (f *frame) staged(g *group) []stage {
	all, err := f.stages(g.shape)
	if err != nil {
		panic(err)
	}
	return all
}

// drawn returns the vectors after one more result with those weights, in a fixed order.
func drawn(from []vector, w []float64) []vector {
	var out []vector
	known := map[string]int{}
	key := make([]byte, 0, 32)
	for _, v := range from {
		for o, x := range w {
			if x == 0 {
				continue
			}
			key = key[:0]
			for i, c := range v.counts {
				if i == o {
					c++
				}
				key = binary.AppendUvarint(key, uint64(c))
			}
			at, ok := known[string(key)]
			if !ok {
				at = len(out)
				known[string(key)] = at
				c := append([]int(nil), v.counts...)
				c[o]++
				out = append(out, vector{counts: c})
			}
			out[at].weight += float64(v.weight * x)
		}
	}
	return out
}
