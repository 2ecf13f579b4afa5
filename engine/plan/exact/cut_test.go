package exact

import (
	"cmp"
	"encoding/json"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	front "pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
)

// What is small enough to be solved of the shipped models, with their own numbers, costs and rules: their likeliest modes, one at
// a time, and the tests that tell most of a unit as it comes in. PITWISE_CUT_MODES, _TESTS and _BACKUPS ask for larger cuts and
// a closer look, PITWISE_CUT_REACH for how unlikely what is played may be; below that the planner's own totals stand.
func TestThePlannerIsNearTheBestKnownPlanOnCutsOfShippedModels(t *testing.T) {
	modes, tests := int(number(t, "PITWISE_CUT_MODES", 4)), int(number(t, "PITWISE_CUT_TESTS", 4))
	effort := Effort{Tolerance: 0.01, Backups: int(number(t, "PITWISE_CUT_BACKUPS", 500))}
	for _, family := range catalog.Models() {
		if os.Getenv("PITWISE_CUT_MODES") == "" && family.ID != "tray" {
			continue // half a minute each
		}
		t.Run(family.ID, func(t *testing.T) {
			m := cut(t, family.ID, modes, tests)
			p := problem(t, m, front.DefaultTerms(m))
			began := time.Now()
			e, err := Solve(p, effort)
			require.NoError(t, err)
			best := e.Bounds()
			solved := time.Since(began)
			planner, err := plan.New(p.Space(), p.Terms)
			require.NoError(t, err)
			mine := play(t, e, number(t, "PITWISE_CUT_REACH", 2e-2), planned(planner), func(at plan.Situation) float64 { return settled(planner, at).Total })
			t.Logf("%d modes, %d tests, %d repairs: best %.2f to %.2f (%v); planner %.2f: %+.2f %% of high, %+.2f %% of low; %d decisions",
				len(m.Modes), len(m.Tests), len(m.Repairs), best.Low, best.High, solved.Round(time.Millisecond),
				mine.cost, 100*(mine.cost/best.High-1), 100*(mine.cost/best.Low-1), mine.asked)
			assert.Greater(t, mine.asked, 10)
			assert.GreaterOrEqual(t, mine.cost, best.Low-1e-9)
			assert.LessOrEqual(t, mine.cost, 1.05*best.High)
		})
	}
}

// cut returns a shipped model with so many of its likeliest modes, one at a time, the tests that tell most beside the
// intake, and the repairs of those modes. A repair that comes only after tests that are left out comes freely.
func cut(t testing.TB, id string, modes, tests int) *model.Model {
	whole, err := catalog.Load(id)
	require.NoError(t, err)
	s, err := belief.NewSpace(whole)
	require.NoError(t, err)
	prior := s.Prior()
	odds := prior.Modes(nil)
	likely := map[string]bool{}
	for _, i := range most(odds, modes) {
		likely[string(whole.Modes[i].ID)] = true
	}
	bits := make([]float64, len(whole.Tests))
	for i := range whole.Tests {
		bears := slices.ContainsFunc(whole.Tests[i].Given, func(r model.Row) bool { return likely[string(whole.Modes[r.Mode].ID)] })
		if bears && !whole.Tests[i].Told {
			bits[i] = prior.Bits(i)
		}
	}
	telling := map[string]bool{string(whole.Tests[whole.Intake].ID): true}
	for _, i := range most(bits, tests) {
		telling[string(whole.Tests[i].ID)] = true
	}

	text, ok := catalog.Text(id)
	require.True(t, ok)
	var m map[string]any
	require.NoError(t, json.Unmarshal(text, &m))
	m["most_faults"] = 1
	only := func(of map[string]any, key string) int { // the likely modes of an object by mode
		rows, _ := of[key].(map[string]any)
		for mode := range rows {
			if !likely[mode] {
				delete(rows, mode)
			}
		}
		return len(rows)
	}
	few(m, "components", func(c map[string]any) bool {
		return few(c, "modes", func(x map[string]any) bool { return likely[c["id"].(string)+"."+x["id"].(string)] }) > 0
	})
	few(m, "tests", func(x map[string]any) bool { only(x, "given"); return telling[x["id"].(string)] })
	few(m, "repairs", func(r map[string]any) bool {
		only(r, "risks")
		if after, ok := r["only_after"].(map[string]any); ok && few(after, "any", func(y map[string]any) bool { return telling[y["test"].(string)] }) == 0 {
			delete(r, "only_after")
		}
		return only(r, "fixes") > 0
	})
	few(m, "setups", func(x map[string]any) bool {
		for _, way := range []string{"enter", "leave"} {
			if w, ok := x[way].(map[string]any); ok {
				only(w, "risks")
				only(w, "fixes")
			}
		}
		return true
	})
	out, err := json.Marshal(m)
	require.NoError(t, err)
	small, err := model.Load(out)
	require.NoError(t, err)
	return small
}

// few keeps those of a list of objects that stay, and returns how many.
func few(of map[string]any, key string, stays func(map[string]any) bool) int {
	list, _ := of[key].([]any)
	list = slices.DeleteFunc(list, func(x any) bool { return !stays(x.(map[string]any)) })
	of[key] = list
	return len(list)
}

// most returns which n values are the largest.
func most(values []float64, n int) []int {
	all := make([]int, len(values))
	for i := range all {
		all[i] = i
	}
	slices.SortStableFunc(all, func(a, b int) int { return cmp.Compare(values[b], values[a]) })
	return all[:min(n, len(all))]
}
