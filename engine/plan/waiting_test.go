package plan

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
)

// BenchmarkWaiting shows what a person waits for, on the tray and the slot-in: growing the library, taking a kept one up, and
// settled answers without and with asking the keener planner, whose library is there.
func BenchmarkWaiting(b *testing.B) {
	for _, id := range []string{"tray", "slot-in"} {
		m, err := catalog.Load(id)
		require.NoError(b, err)
		p := problem(b, m, everyTool(m))
		fresh := func() Planner {
			made, err := New(p.Space(), p.Terms)
			require.NoError(b, err)
			return made
		}
		grow := func(p Planner) {
			for !p.Grow() {
			}
		}
		b.Run(id+"/library", func(b *testing.B) {
			for b.Loop() {
				grow(fresh())
			}
		})
		one := fresh()
		grow(one)
		grow(one.Keener())
		saved := one.Save()
		b.Run(id+"/kept", func(b *testing.B) {
			for b.Loop() {
				require.NoError(b, fresh().Restore(saved))
			}
		})
		var settled, givingUp []Situation
		rng := rand.New(rand.NewPCG(4, 4))
		for i := range 14 {
			at := wander(b, p, rng, i%7)
			s := one.Start(at).(*search)
			for !s.Work(1 << 20) {
			}
			if s.asked == nil {
				settled = append(settled, at)
			} else {
				givingUp = append(givingUp, at)
			}
		}
		for name, all := range map[string][]Situation{"settled": settled, "giving-up": givingUp} {
			b.Run(id+"/"+name, func(b *testing.B) {
				if len(all) == 0 {
					b.Skip("none of these units comes so far")
				}
				n := 0
				for b.Loop() {
					s := one.Start(all[n%len(all)])
					for !s.Work(1 << 20) {
					}
					n++
				}
			})
		}
	}
}
