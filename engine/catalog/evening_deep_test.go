//go:build deep

// Playing evenings takes some minutes a family: run it with
// go test -tags deep -run Evenings -v ./engine/catalog for the figures of cmd/dev/MEASUREMENTS.md.

package catalog_test

import (
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
	"pitwise/engine/plan"
	"pitwise/engine/sim"
)

// TestEveningsEndWell plays 300 units a family (or PITWISE_UNITS) at two values of a
// working unit, and logs what the evenings came to.
func TestEveningsEndWell(t *testing.T) {
	units := 300
	if s := os.Getenv("PITWISE_UNITS"); s != "" {
		n, err := strconv.Atoi(s)
		require.NoError(t, err)
		units = n
	}
	for _, e := range catalog.Models() {
		for _, value := range []float64{60, 120} {
			t.Run(e.ID+" worth "+strconv.Itoa(int(value)), func(t *testing.T) {
				_, space, terms := fitted(t, e.ID)
				terms.MinuteValue, terms.WorkingValue, terms.AsIsValue, terms.ComebackCost = 0.5, value, 10, 40
				planner, err := plan.New(space, terms)
				require.NoError(t, err)
				policy := func() (sim.Policy, error) { return sim.Planned{Planner: planner}, nil }
				runs, err := sim.PlayAll(plan.NewProblem(space, terms), policy, 1, units, 2, nil, nil)
				require.NoError(t, err)
				var right []sim.Run
				for _, r := range runs {
					if r.Mended() {
						right = append(right, r)
					}
				}
				all := sim.Summarise(runs)
				require.NotEmpty(t, right)
				good := sim.Summarise(right)
				t.Logf("%d units: cost %.1f ± %.1f; right %.2f, written off %.2f, come back %.3f; all: %.1f steps, %.1f min; to a right sign-off: %.1f steps, %.1f min",
					units, all.MeanCost, all.StandardError, all.Fixed, all.WrittenOff, all.ComeBack, all.Steps, all.MeanMinutes, good.Steps, good.MeanMinutes)
				for n, r := range runs {
					assert.LessOrEqual(t, r.Steps, 100, "unit %d goes round in circles, for %.0f min", n, r.Minutes)
				}
				assert.Less(t, all.MeanCost, value-terms.AsIsValue+float64(3*all.StandardError), "no dearer than writing every unit off")
				assert.Less(t, all.ComeBack, 0.1)
			})
		}
	}
}
