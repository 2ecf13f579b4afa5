package exact

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	front "pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/plan"
	"pitwise/engine/sim"
)

// Who is told more never pays more: with pairs of hypotheses told apart the floor lies between the
// clairvoyant and the exact solution; with nothing told it comes near to the solution.
func TestAFloorLiesBelowTheExactCost(t *testing.T) {
	models := uint64(4)
	if testing.Short() {
		models = 2
	}
	nearer, starts := 0, 0
	for seed := range models {
		p := small(t, seed)
		if seed%2 == 1 {
			p = second(t, seed)
		}
		effort := Effort{Tolerance: 0.005, Backups: 300}
		e, err := Solve(p, effort)
		require.NoError(t, err)
		f, err := NewFloor(p)
		require.NoError(t, err)
		m := p.Space().Model()
		for i, s := range e.starts {
			if i == 2 {
				break
			}
			b := p.Space().Prior()
			for test, o := range s.results {
				if o >= 0 {
					require.NoError(t, b.Observe(test, belief.Named(&m.Tests[test], o)))
				}
			}
			at := plan.Situation{Belief: b, Setup: m.Root, Seen: s.results}
			pairs, known := f.At(at, Reach{Groups: 64, Size: 2, Effort: effort})
			all, same := f.At(at, Reach{Groups: 1, Size: 64, Effort: effort})
			slack := 1e-6 * (1 + s.node.high)
			assert.Equal(t, known, same)
			assert.LessOrEqual(t, known, pairs.Low+slack, "seed %d", seed)
			assert.LessOrEqual(t, pairs.Low, s.node.high+slack, "seed %d", seed)
			assert.LessOrEqual(t, all.Low, s.node.high+slack, "seed %d", seed)
			assert.LessOrEqual(t, s.node.low, all.High+slack, "seed %d", seed)
			starts++
			if all.Low > known+0.5*(s.node.low-known) {
				nearer++
			}
		}
	}
	t.Logf("%d starts, %d with more than half of the way from the clairvoyant to the solution", starts, nearer)
	assert.Greater(t, nearer, starts/2)
}

// How near the planner is to the best on the shipped models, at the terms of the page, over units as
// they come in. PITWISE_FLOOR_UNITS, _GROUPS, _SIZE and _BACKUPS ask for more units, and for a closer look at each.
func TestTheFloorOfShippedModels(t *testing.T) {
	units := int(number(t, "PITWISE_FLOOR_UNITS", 1))
	reach := Reach{
		Groups: int(number(t, "PITWISE_FLOOR_GROUPS", 1)), Size: int(number(t, "PITWISE_FLOOR_SIZE", 3)),
		Effort: Effort{Tolerance: 0.01, Backups: int(number(t, "PITWISE_FLOOR_BACKUPS", 10))},
	}
	for _, family := range catalog.Models() {
		if testing.Short() && family.ID != "top-loader" {
			continue
		}
		t.Run(family.ID, func(t *testing.T) {
			m, err := catalog.Load(family.ID)
			require.NoError(t, err)
			p := problem(t, m, front.DefaultTerms(m))
			f, err := NewFloor(p)
			require.NoError(t, err)
			planner, err := plan.New(p.Space(), p.Terms)
			require.NoError(t, err)
			low, high, knows, foreseen := 0.0, 0.0, 0.0, 0.0
			var took time.Duration
			for n := range units {
				_, answers := sim.Draw(p.Space(), 21, n)
				b := p.Space().Prior()
				at := plan.Situation{Belief: b, Setup: m.Root, Seen: make([]int, len(m.Tests))}
				for test := range at.Seen {
					at.Seen[test] = -1
				}
				for _, a := range answers {
					require.NoError(t, b.Observe(a.Test, belief.Named(&m.Tests[a.Test], a.Outcome)))
					at.Seen[a.Test] = a.Outcome
				}
				began := time.Now()
				bounds, known := f.At(at, reach)
				took += time.Since(began)
				foreseen += settled(planner, at).Total
				assert.LessOrEqual(t, known, bounds.Low+1e-6)
				assert.LessOrEqual(t, bounds.Low, bounds.High+1e-6)
				low, high, knows = low+bounds.Low, high+bounds.High, knows+known
			}
			n := float64(units)
			t.Logf("%d units, %v each: clairvoyant %.2f, floor %.2f, planner %.2f as it foresees, its library %.2f", units, took/time.Duration(units), knows/n, low/n, foreseen/n, high/n)
		})
	}
}
