package plan

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/trail"
)

// BenchmarkPruning shows what it costs that a search chooses by the likely hypotheses
// alone: for so many of them, how often the proposal is that of all hypotheses, by how much
// its expected total differs, and the time it takes. It runs over the beliefs after each
// intake outcome and after one more result of each of the tests that need no setup.
func BenchmarkPruning(b *testing.B) {
	m, err := catalog.Load("top-loader")
	require.NoError(b, err)
	s, err := belief.NewSpace(m)
	require.NoError(b, err)
	terms := trail.Terms{MinuteValue: 0.5, WorkingValue: 60, AsIsValue: 10, ComebackCost: 40}
	for _, tool := range m.Tools {
		terms.Tools = append(terms.Tools, tool.ID)
	}
	var at []Situation
	for o := 1; o < len(m.Tests[m.Intake].Outcomes); o++ {
		x := s.Prior()
		require.NoError(b, x.Observe(m.Intake, belief.Named(&m.Tests[m.Intake], o)))
		at = append(at, Situation{Belief: x, Setup: m.Root})
		for t := range m.Tests {
			if t == m.Intake || m.Tests[t].At != m.Root || len(at)%4 != 0 && len(at) > 40 {
				continue
			}
			y := x.Clone()
			require.NoError(b, y.Observe(t, belief.Named(&m.Tests[t], len(m.Tests[t].Outcomes)-1)))
			at = append(at, Situation{Belief: y, Setup: m.Root})
		}
	}
	at = at[:min(len(at), 24)]
	p, err := New(s, terms)
	require.NoError(b, err)
	pl := p.(*planner)
	settle := func(sit Situation) Proposal {
		search := p.Start(sit)
		for !search.Work(1 << 20) {
		}
		return search.Proposals()[0]
	}
	n := s.Len()
	pl.beamFor = func(bool) beam { return beam{steps: []int{8}, wide: []int{n, n}} }
	var want []Proposal
	for _, sit := range at {
		want = append(want, settle(sit))
	}
	for _, wide := range []int{48, 96, 192, 384, 1536} {
		b.Run(fmt.Sprintf("likely=%d", wide), func(b *testing.B) {
			pl.beamFor = func(bool) beam { return beam{steps: []int{8}, wide: []int{wide, 2 * wide}} }
			same, off, ms := 0, 0.0, 0.0
			for b.Loop() {
				same, off, ms = 0, 0, 0
				for i, sit := range at {
					start := time.Now()
					got := settle(sit)
					ms += float64(time.Since(start)) / 1e6
					if got.Step == want[i].Step {
						same++
					}
					off += math.Abs(got.Total-want[i].Total) / want[i].Total
				}
			}
			n := float64(len(at))
			b.ReportMetric(100*float64(same)/n, "%-same-step")
			b.ReportMetric(100*off/n, "%-total-off")
			b.ReportMetric(ms/n, "ms-settled")
			b.ReportMetric(0, "ns/op")
		})
	}
}
