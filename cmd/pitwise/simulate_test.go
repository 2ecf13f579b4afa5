package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/trail"
)

// played runs simulate -json.
func played(t *testing.T, in string, args ...string) simulated {
	t.Helper()
	status, out, message := called(t, in, append([]string{"simulate", "-json"}, args...)...)
	require.Zero(t, status, message)
	assert.Contains(t, message, "Simulating", "a progress line")
	require.Equal(t, 1, strings.Count(out, "\n"), "one object")
	var s simulated
	require.NoError(t, json.Unmarshal([]byte(out), &s))
	return s
}

func TestTheSameSeedGivesTheSameResultOnAnyNumberOfCores(t *testing.T) {
	for _, policy := range policies {
		t.Run(policy, func(t *testing.T) {
			args := []string{"-model", example, "-policy", policy, "-units", "40", "-seed", "7"}
			one := played(t, "", append(args, "-cores", "1")...)
			two := played(t, "", append(args, "-cores", "2")...)
			many := played(t, "", append(args, "-cores", "9")...)
			assert.Equal(t, policy, one.Policy)
			assert.Equal(t, 40, one.Units)
			two.Decide, many.Decide = one.Decide, one.Decide // of the clock
			assert.Equal(t, one, two)
			assert.Equal(t, one, many)
			assert.InDelta(t, 1, one.Fixed+one.WrittenOff+one.ComeBack, 1e-9)
			assert.Positive(t, one.MeanCost)
			assert.Positive(t, one.StandardError)
		})
	}
	t.Run("another seed gives other units", func(t *testing.T) {
		args := []string{"-model", example, "-policy", "checklist", "-units", "40", "-seed"}
		assert.NotEqual(t, played(t, "", append(args, "7")...).MeanCost, played(t, "", append(args, "8")...).MeanCost)
	})
}

func TestTheObjectHasJustItsFields(t *testing.T) {
	status, out, _ := called(t, "", "simulate", "-json", "-model", example, "-policy", "checklist", "-units", "5")
	require.Zero(t, status)
	var all map[string]any
	d := json.NewDecoder(strings.NewReader(out))
	require.NoError(t, d.Decode(&all))
	_, err := d.Token()
	require.ErrorIs(t, err, io.EOF)
	var names []string
	for name := range all {
		names = append(names, name)
	}
	assert.ElementsMatch(t, []string{"policy", "units", "mean_cost", "standard_error", "mean_minutes", "fixed", "written_off", "come_back", "steps", "oddities", "decide_ms"}, names)
	decide, ok := all["decide_ms"].(map[string]any)
	require.True(t, ok)
	assert.Len(t, decide, 2)
	assert.Contains(t, decide, "median")
	assert.Contains(t, decide, "p99")
}

func TestSimulatedCostsByHand(t *testing.T) {
	t.Run("where nothing is to be gained, every unit is written off at once, at no cost", func(t *testing.T) {
		terms := file(t, "terms.json", `{"minute_value": 1, "currency": "USD", "working_value": 10, "as_is_value": 10, "comeback_cost": 40}`)
		for _, policy := range []string{"planner", "quick", "exact"} {
			s := played(t, "", "-model", example, "-terms", terms, "-policy", policy, "-units", "20")
			s.Decide = simulated{}.Decide
			assert.Equal(t, simulated{Policy: policy, Units: 20, WrittenOff: 1}, rounded(s))
		}
	})
	t.Run("a checklist without a repair that can be done writes off, which costs 60 - 10", func(t *testing.T) {
		m := exampleModel(t)
		needy := file(t, "needy.json", strings.Replace(string(m.Text), `"at": "open", "minutes": 4, "money": 0.2,`, `"at": "open", "minutes": 4, "money": 0.2, "needs": ["multimeter"],`, 1))
		terms := file(t, "terms.json", `{"minute_value": 1, "currency": "USD", "tools": [], "working_value": 60, "as_is_value": 10, "comeback_cost": 40}`)
		s := played(t, "", "-model", needy, "-terms", terms, "-policy", "checklist", "-units", "10")
		s.Decide = simulated{}.Decide
		assert.Equal(t, simulated{Policy: "checklist", Units: 10, MeanCost: 50, WrittenOff: 1}, rounded(s))
	})
	t.Run("nobody does better than the clairvoyant, nor the habits than the planner", func(t *testing.T) {
		cost := map[string]float64{}
		for _, policy := range policies {
			cost[policy] = played(t, "", "-model", example, "-policy", policy, "-units", "400").MeanCost
		}
		for policy, c := range cost {
			assert.GreaterOrEqual(t, c, cost["clairvoyant"], policy)
		}
		for _, habit := range []string{"checklist", "cheapest-first", "information"} {
			assert.Greater(t, cost[habit], cost["planner"], habit)
		}
	})
}

// rounded takes the rounding of sums of shares away.
func rounded(s simulated) simulated {
	for _, x := range []*float64{&s.MeanCost, &s.StandardError, &s.MeanMinutes, &s.Fixed, &s.WrittenOff, &s.ComeBack, &s.Steps} {
		*x = float64(int64(*x*1e9+0.5)) / 1e9
	}
	return s
}

func TestSimulationInWords(t *testing.T) {
	status, out, message := called(t, "", "simulate", "-model", example, "-units", "30", "-seed", "3")
	require.Zero(t, status, message)
	assert.Regexp(t, `^30 units of example revision 1, policy planner, seed 3\n`, out)
	for _, row := range []string{`mean cost +€\d+\.\d\d, standard error €\d+\.\d\d`, `minutes +[\d.]+`, `money +€[\d.]+`, `fixed +[\d.]+%`, `written off +[\d.]+%`,
		`come back +[\d.]+%`, `steps +[\d.]+`, `odd +repeated cures \d+, unmeasured work \d+, closed unproven \d+, signed off with a fault in \d+`, `a decision +median [\d.,]+ ms, 99th percentile [\d.,]+ ms`} {
		assert.Regexp(t, `(?m)^  `+row+`$`, out)
	}
	assert.Contains(t, message, "30 of 30")
}

func TestEveryUnitsTrailIsWrittenAndReplays(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "trails")
	s := played(t, "", "-model", example, "-policy", "checklist", "-units", "12", "-seed", "3", "-trails", dir)
	files, err := filepath.Glob(filepath.Join(dir, "*"))
	require.NoError(t, err)
	require.Len(t, files, 12)
	ends := map[trail.Ending]int{}
	ids := map[string]bool{}
	for _, name := range files {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		tr, err := trail.Load(text)
		require.NoError(t, err, "%s", text)
		require.NoError(t, tr.Check(exampleModel(t)))
		ids[tr.ID] = true
		for _, e := range tr.Events {
			if e.Kind == trail.End {
				ends[e.As]++
			}
		}
		status, _, message := called(t, "", "replay", "-model", example, name)
		require.Zero(t, status, message)
	}
	assert.Len(t, ids, 12)
	assert.InDelta(t, s.WrittenOff*12, ends[trail.WrittenOff], 1e-9)
	assert.InDelta(t, (s.Fixed+s.ComeBack)*12, ends[trail.SignedOff], 1e-9)
	assert.InDelta(t, s.ComeBack*12, s.Odd.SignedOff, 1e-9)

	before, err := os.ReadFile(files[0])
	require.NoError(t, err)
	status, _, message := called(t, "", "simulate", "-json", "-model", example, "-policy", "checklist", "-units", "12", "-seed", "4", "-trails", dir)
	assert.Equal(t, 1, status)
	assert.Contains(t, message, "file exists")
	after, err := os.ReadFile(files[0])
	require.NoError(t, err)
	assert.Equal(t, before, after, "nothing is overwritten")
}

func TestUnitsAreDrawnFromTheTruth(t *testing.T) {
	text := string(exampleModel(t).Text)
	same := file(t, "same.json", text)
	dirty := file(t, "dirty.json", strings.Replace(text, `"prior": 0.20`, `"prior": 0.90`, 1))
	other := file(t, "other.json", strings.ReplaceAll(text, `clean-lens`, `wipe-lens`))
	args := []string{"-model", example, "-policy", "checklist", "-units", "60"}
	plain := played(t, "", args...)
	again := played(t, "", append(args, "-truth", same)...)
	again.Decide = plain.Decide
	assert.Equal(t, plain, again)
	assert.Greater(t, played(t, "", append(args, "-truth", dirty)...).Fixed, plain.Fixed, "most are then of what the list does first")

	status, out, message := called(t, "", "simulate", "-model", example, "-truth", other, "-units", "5")
	assert.Equal(t, 1, status)
	assert.Empty(t, out)
	assert.Contains(t, message, "-truth: sim: not models of the same parts: example has repair clean-lens in open, example has repair wipe-lens in open")
	status, out, message = called(t, "", "simulate", "-model", example, "-policy", "checklist", "-truth", dirty, "-units", "5")
	require.Zero(t, status, message)
	assert.Contains(t, out, "of example revision 1, drawn from example revision 1, policy checklist")
}

func TestTermsOfASimulation(t *testing.T) {
	t.Run("defects are listed", func(t *testing.T) {
		name := file(t, "terms.json", `{"minute_value": -1, "currency": "EUR", "tols": [], "working_value": 60, "as_is_value": 10}`)
		status, out, message := called(t, "", "simulate", "-model", example, "-terms", name)
		assert.Equal(t, 1, status)
		assert.Empty(t, out)
		for _, place := range []string{"minute_value", "tols", "comeback_cost"} {
			assert.Contains(t, message, place)
		}
		assert.Contains(t, message, name+":1:")
	})
	t.Run("a tool that the model does not know is told, no more", func(t *testing.T) {
		name := file(t, "terms.json", `{"minute_value": 1, "currency": "EUR", "tools": ["forge"], "working_value": 60, "as_is_value": 10, "comeback_cost": 40}`)
		status, _, message := called(t, "", "simulate", "-model", example, "-terms", name, "-policy", "checklist", "-units", "2")
		assert.Zero(t, status)
		assert.Contains(t, message, "no tool forge")
	})
	t.Run("without a file they are those that help tells", func(t *testing.T) {
		text := `{"minute_value": 0.25, "currency": "EUR", "tools": ["multimeter"], "working_value": 80, "as_is_value": 10, "comeback_cost": 25}`
		assert.Contains(t, strings.ReplaceAll(simulateCommand.long, "\n  ", ""), text)
		args := []string{"-model", example, "-units", "50", "-seed", "2"}
		with := played(t, "", append(args, "-terms", file(t, "terms.json", text))...)
		without := played(t, "", args...)
		with.Decide = without.Decide
		assert.Equal(t, without, with)
	})
}

func TestSimulateRefuses(t *testing.T) {
	for _, args := range [][]string{
		{}, {"-model", example, "extra"}, {"-model", example, "-policy", "guess"}, {"-model", example, "-units", "0"},
		{"-model", example, "-units", "-3"}, {"-model", example, "-seed", "-1"}, {"-model", example, "-cores", "0"},
	} {
		status, out, message := called(t, "", append([]string{"simulate"}, args...)...)
		assert.Equal(t, 2, status, "%q", args)
		assert.Empty(t, out)
		assert.Contains(t, message, "pitwise help simulate")
	}
	t.Run("a model too large for the exact policy", func(t *testing.T) {
		status, out, message := called(t, "", "simulate", "-model", "top-loader", "-policy", "exact", "-units", "1")
		assert.Equal(t, 1, status)
		assert.Empty(t, out)
		assert.Contains(t, message, "too large to solve exactly")
	})
	t.Run("a model whose intake test never fails", func(t *testing.T) {
		text := `{"format": "pitwise/model", "version": 1, "id": "dull", "revision": "1", "title": "Dull", "most_faults": 1,
  "setups": [{"id": "shut"}], "components": [{"id": "c", "modes": [{"id": "m", "prior": 0.1}]}],
  "tests": [{"id": "look", "intake": true, "at": "shut", "minutes": 1, "money": 0, "outcomes": [{"id": "fine"}], "healthy": [1], "given": {}, "steadiness": 1}],
  "repairs": []}`
		status, out, message := called(t, text, "simulate", "-model", "-", "-units", "1")
		assert.Equal(t, 1, status)
		assert.Empty(t, out)
		assert.Contains(t, message, "hardly ever shows anything but its best outcome")
	})
}

func TestASimulationCanBeStopped(t *testing.T) {
	ctx, stop := contextOf(t)
	stop()
	for _, policy := range policies {
		var out, message bytes.Buffer
		d := &desk{ctx: ctx, in: strings.NewReader(""), out: &out, err: &message}
		assert.Equal(t, 1, d.run([]string{"simulate", "-model", example, "-policy", policy, "-units", "1000000"}))
		assert.Empty(t, out.String())
		assert.Contains(t, message.String(), "stopped before the first unit")
	}
	t.Run("also under way", func(t *testing.T) {
		ctx, stop := context.WithTimeout(t.Context(), 100*time.Millisecond)
		defer stop()
		var out, message bytes.Buffer
		d := &desk{ctx: ctx, in: strings.NewReader(""), out: &out, err: &message}
		assert.Equal(t, 1, d.run([]string{"simulate", "-model", example, "-policy", "checklist", "-units", "10000000"}))
		assert.Empty(t, out.String())
		assert.Regexp(t, `stopped after \d+ of 10000000 units`, message.String())
	})
}

func TestQuantiles(t *testing.T) {
	for _, row := range []struct {
		of      []float64
		q, want float64
	}{
		{nil, 0.5, 0}, {[]float64{4}, 0.5, 4}, {[]float64{4}, 0.99, 4}, {[]float64{3, 1, 2}, 0.5, 2}, {[]float64{4, 3, 2, 1}, 0.5, 2},
		{[]float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}, 0.99, 10}, // by hand, from the definition
	} {
		assert.Equal(t, row.want, quantile(row.of, row.q), "%v of %v", row.q, row.of)
	}
}
