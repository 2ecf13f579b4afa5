package sim

import (
	"slices"

	"pitwise/engine/belief"
	"pitwise/engine/model"
)

// A Unit is one simulated unit: what is truly wrong with it, and how its tests draw.
type Unit struct {
	model  *model.Model
	space  *belief.Space
	seed   uint64
	origin []uint16    // what was wrong when it came in, rising
	modes  []uint16    // what is wrong, rising; may be more than the model holds at once
	counts [][]float64 // by test: results since it was last touched
	runs   []uint64    // by test: results ever
	fixes  uint64      // changes ever
	tries  [][]int     // what its repairs remember
}

// An Answer is the outcome that a test showed.
type Answer struct {
	Test    int // index in Model.Tests
	Outcome int
}

// Draw draws unit number n: its faults from the prior, and the outcome of its intake
// test, again until that outcome is not the best one. It returns what is known of the unit
// before the first step: the answers of the told tests, in the order of the model, and the
// outcome of the intake test, last if it is none of them. It does not return if the intake test
// never shows another outcome.
func Draw(s *belief.Space, seed uint64, n int) (*Unit, []Answer) {
	prior := s.Prior()
	seed = mix(seed, uint64(n))
	m := s.Model()
	for try := uint64(0); ; try++ {
		u := &Unit{model: m, space: s, seed: mix(seed, try), tries: m.Untried()}
		u.counts = make([][]float64, len(m.Tests))
		u.runs = make([]uint64, len(m.Tests))
		x := uniform(u.seed, 0, 0, 0)
		h := 0
		for ; h < s.Len()-1; h++ {
			if x -= prior.P(h); x < 0 {
				break
			}
		}
		u.origin = s.Modes(h)
		u.modes = slices.Clone(u.origin)
		intake := u.Run(m.Intake)
		if intake == 0 {
			continue
		}
		var known []Answer
		for t := range m.Tests {
			switch {
			case t == m.Intake && m.Tests[t].Told:
				known = append(known, Answer{t, intake})
			case m.Tests[t].Told:
				known = append(known, Answer{t, u.Run(t)})
			}
		}
		if !m.Tests[m.Intake].Told {
			known = append(known, Answer{m.Intake, intake})
		}
		return u, known
	}
}

// Origin returns what was wrong when the unit came in, rising by mode index. It must not be
// changed.
func (u *Unit) Origin() []uint16 { return u.origin }

// Faulty reports whether anything is wrong.
func (u *Unit) Faulty() bool { return len(u.modes) > 0 }

// Modes returns what is wrong, rising by mode index. It must not be changed.
func (u *Unit) Modes() []uint16 { return u.modes }

// Run runs a test and returns its outcome. Repeats between changes that touch the test
// share one latent rate, Dirichlet(kappa P(.|S)): drawn one by one from Pólya's urn, which
// is the same.
func (u *Unit) Run(test int) int {
	t := &u.model.Tests[test]
	p := u.space.OutcomesOf(nil, test, u.modes)
	c := u.counts[test]
	if c == nil {
		c = make([]float64, len(p))
		u.counts[test] = c
	}
	n := 0.0
	for _, x := range c {
		n += x
	}
	x := uniform(u.seed, 1, uint64(test), u.runs[test])
	u.runs[test]++
	o := 0
	for ; o < len(p)-1; o++ {
		if x -= (float64(t.Steadiness*p[o]) + c[o]) / (t.Steadiness + n); x < 0 {
			break
		}
	}
	c[o]++
	return o
}

// Repair does a repair to the unit. The latent rate at which it works on a fault, where it
// remembers its failures, is drawn one try after the other from Pólya's urn, which is the
// same.
func (u *Unit) Repair(index int) {
	r := &u.model.Repairs[index]
	c := r.Change
	if u.tries != nil {
		c = r.After(u.tries[index])
	}
	u.apply(c)
	u.tries = u.model.Tried(u.tries, index)
}

// Move takes the unit from one setup to another.
func (u *Unit) Move(from, to int) {
	for _, mv := range u.model.Way(from, to) {
		if work, _ := u.model.Move(mv); !work.Change.Nothing() {
			u.apply(work.Change)
			u.tries = u.model.Disturbed(u.tries, work.Change)
		}
	}
}

func (u *Unit) apply(c model.Change) {
	u.fixes++
	for t := range c.Transitions() {
		if !t.Enters {
			if at := slices.Index(u.modes, uint16(t.Mode)); at >= 0 && uniform(u.seed, 2, u.fixes, uint64(t.Mode)) < t.P {
				u.modes = slices.Delete(u.modes, at, at+1)
			}
			continue
		}
		sound := !slices.ContainsFunc(u.modes, func(i uint16) bool {
			return u.model.Modes[i].Component == u.model.Modes[t.Mode].Component
		})
		if sound && uniform(u.seed, 3, u.fixes, uint64(t.Mode)) < t.P {
			u.modes = append(u.modes, uint16(t.Mode))
			slices.Sort(u.modes)
		}
	}
	for t := range u.counts {
		if u.counts[t] != nil && u.space.Touches(c, t) {
			u.counts[t] = nil
		}
	}
}

// mix joins two numbers into one that looks random.
// Source: the finaliser of SplitMix64, Steele, Lea & Flood (2014).
func mix(a, b uint64) uint64 {
	z := a + (b+1)*0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// uniform returns a number in [0, 1) that depends on its arguments alone.
func uniform(seed, kind, a, b uint64) float64 {
	return float64(mix(mix(mix(mix(seed, kind), a), b), 0)>>11) / (1 << 53)
}
