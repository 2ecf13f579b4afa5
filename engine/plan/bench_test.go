package plan_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/sim"
	"pitwise/engine/trail"
)

// met returns the situations that units meet under the planner, and the result that
// follows each, for timing over what really comes up.
func met(b *testing.B, bench bench, units int) (at []plan.Situation) {
	b.Helper()
	p := plan.NewProblem(bench.space, bench.terms)
	note := noting{sim.Planned{Planner: bench.planner}, &at}
	_, err := sim.PlayAll(p, func() (sim.Policy, error) { return note, nil }, 31, units, 1, nil, nil)
	require.NoError(b, err)
	return at
}

type noting struct {
	sim.Policy
	at *[]plan.Situation
}

func (n noting) Next(b *sim.Bench) (plan.Step, error) {
	*n.at = append(*n.at, plan.Situation{Belief: b.Belief.Clone(), Setup: b.Setup})
	return n.Policy.Next(b)
}

// quantiles reports the median and the 99th percentile of milliseconds.
func quantiles(b *testing.B, ms []float64) {
	slices.Sort(ms)
	b.ReportMetric(ms[len(ms)/2], "ms-median")
	b.ReportMetric(ms[len(ms)*99/100], "ms-p99")
	b.ReportMetric(0, "ns/op")
}

// each times f over every situation, once or more.
func each(b *testing.B, at []plan.Situation, f func(plan.Situation)) {
	var ms []float64
	for b.Loop() {
		for _, s := range at {
			start := now()
			f(s)
			ms = append(ms, now()-start)
		}
	}
	quantiles(b, ms)
}

func BenchmarkTopLoader(b *testing.B) {
	units := 200
	if testing.Short() {
		units = 20
	}
	bench := newBench(b, "top-loader")
	b.Run("library", func(b *testing.B) {
		for b.Loop() {
			settle(newBench(b, "top-loader").planner.Start(bench.intake(b, 1)), 1<<20)
		}
	})
	at := met(b, bench, units)
	m := bench.space.Model()
	b.Run("update", func(b *testing.B) {
		test := 0
		each(b, at, func(s plan.Situation) {
			x := s.Belief.Clone()
			if err := x.Observe(test%len(m.Tests), belief.Named(&m.Tests[test%len(m.Tests)], 0)); err != nil {
				b.Fatal(err)
			}
			x.Modes(nil)
			test++
		})
	})
	b.Run("first", func(b *testing.B) {
		each(b, at, func(s plan.Situation) {
			for search := bench.planner.Start(s); len(search.Proposals()) == 0; {
				search.Work(1)
			}
		})
	})
	b.Run("settled", func(b *testing.B) {
		each(b, at, func(s plan.Situation) { settle(bench.planner.Start(s), 1<<20) })
	})
}

// BenchmarkGrowth shows how time and memory grow with the model: so many components of two
// modes and so many tests, for one, two and three faults at once.
func BenchmarkGrowth(b *testing.B) {
	for _, faults := range []int{1, 2, 3} {
		for _, times := range []int{1, 2, 4, 8} {
			b.Run(fmt.Sprintf("faults=%d/size=%d", faults, times), func(b *testing.B) {
				rng := rand.New(rand.NewPCG(uint64(times), 17))
				text := random.Model(rng, random.Size{Components: 6 * times, Modes: 2, Tests: 8 * times, Outcomes: 3,
					Repairs: 6 * times, Setups: 3, MostFaults: faults, Exact: true})
				m, err := model.Load(text)
				require.NoError(b, err)
				terms := trail.Terms{MinuteValue: 0.5, WorkingValue: 60, AsIsValue: 10, ComebackCost: 40}
				for _, tool := range m.Tools {
					terms.Tools = append(terms.Tools, tool.ID)
				}
				b.ReportAllocs()
				hypotheses := 0
				var settled []float64
				for b.Loop() {
					s, err := belief.NewSpace(m)
					require.NoError(b, err)
					hypotheses = s.Len()
					p, err := plan.New(s, terms)
					require.NoError(b, err)
					x := s.Prior()
					require.NoError(b, x.Observe(m.Intake, belief.Named(&m.Tests[m.Intake], 1)))
					settle(p.Start(plan.Situation{Belief: x, Setup: m.Root}), 1<<20)
					start := now()
					settle(p.Start(plan.Situation{Belief: x, Setup: m.Root}), 1<<20)
					settled = append(settled, now()-start)
				}
				slices.Sort(settled)
				b.ReportMetric(float64(hypotheses), "hypotheses")
				b.ReportMetric(settled[len(settled)/2], "ms-settled")
			})
		}
	}
}
