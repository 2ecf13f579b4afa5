package exact

import (
	"os"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/plan"
)

func number(t testing.TB, name string, otherwise float64) float64 {
	text, ok := os.LookupEnv(name)
	if !ok {
		return otherwise
	}
	x, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err, name)
	return x
}

// The planner's expected cost on small models, worked out without drawing units, against
// bounds of the best possible. PITWISE_REGRET_MODELS, _BACKUPS and _REACH make a longer run of it:
// cmd/dev/MEASUREMENTS.md says of how many models its figures are.
func TestThePlannerIsNearTheBestPossiblePlanOnSmallModels(t *testing.T) {
	t.Run("version 1", func(t *testing.T) { regret(t, small, 3, 6000) })
	t.Run("version 2", func(t *testing.T) { regret(t, second, 2, 3000) })
}

func regret(t *testing.T, family func(testing.TB, uint64) *plan.Problem, models, backups float64) {
	if testing.Short() {
		models, backups = 2, 1000 // under wasm, where the answers are the same
	}
	models, backups = number(t, "PITWISE_REGRET_MODELS", models), number(t, "PITWISE_REGRET_BACKUPS", backups)
	reach := number(t, "PITWISE_REGRET_REACH", 2e-3)
	first := int(number(t, "PITWISE_REGRET_FIRST", 0))
	type row struct {
		high, low float64 // regret, relative
	}
	rows := make([]row, int(models))
	t.Run("models", func(t *testing.T) {
		for i := range rows {
			t.Run("model "+strconv.Itoa(first+i), func(t *testing.T) {
				t.Parallel()
				p := family(t, uint64(first+i))
				began := time.Now()
				e, err := Solve(p, Effort{Tolerance: 0.005, Backups: int(backups)})
				require.NoError(t, err)
				best := e.Bounds()
				solved := time.Since(began)
				planner, err := plan.New(p.Space(), p.Terms)
				require.NoError(t, err)
				began = time.Now()
				mine := play(t, e, reach, planned(planner), e.shelved)
				played := time.Since(began)
				rows[i] = row{mine.cost/best.High - 1, mine.cost/best.Low - 1}
				t.Logf("model %d n=%d best %.3f to %.3f (%.2f %%, %v); planner %.3f (%+.2f %% of high, %+.2f %% of low; %d ways in, written off %.3f, come back %.3f, unplayed %.3f; asked %d, %v)",
					first+i, e.tight.n, best.Low, best.High, 100*(best.High/best.Low-1), solved.Round(time.Millisecond),
					mine.cost, 100*rows[i].high, 100*rows[i].low, len(e.starts), mine.writtenOff, mine.comesBack, mine.unplayed, mine.asked, played.Round(time.Millisecond))
			})
		}
	})
	for _, x := range []struct {
		name string
		of   func(row) float64
	}{{"upper bound", func(r row) float64 { return r.high }}, {"lower bound", func(r row) float64 { return r.low }}} {
		var all []float64
		sum := 0.0
		for _, r := range rows {
			all = append(all, x.of(r))
			sum += x.of(r)
		}
		slices.Sort(all)
		median, mean, worst := (all[(len(all)-1)/2]+all[len(all)/2])/2, sum/float64(len(all)), all[len(all)-1]
		t.Logf("regret against the %s: median %.2f %%, mean %.2f %%, worst %.2f %%", x.name, 100*median, 100*mean, 100*worst)
		if x.name == "upper bound" {
			assert.LessOrEqual(t, median, 0.01)
			assert.LessOrEqual(t, mean, 0.02)
			assert.LessOrEqual(t, worst, 0.05)
		}
	}
}
