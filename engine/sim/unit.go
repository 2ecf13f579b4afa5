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
	modes  []uint16    // what is wrong, rising; may be more than the model holds at once
	counts [][]float64 // by test: results since it was last touched
	runs   []uint64    // by test: results ever
	fixes  uint64      // changes ever
}

// Draw draws unit number n: its faults from the prior, and the outcome of its intake
// test, again until that outcome is not the best one. It does not return if no other ever
// comes.
func Draw(s *belief.Space, seed uint64, n int) (u *Unit, intake int) {
	prior := s.Prior()
	seed = mix(seed, uint64(n))
	for try := uint64(0); ; try++ {
		u = &Unit{model: s.Model(), space: s, seed: mix(seed, try)}
		u.counts = make([][]float64, len(u.model.Tests))
		u.runs = make([]uint64, len(u.model.Tests))
		x := uniform(u.seed, 0, 0, 0)
		h := 0
		for ; h < s.Len()-1; h++ {
			if x -= prior.P(h); x < 0 {
				break
			}
		}
		u.modes = slices.Clone(s.Modes(h))
		if intake = u.Run(u.model.Intake); intake > 0 {
			return u, intake
		}
	}
}

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

// Apply makes a change to the unit.
func (u *Unit) Apply(c model.Change) {
	u.fixes++
	for _, f := range c.Fixes {
		if at := slices.Index(u.modes, uint16(f.Mode)); at >= 0 && uniform(u.seed, 2, u.fixes, uint64(f.Mode)) < f.P {
			u.modes = slices.Delete(u.modes, at, at+1)
		}
	}
	for _, r := range c.Risks {
		sound := !slices.ContainsFunc(u.modes, func(i uint16) bool {
			return u.model.Modes[i].Component == u.model.Modes[r.Mode].Component
		})
		if sound && uniform(u.seed, 3, u.fixes, uint64(r.Mode)) < r.P {
			u.modes = append(u.modes, uint16(r.Mode))
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
