package plan

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Sums are cut short once what is left cannot make up for it, below zero too: the plan that is
// found is always the oldest of the cheapest.
func TestTheCheapestPlanIsFoundThoughSumsAreCutShort(t *testing.T) {
	const n = 5*stretch + 3
	rng := rand.New(rand.NewPCG(3, 1))
	hyps, w := make([]int32, n), make([]float64, n)
	for _, positive := range []bool{true, false} {
		for range 200 {
			for i := range hyps {
				hyps[i], w[i] = int32(i), rng.ExpFloat64()
			}
			l := new(library)
			l.clear(1, n)
			for range 1 + rng.IntN(30) {
				p := &plan{cost: make([]float64, n)}
				for i := range p.cost {
					p.cost[i] = float64(rng.IntN(9))
					if !positive && i >= n/2 {
						p.cost[i] -= 12 * rng.Float64() // what the first half says is not the end of it
					}
				}
				l.add(p)
				if rng.IntN(4) == 0 {
					l.add(&plan{cost: p.cost}) // as cheap, and newer
				}
			}
			want := l.plans[0][0]
			for _, p := range l.plans[0] {
				if dot(p.cost, hyps, w) < dot(want.cost, hyps, w) {
					want = p
				}
			}
			got, v := l.best(0, hyps, w, record{}, set{})
			assert.Same(t, want, got)
			assert.Equal(t, dot(want.cost, hyps, w), v)
			at := rng.IntN(len(l.plans[0]) + 1) // of what was looked at before, its pick is enough
			both := l.pick(l.plans[0][at:], l.pick(l.plans[0][:at], none, hyps, w, record{}, set{}), hyps, w, record{}, set{})
			assert.Same(t, want, both.plan)
			packed := none
			for _, plans := range [][]*plan{l.plans[0][:at], l.plans[0][at:]} {
				var s shelf
				l.pack(&s, plans, &point{hyps: hyps}, set{})
				s.turn(0, record{})
				packed = s.best(packed, w, 0, 0, record{})
			}
			assert.Same(t, want, packed.plan)
			assert.InEpsilon(t, dot(want.cost, hyps, w), packed.cost, 1e-9)
		}
	}
}
