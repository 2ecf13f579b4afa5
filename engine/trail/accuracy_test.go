package trail_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/internal/oracle"
	"pitwise/engine/model"
)

type object = map[string]any

// sketch writes a model with one setup, the given priors by component and mode, and
// the given tests; each test gets an id t0, t1, … and outcomes o0, o1, …
func sketch(t *testing.T, mostFaults int, priors []object, tests ...object) []byte {
	t.Helper()
	var components []object
	for i, part := range priors {
		var modes []object
		for _, id := range []string{"a", "b", "c"} {
			if p, ok := part[id]; ok {
				modes = append(modes, object{"id": id, "prior": p})
			}
		}
		components = append(components, object{"id": fmt.Sprintf("c%d", i), "modes": modes})
	}
	for i, one := range tests {
		one["id"], one["at"], one["minutes"], one["money"] = fmt.Sprintf("t%d", i), "shut", 1, 0
		one["intake"] = i == 0
		if one["outcomes"] == nil {
			var outcomes []object
			for k := range one["healthy"].([]float64) {
				outcomes = append(outcomes, object{"id": fmt.Sprintf("o%d", k)})
			}
			one["outcomes"] = outcomes
		}
	}
	text, err := json.Marshal(object{
		"format": "pitwise/model", "version": 1, "id": "sketch", "revision": "1", "title": "A sketch",
		"most_faults": mostFaults, "sources": object{}, "cautions": []object{}, "tools": []object{},
		"setups":     []object{{"id": "shut", "title": "Shut"}},
		"components": components, "tests": tests, "repairs": []object{},
	})
	require.NoError(t, err)
	return text
}

// results writes a trail of results: a string names an outcome of the test, a number is
// a reading; "repair" in the place of a test makes the step that repair.
func results(t *testing.T, modelText []byte, steps ...[2]any) []byte {
	t.Helper()
	m, err := model.Load(modelText)
	require.NoError(t, err)
	var events []object
	for i, s := range steps {
		e := object{"n": i + 1, "at": "2026-03-04T10:12:00Z", "kind": "result", "test": s[0]}
		if s[0] == "repair" {
			e = object{"n": i + 1, "at": "2026-03-04T10:12:00Z", "kind": "repair", "repair": s[1]}
		} else if id, ok := s[1].(string); ok {
			e["outcome"] = id
		} else {
			e["reading"] = s[1]
		}
		events = append(events, e)
	}
	text, err := json.Marshal(object{
		"format": "pitwise/trail", "version": 1, "id": "x", "created": "2026-03-04T10:11:12Z",
		"model":  object{"id": m.ID, "revision": m.Revision, "sha256": m.SHA256},
		"unit":   object{"label": "x", "notes": ""},
		"terms":  object{"minute_value": 0.5, "currency": "EUR", "tools": []string{}, "working_value": 60, "as_is_value": 10, "comeback_cost": 40},
		"events": events,
	})
	require.NoError(t, err)
	return text
}

func repeat(n int, test string, seen ...any) [][2]any {
	var out [][2]any
	for i := range n {
		out = append(out, [2]any{test, seen[i%len(seen)]})
	}
	return out
}

func agree(t *testing.T, modelText, trailText []byte) {
	t.Helper()
	if d := compare(t, modelText, trailText); len(d) > 0 {
		t.Errorf("%d numbers differ, first\n%s", len(d), first(d, 8))
	}
}

// agreeLines leaves the doubts out.
func agreeLines(t *testing.T, modelText, trailText []byte) {
	t.Helper()
	if d := compareLines(t, modelText, trailText); len(d) > 0 {
		t.Errorf("%d numbers differ, first\n%s", len(d), first(d, 8))
	}
}

func TestEntriesOfABillionthKeepTheirDigitsInThreeFaults(t *testing.T) {
	const e = 1e-9
	text := sketch(t, 4,
		[]object{{"a": 0.1, "b": 1e-9}, {"a": 0.1}, {"a": 1e-9}, {"a": 0.2}},
		object{"healthy": []float64{0.5, e, 0.5 - 2*e, e}, "steadiness": 2.0, "given": object{
			"c0.a": []float64{e, e, e, 1 - 3*e}, "c0.b": []float64{0.25, 0.5e-9, 0.25, 0.5 - 0.5e-9},
			"c1.a": []float64{0.5, e, 0.5 - 2*e, e}, "c2.a": []float64{e, e / 2, 0.5, 0.5 - 1.5*e}, "c3.a": []float64{0.1, e, 0.2, 0.7 - e}}},
		object{"healthy": []float64{1 - 1e-9, 1e-9}, "steadiness": 1e6, "given": object{
			"c0.a": []float64{1e-9, 1 - 1e-9}, "c1.a": []float64{1e-9, 1 - 1e-9}, "c2.a": []float64{1 - 2e-9, 2e-9}}},
	)
	m, err := model.Load(text)
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	o, err := oracle.Load(text)
	require.NoError(t, err)
	for h := range s.Len() {
		var modes []string
		for _, f := range s.Modes(h) {
			modes = append(modes, string(m.Modes[f].ID))
		}
		for i, one := range m.Tests {
			want := o.Outcomes(string(one.ID), modes...)
			for k, p := range s.Outcomes(nil, i, h) {
				assert.InEpsilon(t, want[k], p, 1e-13, "%s outcome %d under %v", one.ID, k, modes)
			}
		}
	}
	for _, k := range []string{"o0", "o1", "o2", "o3"} {
		agree(t, text, results(t, text, [2]any{"t0", k}, [2]any{"t1", "o1"}, [2]any{"t0", "o1"}, [2]any{"t1", "o0"}, [2]any{"t0", k}))
	}
}

func TestFortyResultsInARowDoNotUnderflow(t *testing.T) {
	const e = 1e-9
	text := sketch(t, 2, []object{{"a": 0.1}, {"a": 0.1}},
		object{"healthy": []float64{1 - e, e}, "steadiness": 1e6, "given": object{"c0.a": []float64{e, 1 - e}}})
	t.Run("when they all say the same", func(t *testing.T) {
		agree(t, text, results(t, text, repeat(40, "t0", "o0")...))
		agree(t, text, results(t, text, repeat(40, "t0", "o1")...))
	})
	t.Run("when they take turns", func(t *testing.T) {
		agree(t, text, results(t, text, repeat(40, "t0", "o0", "o1")...))
	})
	t.Run("when forty say one thing and forty the other", func(t *testing.T) {
		agree(t, text, results(t, text, append(repeat(40, "t0", "o0"), repeat(40, "t0", "o1")...)...))
	})
}

// Long runs push hypotheses hundreds of orders of magnitude down; repairs and runs the
// other way bring them back.
func TestRunsAndRepairsFarBeyondTheRangeOfAFloat(t *testing.T) {
	const e = 1e-9
	plain := sketch(t, 3, []object{{"a": 0.1, "b": e}, {"a": 0.2}, {"a": 1e-3}},
		object{"healthy": []float64{1 - e, e}, "steadiness": 1e6, "given": object{"c0.a": []float64{e, 1 - e}}},
		object{"healthy": []float64{1 - e, e}, "steadiness": 1e5, "given": object{"c0.b": []float64{e, 1 - e}, "c1.a": []float64{1e-6, 1 - 1e-6}}},
		object{"healthy": []float64{0.9, 0.1 - e, e}, "steadiness": 1e-6, "given": object{"c1.a": []float64{0.1, 0.2, 0.7}, "c2.a": []float64{e, e, 1 - 2*e}}})
	var whole object
	require.NoError(t, json.Unmarshal(plain, &whole))
	whole["repairs"] = []object{
		{"id": "r0", "at": "shut", "minutes": 1, "money": 0, "fixes": object{"c0.a": 0.9, "c0.b": 1}, "risks": object{"c1.a": 1e-9}},
		{"id": "r1", "at": "shut", "minutes": 1, "money": 0, "fixes": object{"c1.a": 1 - 1e-9}, "risks": object{"c0.b": 0.5, "c2.a": 1e-6}},
	}
	text, err := json.Marshal(whole)
	require.NoError(t, err)
	for seed := range share(40) {
		rng := rand.New(rand.NewPCG(seed, 200))
		var steps [][2]any
		for len(steps) < 90 {
			test, n, outcome := rng.IntN(3), 1+rng.IntN(45), rng.IntN(2)
			id := fmt.Sprintf("t%d", test)
			steps = append(steps, repeat(n, id, fmt.Sprintf("o%d", outcome+test/2))...)
			if rng.IntN(3) > 0 { // and back again, nearly
				steps = append(steps, repeat(max(1, n-1+rng.IntN(3)), id, fmt.Sprintf("o%d", 1-outcome))...)
			}
			if rng.IntN(2) == 0 {
				steps = append(steps, [2]any{"repair", fmt.Sprintf("r%d", rng.IntN(2))})
			}
		}
		if d := compareLines(t, text, results(t, text, steps...)); len(d) > 0 {
			t.Errorf("seed %d: %d numbers differ, first\n%s", seed, len(d), first(d, 5))
		}
	}
}

func TestFortyRepeatsAtBothEndsOfSteadiness(t *testing.T) {
	for _, kappa := range []float64{1e-6, 1, 1e6} {
		t.Run(fmt.Sprintf("steadiness %g", kappa), func(t *testing.T) {
			text := sketch(t, 2, []object{{"a": 0.1, "b": 0.2}, {"a": 0.05}},
				object{"healthy": []float64{0.9, 0.1 - 1e-9, 1e-9}, "steadiness": kappa, "given": object{
					"c0.a": []float64{0.2, 0.5, 0.3}, "c0.b": []float64{1e-9, 1e-9, 1 - 2e-9}, "c1.a": []float64{0.8, 0.1, 0.1}}})
			agree(t, text, results(t, text, repeat(40, "t0", "o0", "o0", "o1")...))
			agreeLines(t, text, results(t, text, repeat(40, "t0", "o2")...))
			agreeLines(t, text, results(t, text, append(repeat(1, "t0", "o0"), repeat(39, "t0", "o2")...)...))
		})
		t.Run(fmt.Sprintf("steadiness %g, measured", kappa), func(t *testing.T) {
			text := sketch(t, 1, []object{{"a": 0.1, "b": 0.2}}, meter(0.5, 0.02, kappa))
			agreeLines(t, text, results(t, text, repeat(40, "t0", 4.75, 4.74, "o0", 4.90, 5.3)...))
			agree(t, text, results(t, text, repeat(15, "t0", 4.75, 4.74, "o0", 4.90, 5.3)...))
		})
	}
}

// meter is a test with a band from 4.75 to 5.25.
func meter(percent, absolute, kappa float64) object {
	return object{"healthy": []float64{0.98, 0.01, 0.01}, "steadiness": kappa,
		"reading":  object{"unit": "V", "percent": percent, "absolute": absolute},
		"outcomes": []object{{"id": "o0", "from": 4.75, "to": 5.25}, {"id": "o1", "to": 4.75}, {"id": "o2", "from": 5.25}},
		"given":    object{"c0.a": []float64{0.03, 0.96, 0.01}, "c0.b": []float64{1e-9, 1e-9, 1 - 2e-9}}}
}

// weigh compares the weights of readings, however small, with the oracle's.
func weigh(t *testing.T, text []byte, readings ...float64) {
	t.Helper()
	m, err := model.Load(text)
	require.NoError(t, err)
	o, err := oracle.Load(text)
	require.NoError(t, err)
	for _, x := range readings {
		want := o.Weights("t0", x)
		got := belief.Weights(&m.Tests[0], x)
		require.Len(t, got, len(want))
		for k := range want {
			if want[k] < 1e-300 {
				assert.True(t, got[k] >= 0 && got[k] < 1e-299, "reading %g, outcome %d: %g, want %g", x, k, got[k], want[k])
				continue
			}
			assert.InEpsilon(t, want[k], got[k], 1e-9, "reading %g, outcome %d", x, k)
		}
	}
}

func TestTailsFarFromTheReadingKeepTheirDigits(t *testing.T) {
	text := sketch(t, 2, []object{{"a": 0.1, "b": 0.2}, {"a": 0.05}}, meter(0.5, 0.02, 1))
	u := (0.005*5 + 0.02) / math.Sqrt(3)
	var xs []float64
	for _, z := range []float64{0, 1e-12, 1e-6, 0.1, 0.7, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 15, 18, 20, 25, 30, 35} {
		xs = append(xs, 4.75-z*u, 4.75+z*u, 5.25-z*u, 5.25+z*u)
	}
	weigh(t, text, xs...)
	for _, z := range []float64{-20, -6, 6, 20} {
		agree(t, text, results(t, text, [2]any{"t0", 5.25 + z*u}, [2]any{"t0", 5.25 + z*u}))
	}
}

func TestReadingsAtTheEndsOfTheNumbersStayFinite(t *testing.T) {
	text := sketch(t, 2, []object{{"a": 0.1, "b": 0.2}, {"a": 0.05}}, meter(0.5, 0.02, 1))
	for _, x := range []float64{0, 5e-324, -5e-324, 1e300, -1e300, math.MaxFloat64, -math.MaxFloat64} {
		agree(t, text, results(t, text, [2]any{"t0", x}, [2]any{"t0", 5.0}))
	}
	text = sketch(t, 2, []object{{"a": 0.1, "b": 0.2}, {"a": 0.05}}, meter(0.5, 0, 1))
	for _, x := range []float64{0, 5e-324, 4.75, 5.25, 1e-300} {
		agree(t, text, results(t, text, [2]any{"t0", x}, [2]any{"t0", 5.0}))
	}
}

func TestIntervalsFarNarrowerThanTheMetersErrorKeepTheirDigits(t *testing.T) {
	for _, width := range []float64{1e-3, 1e-4, 1e-6, 1e-9} {
		t.Run(fmt.Sprintf("width %g", width), func(t *testing.T) {
			one := meter(1, 0, 1)
			u := 0.01 * 5 / math.Sqrt(3)
			one["outcomes"] = []object{{"id": "o0", "from": 5.0, "to": 5 + width*u}, {"id": "o1", "to": 5.0}, {"id": "o2", "from": 5 + width*u}}
			text := sketch(t, 2, []object{{"a": 0.1, "b": 0.2}, {"a": 0.05}}, one)
			var xs []float64
			for _, z := range []float64{0, width / 2, width, 1, -1, 3, -3, 6, -6, 12, -12, 20, -20, 30, -30} {
				xs = append(xs, 5+z*u)
			}
			weigh(t, text, xs...)
			agree(t, text, results(t, text, [2]any{"t0", 5.0}, [2]any{"t0", 5 + 3*u}, [2]any{"t0", "o0"}))
		})
	}
}

func TestBeliefsNextToCertaintyStillHaveTheirWeight(t *testing.T) {
	// Eighteen fresh draws leave one in 1e-160 for "sound", but not nothing.
	const e = 1e-9
	text := sketch(t, 1, []object{{"a": 0.5}},
		object{"healthy": []float64{1 - e, e}, "steadiness": 1e6, "given": object{"c0.a": []float64{e, 1 - e}}},
		object{"healthy": []float64{0.75, 0.25}, "steadiness": 1.0, "given": object{"c0.a": []float64{0.25, 0.75}}})
	agree(t, text, results(t, text, append(repeat(18, "t0", "o1"), [2]any{"t1", "o0"})...))
	agree(t, text, results(t, text, append(repeat(18, "t0", "o0"), [2]any{"t1", "o1"})...))
}

func TestMoreFaultsAllowedThanThereAreComponents(t *testing.T) {
	text := sketch(t, 6, []object{{"a": 0.25}, {"a": 0.125, "b": 0.5}},
		object{"healthy": []float64{0.75, 0.25}, "steadiness": 1.0, "given": object{"c0.a": []float64{0.25, 0.75}}})
	agree(t, text, results(t, text, [2]any{"t0", "o1"}))
}

func TestAComponentThatIsHardlyEverSound(t *testing.T) {
	text := sketch(t, 2, []object{{"a": 0.5, "b": 0.4999999999}, {"a": 0.9999999999}},
		object{"healthy": []float64{0.75, 0.25}, "steadiness": 1.0, "given": object{"c0.a": []float64{0.25, 0.75}, "c1.a": []float64{0.01, 0.99}}})
	agree(t, text, results(t, text, [2]any{"t0", "o0"}))
}
