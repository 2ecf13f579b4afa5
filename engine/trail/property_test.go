package trail_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// newer is middling with what version 2 of the format brought.
var newer = random.Size{Components: 5, Modes: 3, Tests: 5, Outcomes: 5, Repairs: 4, Setups: 4, Second: true}

var middling = random.Size{Components: 5, Modes: 3, Tests: 4, Outcomes: 5, Repairs: 4, Setups: 4}

// replayed is all that a trail comes to.
type replayed struct {
	account *trail.Account
	origin  trail.Odds
	doubts  []trail.Doubt
}

func play(t *testing.T, s *belief.Space, tr *trail.Trail) replayed {
	t.Helper()
	require.NoError(t, tr.Check(s.Model()))
	var r replayed
	var err error
	r.account, err = trail.Replay(s, tr)
	require.NoError(t, err)
	r.origin, err = trail.Origin(s, tr)
	require.NoError(t, err)
	r.doubts, err = trail.Doubts(s, tr)
	require.NoError(t, err)
	return r
}

// rewrite changes the events of a trail and counts them anew.
func rewrite(t *testing.T, text []byte, edit func([]object) []object) *trail.Trail {
	t.Helper()
	var whole struct {
		object
		Events []object
	}
	require.NoError(t, json.Unmarshal(text, &whole.object))
	require.NoError(t, json.Unmarshal(text, &whole))
	whole.Events = edit(whole.Events)
	for i := range whole.Events {
		whole.Events[i]["n"] = i + 1
	}
	whole.object["events"] = whole.Events
	out, err := json.Marshal(whole.object)
	require.NoError(t, err)
	tr, err := trail.Load(out)
	require.NoError(t, err, "%s", out)
	return tr
}

// each runs a property on random models and trails of the given kinds of events.
func each(t *testing.T, n int, size random.Size, length random.Length, property func(t *testing.T, rng *rand.Rand, s *belief.Space, text []byte)) {
	t.Helper()
	for seed := range share(n) {
		rng := rand.New(rand.NewPCG(seed, 300))
		modelText := random.Model(rng, size)
		text := random.Trail(rng, modelText, length)
		s, _ := open(t, modelText, text)
		property(t, rng, s, text)
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
}

func closeOdds(t *testing.T, want, got trail.Odds) {
	t.Helper()
	var d differences
	d.odds("sound", got.Sound, want.Sound)
	for i := range want.Modes {
		d.odds(fmt.Sprintf("mode %d", i), got.Modes[i], want.Modes[i])
	}
	for i := range want.Faults {
		d.odds(fmt.Sprintf("%d faults", i), got.Faults[i], want.Faults[i])
	}
	assert.Empty(t, d)
}

func TestTheOrderOfResultsBetweenChangesDoesNotMatter(t *testing.T) {
	kinds := []string{"result", "result", "result", "result", "result", "repair", "setup"}
	each(t, 120, newer, random.Length{Events: 18, Only: kinds}, func(t *testing.T, rng *rand.Rand, s *belief.Space, text []byte) {
		a := play(t, s, rewrite(t, text, func(e []object) []object { return e }))
		b := play(t, s, rewrite(t, text, func(e []object) []object {
			for from := 0; from < len(e); {
				to := from
				for to < len(e) && e[to]["kind"] == "result" {
					to++
				}
				stretch := e[from:to]
				rng.Shuffle(len(stretch), func(i, j int) { stretch[i], stretch[j] = stretch[j], stretch[i] })
				from = to + 1
			}
			return e
		}))
		last := len(a.account.Lines) - 1
		closeOdds(t, a.account.Lines[last].Odds, b.account.Lines[last].Odds)
		closeOdds(t, a.origin, b.origin)
		assert.InDelta(t, a.account.Lines[last].LogEvidence, b.account.Lines[last].LogEvidence, 1e-11)
		assert.InDelta(t, a.account.Lines[last].Dropped, b.account.Lines[last].Dropped, 1e-12)
	})
}

func TestVoidingEqualsNeverRecorded(t *testing.T) {
	kinds := []string{"result", "result", "result", "repair", "setup", "skip", "note", "end"}
	each(t, 120, newer, random.Length{Events: 14, Second: true, Only: append(kinds, "wait", "terms")}, func(t *testing.T, rng *rand.Rand, s *belief.Space, text []byte) {
		var gone []int // numbers of the events that are taken back
		for n := 1; n <= 14; n++ {
			if rng.IntN(4) == 0 {
				gone = append(gone, n)
			}
		}
		never := play(t, s, rewrite(t, text, func(e []object) []object {
			var kept []object
			for i := range e {
				if !slices.Contains(gone, i+1) {
					kept = append(kept, e[i])
				}
			}
			return kept
		}))
		voided := play(t, s, rewrite(t, text, func(e []object) []object {
			for _, n := range gone {
				e = append(e, object{"at": "2026-03-04T13:00:00Z", "kind": "void", "of": n, "reason": "a slip"})
			}
			return e
		}))
		n := 0 // the line of never that is like line i of voided
		var same []int
		for i, line := range voided.account.Lines {
			if i > 0 && i <= 14 && !slices.Contains(gone, i) {
				n++
				same = append(same, i)
				assert.Equal(t, never.account.Lines[n].Kind, line.Kind)
				assert.Len(t, line.Decibans, len(never.account.Lines[n].Decibans))
			}
			want := never.account.Lines[n]
			assert.Equal(t, want.Odds, line.Odds, "line %d", i)
			assert.Equal(t, want.LogEvidence, line.LogEvidence)
			assert.Equal(t, want.Dropped, line.Dropped)
			assert.Equal(t, want.Setup, line.Setup)
			assert.Equal(t, !slices.Contains(gone, i), line.Live)
		}
		assert.Equal(t, never.origin, voided.origin)
		assert.Equal(t, never.account.Tries, voided.account.Tries)
		assert.Equal(t, never.account.Seen, voided.account.Seen)
		require.Len(t, voided.doubts, len(never.doubts))
		for i, d := range never.doubts {
			assert.Equal(t, same[d.N-1], voided.doubts[i].N)
			assert.Equal(t, d.P, voided.doubts[i].P)
		}
		require.Len(t, voided.account.Warnings, len(never.account.Warnings))
		for i, w := range never.account.Warnings {
			assert.Equal(t, same[w.N-1], voided.account.Warnings[i].N)
			assert.Equal(t, w.Kind, voided.account.Warnings[i].Kind)
		}
	})
}

// toldOf sorts out which events are results of told tests.
func toldOf(s *belief.Space, e object) bool {
	if e["kind"] != "result" {
		return false
	}
	test, _ := s.Model().Test(model.TestID(e["test"].(string)))
	return test.Told
}

func TestATellingMeansTheSameWhereverItStands(t *testing.T) {
	kinds := []string{"result", "result", "result", "repair", "setup", "wait", "terms", "note"}
	moved := 0
	each(t, 120, newer, random.Length{Events: 16, Second: true, Only: kinds}, func(t *testing.T, rng *rand.Rand, s *belief.Space, text []byte) {
		a := play(t, s, rewrite(t, text, func(e []object) []object { return e }))
		var order []int // of the events of a in b
		b := play(t, s, rewrite(t, text, func(e []object) []object {
			// The told results keep their order and stand anywhere.
			var told, rest []int
			for i := range e {
				if toldOf(s, e[i]) {
					told = append(told, i)
				} else {
					rest = append(rest, i)
				}
			}
			for len(told)+len(rest) > 0 {
				if len(rest) == 0 || len(told) > 0 && rng.IntN(len(told)+len(rest)) < len(told) {
					order, told = append(order, told[0]), told[1:]
				} else {
					order, rest = append(order, rest[0]), rest[1:]
				}
			}
			out := make([]object, len(e))
			for to, from := range order {
				out[to] = e[from]
				if to != from && toldOf(s, e[from]) {
					moved++
				}
			}
			return out
		}))
		last := len(a.account.Lines) - 1
		assert.Equal(t, a.account.Lines[last].Odds, b.account.Lines[last].Odds, "to the bit")
		assert.Equal(t, a.account.Lines[last].LogEvidence, b.account.Lines[last].LogEvidence)
		assert.Equal(t, a.account.Lines[last].Dropped, b.account.Lines[last].Dropped)
		assert.Equal(t, a.origin, b.origin)
		assert.Equal(t, a.account.Tries, b.account.Tries)
		assert.Equal(t, a.account.Seen, b.account.Seen)
		p := map[int]float64{}
		for _, d := range a.doubts {
			p[d.N] = d.P
		}
		require.Len(t, b.doubts, len(p))
		for _, d := range b.doubts {
			assert.Equal(t, p[order[d.N-1]+1], d.P)
		}
		for test := range s.Model().Tests {
			assert.Equal(t, a.account.Final.Predict(nil, test), b.account.Final.Predict(nil, test))
		}
	})
	assert.Greater(t, moved, int(share(120)), "some told results do move")
}

func TestALineIsTheLastOneOfTheTrailUpToIt(t *testing.T) {
	// source: formats.md, section 6: line n is the last line of the trail of events 1 to n.
	kinds := []string{"result", "result", "repair", "setup"}
	each(t, 40, newer, random.Length{Events: 12, Second: true, Only: kinds}, func(t *testing.T, rng *rand.Rand, s *belief.Space, text []byte) {
		whole := play(t, s, rewrite(t, text, func(e []object) []object { return e }))
		for n := 1; n <= 12; n++ {
			part := play(t, s, rewrite(t, text, func(e []object) []object { return e[:n] }))
			want, got := part.account.Lines[n], whole.account.Lines[n]
			assert.Equal(t, want.Odds, got.Odds)
			assert.Equal(t, want.LogEvidence, got.LogEvidence)
			assert.Equal(t, want.Dropped, got.Dropped)
			require.Len(t, got.Decibans, len(want.Decibans))
			for f := range want.Decibans {
				assert.InDelta(t, want.Decibans[f], got.Decibans[f], 1e-15)
			}
		}
	})
}

// A repair that remembers does what one that does not would do whose chances fell after each
// failure: the same trail under a model in which each try is a repair of its own.
func TestMemoryIsARepairForEachTry(t *testing.T) {
	each(t, 60, newer, random.Length{Events: 14, Second: true, Only: []string{"result", "result", "repair", "repair", "setup"}}, func(t *testing.T, rng *rand.Rand, s *belief.Space, text []byte) {
		m := s.Model()
		tr, err := trail.Load(text)
		require.NoError(t, err)
		got := play(t, s, tr)
		var plain map[string]any
		require.NoError(t, json.Unmarshal(m.Text, &plain))
		var repairs []any
		events := rewrite(t, text, func(e []object) []object {
			type deed struct {
				repair string
				risks  map[string]any
			}
			var deeds []deed // setup steps have no repair
			byID := func(list any, id any) map[string]any {
				for _, each := range list.([]any) {
					if each.(map[string]any)["id"] == id {
						return each.(map[string]any)
					}
				}
				return nil
			}
			setup := m.Root
			for i := range e {
				switch e[i]["kind"] {
				case "setup":
					to, _ := m.Setup(model.SetupID(e[i]["setup"].(string)))
					for _, mv := range m.Way(setup, to.Index) {
						key := "enter"
						if mv.Leave {
							key = "leave"
						}
						step := byID(plain["setups"], string(m.Setups[mv.Setup].ID))[key]
						risks, _ := step.(map[string]any)["risks"].(map[string]any)
						deeds = append(deeds, deed{"", risks})
					}
					setup = to.Index
				case "repair":
					name := e[i]["repair"].(string)
					copied := map[string]any{}
					for k, v := range byID(plain["repairs"], name) {
						copied[k] = v
					}
					kappa, remembers := copied["steadiness"].(float64)
					fixes := map[string]any{}
					for mode, p := range copied["fixes"].(map[string]any) {
						n := 0.0
						for j := len(deeds) - 1; j >= 0; j-- {
							if _, ok := deeds[j].risks[mode]; ok {
								break
							}
							if deeds[j].repair == name {
								n++
							}
						}
						fixes[mode] = p
						if remembers {
							fixes[mode] = kappa * p.(float64) / (kappa + n)
						}
					}
					risks, _ := copied["risks"].(map[string]any)
					deeds = append(deeds, deed{name, risks})
					delete(copied, "steadiness")
					delete(copied, "only_after")
					copied["id"], copied["fixes"] = fmt.Sprintf("try-%d", i), fixes
					repairs = append(repairs, copied)
					e[i]["repair"] = copied["id"]
				}
			}
			return e
		})
		plain["repairs"] = append([]any{}, repairs...)
		modelText, err := json.Marshal(plain)
		require.NoError(t, err)
		want := play(t, spaceOf(t, modelText), events)
		last := len(want.account.Lines) - 1
		closeOdds(t, want.account.Lines[last].Odds, got.account.Lines[last].Odds)
		closeOdds(t, want.origin, got.origin)
		assert.InDelta(t, want.account.Lines[last].LogEvidence, got.account.Lines[last].LogEvidence, 1e-11)
	})
}

func TestVoidingTheVoidBringsTheEventBack(t *testing.T) {
	each(t, 60, middling, random.Length{Events: 12, Only: []string{"result", "result", "repair", "setup"}}, func(t *testing.T, rng *rand.Rand, s *belief.Space, text []byte) {
		before := play(t, s, rewrite(t, text, func(e []object) []object { return e }))
		of := 1 + rng.IntN(12)
		after := play(t, s, rewrite(t, text, func(e []object) []object {
			return append(e,
				object{"at": "2026-03-04T13:00:00Z", "kind": "void", "of": of, "reason": ""},
				object{"at": "2026-03-04T13:00:00Z", "kind": "void", "of": 13, "reason": ""})
		}))
		for i, line := range before.account.Lines {
			got := after.account.Lines[i]
			assert.Equal(t, line.Odds, got.Odds)
			assert.Equal(t, line.LogEvidence, got.LogEvidence)
		}
		assert.Equal(t, before.account.Lines[12].Odds, after.account.Lines[14].Odds)
		assert.Equal(t, before.origin, after.origin)
		assert.Equal(t, before.doubts, after.doubts)
	})
}

func TestAskingChangesNothing(t *testing.T) {
	each(t, 30, middling, random.Length{Events: 12}, func(t *testing.T, rng *rand.Rand, s *belief.Space, text []byte) {
		tr, err := trail.Load(text)
		require.NoError(t, err)
		quiet, err := trail.Replay(s, tr)
		require.NoError(t, err)
		asked, err := trail.Replay(s, tr)
		require.NoError(t, err)
		m := s.Model()
		planner, err := plan.New(s, tr.Terms)
		require.NoError(t, err)
		search := planner.Start(plan.Situation{Belief: asked.Final, Setup: asked.Setup})
		for pieces := 0; len(search.Proposals()) == 0; pieces++ {
			require.Less(t, pieces, 100)
			search.Work(2)
		}
		for range 2 {
			_, err = trail.Origin(s, tr)
			require.NoError(t, err)
			_, err = trail.Doubts(s, tr)
			require.NoError(t, err)
			for test := range m.Tests {
				asked.Final.Predict(nil, test)
				_, err = asked.Final.Decibans(test, weightOf(len(m.Tests[test].Outcomes), 0))
				require.NoError(t, err)
				fork := asked.Final.Clone()
				require.NoError(t, fork.Observe(test, weightOf(len(m.Tests[test].Outcomes), rng.IntN(len(m.Tests[test].Outcomes)))))
				for _, r := range m.Repairs {
					require.NoError(t, fork.Apply(r.Change))
				}
			}
		}
		// What comes next is the same for both, to the last bit.
		for test := range m.Tests {
			assert.Equal(t, quiet.Final.Predict(nil, test), asked.Final.Predict(nil, test))
			w := weightOf(len(m.Tests[test].Outcomes), 0)
			require.NoError(t, quiet.Final.Observe(test, w))
			require.NoError(t, asked.Final.Observe(test, w))
		}
		assert.Equal(t, trail.OddsOf(quiet.Final), trail.OddsOf(asked.Final))
		assert.Equal(t, quiet.Final.LogEvidence(), asked.Final.LogEvidence())
		assert.Equal(t, quiet.Lines, asked.Lines)
	})
}

func weightOf(outcomes, k int) []float64 {
	w := make([]float64, outcomes)
	w[k] = 1
	return w
}

func TestOddsAreOdds(t *testing.T) {
	extreme := middling
	extreme.Extreme = true
	for _, group := range []struct {
		name string
		size random.Size
		row  float64 // how far the sum of a row may be off
	}{{"of ordinary models", middling, 1e-12}, {"of extreme models", extreme, 1e-8}} {
		t.Run(group.name, func(t *testing.T) {
			each(t, 150, group.size, random.Length{Events: 25}, func(t *testing.T, rng *rand.Rand, s *belief.Space, text []byte) {
				tr, err := trail.Load(text)
				require.NoError(t, err)
				r := play(t, s, tr)
				m := s.Model()
				for _, line := range r.account.Lines {
					proper(t, s, line.Odds)
					assert.True(t, line.Dropped >= -1e-12 && !math.IsNaN(line.Dropped) && !math.IsInf(line.Dropped, 0))
					assert.True(t, line.LogEvidence < 1e-6 && line.LogEvidence > -1e6, "log evidence %g", line.LogEvidence)
					for _, db := range line.Decibans { // NaN is "left out"
						assert.False(t, math.IsInf(db, 0))
					}
				}
				proper(t, s, r.origin)
				for _, d := range r.doubts {
					assert.True(t, d.P > 0 && !math.IsInf(d.P, 0), "doubt %g", d.P)
				}
				for i, one := range m.Tests {
					next := r.account.Final.Predict(nil, i)
					require.Len(t, next, len(one.Outcomes))
					sum := 0.0
					for _, p := range next {
						assert.True(t, p > 0 && p <= 1+group.row, "%g", p)
						sum += p
					}
					assert.InDelta(t, 1, sum, group.row)
					if one.Reading == nil {
						continue
					}
					for range 5 {
						x := rng.NormFloat64() * math.Pow(10, 6*rng.Float64()-3)
						sum = 0
						for _, w := range belief.Weights(&m.Tests[i], x) {
							assert.True(t, w >= 0 && w <= 1)
							sum += w
						}
						assert.InDelta(t, 1, sum, 1e-12, "weights of %g", x)
					}
				}
			})
		})
	}
}

// proper holds odds to what they must be: each in [0, 1], one sum a component and one
// over the numbers of faults.
func proper(t *testing.T, s *belief.Space, o trail.Odds) {
	t.Helper()
	m := s.Model()
	in := func(p float64) {
		t.Helper()
		assert.True(t, p >= 0 && p <= 1, "%g", p)
	}
	in(o.Sound)
	sum, mean := 0.0, 0.0
	require.Len(t, o.Faults, m.MostFaults+1)
	for n, p := range o.Faults {
		in(p)
		sum += p
		mean += float64(float64(n) * p)
	}
	assert.InDelta(t, 1, sum, 1e-12)
	assert.InDelta(t, o.Sound, o.Faults[0], 1e-15)
	require.Len(t, o.Modes, len(m.Modes))
	sum = 0
	for _, c := range m.Components {
		part := 0.0
		for i := range c.ModeCount {
			in(o.Modes[c.FirstMode+i])
			part += o.Modes[c.FirstMode+i]
		}
		assert.LessOrEqual(t, part, 1+1e-12)
		sum += part
	}
	assert.InDelta(t, mean, sum, 1e-12, "the expected number of faults, counted both ways")
}
