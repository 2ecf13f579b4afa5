package trail_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/internal/oracle"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// open loads a model and a trail that are known to be valid.
func open(t require.TestingT, modelText, trailText []byte) (*belief.Space, *trail.Trail) {
	m, err := model.Load(modelText)
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	tr, err := trail.Load(trailText)
	require.NoError(t, err)
	require.NoError(t, tr.Check(m))
	return s, tr
}

// A difference is where the engine and the oracle part.
type difference struct {
	place     string
	got, want float64
}

func (d difference) String() string {
	return fmt.Sprintf("%s: engine %.17g, oracle %.17g (relative %.3g)", d.place, d.got, d.want, d.got/d.want-1)
}

type differences []difference

// odds are held to 1e-9 relative, however small they are.
func (d *differences) odds(place string, got, want float64) {
	if !(math.Abs(got-want) <= 1e-9*math.Abs(want)) && !(want < 1e-300 && got < 1e-300) {
		*d = append(*d, difference{place, got, want})
	}
}

// value is held to 1e-9 relative or 1e-12 absolute.
func (d *differences) value(place string, got, want float64) {
	if !(math.Abs(got-want) <= max(1e-12, 1e-9*math.Abs(want))) {
		*d = append(*d, difference{place, got, want})
	}
}

func (d *differences) belief(place string, m *model.Model, got trail.Odds, want oracle.Odds) {
	d.odds(place+" sound", got.Sound, want.Sound)
	if len(got.Modes) != len(want.Modes) || len(got.Faults) != len(want.Faults) {
		d.value(place+" shape", float64(len(got.Modes)*100+len(got.Faults)), float64(len(want.Modes)*100+len(want.Faults)))
		return
	}
	for i, p := range got.Modes {
		d.odds(fmt.Sprintf("%s %s", place, m.Modes[i].ID), p, want.Modes[string(m.Modes[i].ID)])
	}
	for i, p := range got.Faults {
		d.odds(fmt.Sprintf("%s %d faults", place, i), p, want.Faults[i])
	}
}

// compare replays a trail both ways and lists where they part.
func compare(t require.TestingT, modelText, trailText []byte) differences {
	return compareParts(t, modelText, trailText, oracle.Whole)
}

// compareLines leaves the doubts out: they cost a replay for each result.
func compareLines(t require.TestingT, modelText, trailText []byte) differences {
	return compareParts(t, modelText, trailText, oracle.Whole&^oracle.Doubts)
}

func compareParts(t require.TestingT, modelText, trailText []byte, parts oracle.Part) differences {
	s, tr := open(t, modelText, trailText)
	m := s.Model()
	want, err := oracle.Replay(modelText, trailText, parts)
	got, gotErr := trail.Replay(s, tr)
	if errors.Is(err, oracle.ErrNothingLeft) || errors.Is(err, oracle.ErrImpossible) {
		require.Error(t, gotErr, "the oracle says: %v", err)
		return nil
	}
	require.NoError(t, err)
	require.NoError(t, gotErr)

	var d differences
	require.Len(t, got.Lines, len(want.Lines))
	for i, w := range want.Lines {
		g := got.Lines[i]
		place := fmt.Sprintf("line %d (%s)", i, w.Kind)
		assert.Equal(t, w.N, g.N, place)
		if i > 0 { // the start has no kind of event
			assert.Equal(t, w.Kind, string(g.Kind), place)
		}
		assert.Equal(t, w.Live, g.Live, place)
		assert.Equal(t, w.Setup, string(m.Setups[g.Setup].ID), place)
		d.belief(place, m, g.Odds, w.Belief)
		d.value(place+" log evidence", g.LogEvidence, w.LogEvidence)
		d.value(place+" dropped", g.Dropped, w.Dropped)
		if w.Decibans == nil {
			assert.Nil(t, g.Decibans, place)
			continue
		}
		require.Len(t, g.Decibans, len(m.Modes), place)
		for f, x := range g.Decibans {
			y, ok := w.Decibans[string(m.Modes[f].ID)]
			if !ok {
				assert.True(t, math.IsNaN(x), "%s: decibans of %s are left out", place, m.Modes[f].ID)
				continue
			}
			d.value(fmt.Sprintf("%s decibans %s", place, m.Modes[f].ID), x, y)
		}
	}
	assert.Equal(t, want.Lines[len(want.Lines)-1].Setup, string(m.Setups[got.Setup].ID))
	d.belief("final", m, trail.OddsOf(got.Final), want.Lines[len(want.Lines)-1].Belief)
	for test := range m.Tests {
		if want.Next == nil {
			break
		}
		for k, p := range got.Final.Predict(nil, test) {
			d.odds(fmt.Sprintf("next %s outcome %d", m.Tests[test].ID, k), p, want.Next[string(m.Tests[test].ID)][k])
		}
	}
	require.Len(t, got.Warnings, len(want.Warnings))
	for i, w := range want.Warnings {
		assert.Equal(t, w.N, got.Warnings[i].N)
		assert.NotEmpty(t, got.Warnings[i].Text)
	}
	assert.Equal(t, want.Tries, triesOf(m, got))
	assert.Equal(t, want.Seen, seenOf(m, got))

	if parts&oracle.Origin != 0 {
		origin, err := trail.Origin(s, tr)
		require.NoError(t, err)
		d.belief("origin", m, origin, want.Origin)
	}
	if parts&oracle.Doubts == 0 {
		return d
	}
	doubts, err := trail.Doubts(s, tr)
	require.NoError(t, err)
	require.Len(t, doubts, len(want.Doubts))
	for i, w := range want.Doubts {
		assert.Equal(t, w.N, doubts[i].N)
		d.odds(fmt.Sprintf("doubt %d", w.N), doubts[i].P, w.P)
	}
	return d
}

// triesOf and seenOf name what an account counts.
func triesOf(m *model.Model, a *trail.Account) map[string]map[string]int {
	out := map[string]map[string]int{}
	for r, counts := range a.Tries {
		for i, n := range counts {
			if i == 0 {
				out[string(m.Repairs[r].ID)] = map[string]int{}
			}
			out[string(m.Repairs[r].ID)][string(m.Modes[m.Repairs[r].Change.Fixes[i].Mode].ID)] = n
		}
	}
	return out
}

func seenOf(m *model.Model, a *trail.Account) map[string]string {
	out := map[string]string{}
	for test, o := range a.Seen {
		if o >= 0 {
			out[string(m.Tests[test].ID)] = string(m.Tests[test].Outcomes[o].ID)
		}
	}
	return out
}

func TestReplayAgreesWithTheOracleOnRandomModelsAndTrails(t *testing.T) {
	results := []string{"result"}
	changes := []string{"result", "result", "result", "setup", "repair"}
	voids := []string{"result", "result", "repair", "void", "void", "void", "setup"}
	for _, group := range []struct {
		name   string
		pairs  int
		size   random.Size
		length random.Length
	}{
		{"of ordinary numbers", 100,
			random.Size{Components: 5, Modes: 2, Tests: 5, Outcomes: 5, Repairs: 4, Setups: 4},
			random.Length{Events: 14, Repeats: 5}},
		{"of extreme numbers", 120,
			random.Size{Components: 5, Modes: 2, Tests: 5, Outcomes: 5, Repairs: 4, Setups: 4, Extreme: true},
			random.Length{Events: 14, Repeats: 5}},
		{"full of changes", 50,
			random.Size{Components: 4, Modes: 3, Tests: 2, Outcomes: 3, Repairs: 4, Setups: 6, Extreme: true},
			random.Length{Events: 16, Repeats: 6, Only: changes}},
		{"full of voids", 40,
			random.Size{Components: 3, Modes: 2, Tests: 2, Outcomes: 3, Repairs: 2, Setups: 3},
			random.Length{Events: 20, Only: voids}},
		{"with many repeats", 30,
			random.Size{Components: 3, Modes: 2, Tests: 2, Outcomes: 3, Extreme: true},
			random.Length{Events: 16, Only: results}},
		{"with many components", 5,
			random.Size{Components: 14, Modes: 2, Tests: 6, Outcomes: 3, Repairs: 3, Setups: 2, MostFaults: 2, Exact: true},
			random.Length{Events: 6}},
		{"of version 2", 120,
			random.Size{Components: 5, Modes: 2, Tests: 5, Outcomes: 5, Repairs: 4, Setups: 4, Second: true},
			random.Length{Events: 14, Repeats: 5, Second: true}},
		{"of version 2, of extreme numbers", 80,
			random.Size{Components: 4, Modes: 2, Tests: 5, Outcomes: 4, Repairs: 4, Setups: 4, Second: true, Extreme: true},
			random.Length{Events: 14, Repeats: 5, Second: true}},
		{"of version 2, full of repairs", 60,
			random.Size{Components: 3, Modes: 2, Tests: 3, Outcomes: 3, Repairs: 2, Setups: 3, Second: true},
			random.Length{Events: 16, Only: []string{"result", "repair", "repair", "repair", "setup", "void"}}},
	} {
		t.Run(group.name, func(t *testing.T) {
			for seed := range share(group.pairs) {
				rng := rand.New(rand.NewPCG(seed, 100))
				modelText := random.Model(rng, group.size)
				trailText := random.Trail(rng, modelText, group.length)
				if d := compare(t, modelText, trailText); len(d) > 0 {
					t.Errorf("seed %d: %d numbers differ, first\n%s", seed, len(d), first(d, 5))
				}
			}
		})
	}
}

// The shipped models have thousands of hypotheses: their lines alone are compared.
func TestReplayAgreesWithTheOracleOnAShippedModel(t *testing.T) {
	if runtime.GOOS == "js" {
		t.Skip("big numbers over thousands of hypotheses are slow as WebAssembly; the vectors cover it")
	}
	text, ok := catalog.Text("top-loader")
	require.True(t, ok)
	for seed := range uint64(2) {
		rng := rand.New(rand.NewPCG(seed, 500))
		trailText := random.Trail(rng, text, random.Length{Events: 12, Only: []string{"result", "result", "result", "setup", "repair", "void"}})
		if d := compareParts(t, text, trailText, 0); len(d) > 0 {
			t.Errorf("seed %d: %d numbers differ, first\n%s", seed, len(d), first(d, 5))
		}
	}
}

// share is the number of seeds for this target: big numbers are slow as WebAssembly, and
// what can differ there is the last bit, which a few seeds show.
func share(n int) uint64 {
	if runtime.GOOS == "js" {
		return uint64(max(2, n/10))
	}
	return uint64(n / 2)
}

func first(d differences, n int) string {
	var lines []string
	for _, one := range d[:min(n, len(d))] {
		lines = append(lines, one.String())
	}
	return strings.Join(lines, "\n")
}
