package exact

import (
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/plan"
)

func TestMoreResultsThanAByteHoldsCountAsSoMany(t *testing.T) {
	counts := []uint8{254, 3}
	for range 4 {
		counts = counted(counts, 0)
	}
	assert.Equal(t, []uint8{255, 3}, counts)

	e, err := Solve(small(t, 5), Effort{Tolerance: 0.005, Backups: 10})
	require.NoError(t, err)
	m := e.Space().Model()
	b := e.Space().Prior()
	for range 300 {
		require.NoError(t, b.Observe(m.Intake, belief.Named(&m.Tests[m.Intake], 1)))
	}
	g := e.tight.view()
	n := e.at(g, plan.Situation{Belief: b, Setup: m.Root})
	i := g.from[m.Intake] + 1
	require.Equal(t, uint8(255), n.counts[i])
	acts := g.acts[n.setup]
	a := slices.IndexFunc(acts, func(a act) bool { return a.step == plan.Step{Kind: plan.DoTest, Index: m.Intake} })
	e1 := edge{act: &acts[a]}
	g.expand(n, &e1)
	for _, arc := range e1.to {
		assert.Equal(t, uint8(255), arc.node.counts[i])
	}
}

// A repair that asks for a result is on offer while the last result is one of those; two demands of
// one repair are two ways to it.
func TestAGateOpensAndShuts(t *testing.T) {
	found := 0
	for seed := range uint64(40) {
		p := second(t, seed)
		g, ok := newGate(p)
		require.True(t, ok)
		m := p.Space().Model()
		seen := make([]int, len(m.Tests))
		for i := range seen {
			seen[i] = -1
		}
		o := g.of(seen)
		for _, step := range []int{0, 1, 2, 3, 4, 5, 6, 7} {
			for _, r := range p.Repairs() {
				require.Equal(t, p.Open(r, seen), g.offers(r, o), "seed %d", seed)
				require.Equal(t, p.Open(r, seen), p.Open(r, g.seen(o)), "seed %d: what is open tells enough of what was seen", seed)
				if g.demands[r] != nil {
					found++
				}
			}
			assert.True(t, o.within(g.all()))
			test := step % len(m.Tests)
			seen[test] = (step + int(seed)) % len(m.Tests[test].Outcomes)
			wider := g.after(o, test, seen[test], true)
			o = g.after(o, test, seen[test], false)
			assert.True(t, o.within(wider))
		}
	}
	assert.Greater(t, found, 50)
}

func TestASolutionIsSafeForConcurrentUse(t *testing.T) {
	e, err := Solve(second(t, 3), Effort{Tolerance: 0.005, Backups: 300})
	require.NoError(t, err)
	m := e.Space().Model()
	var at []plan.Situation
	for _, s := range e.starts {
		b := e.Space().Prior()
		for i, o := range s.results {
			if o >= 0 {
				require.NoError(t, b.Observe(i, belief.Named(&m.Tests[i], o)))
			}
		}
		at = append(at, plan.Situation{Belief: b, Setup: m.Root, Seen: s.results})
	}
	var want []plan.Step
	for _, x := range at {
		step, err := e.Next(x)
		require.NoError(t, err)
		want = append(want, step)
	}
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			for i, x := range at {
				step, err := e.Next(x)
				assert.NoError(t, err)
				assert.Equal(t, want[i], step)
			}
		})
	}
	all.Wait()
}
