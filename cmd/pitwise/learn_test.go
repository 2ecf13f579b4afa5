package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/learn"
	"pitwise/engine/model"
)

// evenings plays units of the example by the checklist into a folder.
func evenings(t *testing.T, units, seed string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "trails")
	status, _, message := called(t, "", "simulate", "-model", example, "-policy", "checklist", "-units", units, "-seed", seed, "-trails", dir)
	require.Zero(t, status, message)
	return dir
}

func TestLearnPrintsAModelAndAnAccount(t *testing.T) {
	dir := evenings(t, "60", "1")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "broken.json"), []byte("{"), 0o644))
	status, out, message := called(t, "", "learn", "-model", example, dir)
	require.Zero(t, status, message)
	m, err := model.Load([]byte(out))
	require.NoError(t, err)
	assert.Contains(t, m.Revision, "+60.")
	assert.Contains(t, message, "broken.json is left out: ")
	assert.Contains(t, message, "learnt from 60 units")
	assert.Contains(t, message, "of 100, was")

	t.Run("with -json the account alone", func(t *testing.T) {
		status, out, _ := called(t, "", "learn", "-model", example, "-json", "-cores", "3", dir)
		require.Zero(t, status)
		var a learn.Account
		require.NoError(t, json.Unmarshal([]byte(out), &a))
		assert.Equal(t, 60, a.Units)
		require.NotEmpty(t, a.Moved)
		assert.NotNil(t, a.Moved[0].Interval)
		status, again, _ := called(t, "", "learn", "-model", example, "-json", "-cores", "1", dir)
		require.Zero(t, status)
		assert.Equal(t, out, again, "whatever the number of cores")
	})
	t.Run("what was learnt is not learnt from again", func(t *testing.T) {
		file := filepath.Join(t.TempDir(), "learnt.json")
		require.NoError(t, os.WriteFile(file, []byte(out), 0o644))
		status, _, message := called(t, "", "learn", "-model", file, dir)
		assert.Equal(t, 1, status)
		assert.Contains(t, message, "learnt already")
	})
	t.Run("counts go from bench to bench", func(t *testing.T) {
		shed, both := filepath.Join(t.TempDir(), "shed.json"), filepath.Join(t.TempDir(), "both.json")
		status, _, message := called(t, "", "learn", "-plain", "-model", example, "-bench", "shed", "-give", shed, dir)
		require.Zero(t, status, message)
		other := evenings(t, "40", "2")
		status, _, message = called(t, "", "learn", "-plain", "-model", example, "-bench", "pier", "-counts", shed, "-give", both, other)
		require.Zero(t, status, message)
		assert.Contains(t, message, "the counts of shed, 60 units")
		text, err := os.ReadFile(both)
		require.NoError(t, err)
		c, err := learn.LoadCounts(text)
		require.NoError(t, err)
		require.Len(t, c.Benches, 2)
		assert.Equal(t, "pier", c.Benches[0].ID)
		assert.Equal(t, 40, c.Benches[0].Units)
	})
}

func TestLearnIsCalledRightly(t *testing.T) {
	for _, args := range [][]string{{"learn", "x"}, {"learn", "-model", example}, {"learn", "-model", example, "-cores", "0", "x"},
		{"learn", "-model", example, "-give", "x", "y"}, {"calibrate", "x"}, {"calibrate", "-model", example, "-folds", "1", "x"}, {"worth"},
		{"worth", "-model", example, "-units", "1"}, {"sensitivity"}, {"sensitivity", "-top", "-1", "x"}} {
		status, _, _ := called(t, "", args...)
		assert.Equal(t, 2, status, args)
	}
	status, _, message := called(t, "", "learn", "-model", example, t.TempDir())
	assert.Equal(t, 1, status)
	assert.Contains(t, message, "no trail of this model")
}

func TestCalibrateDrawsATable(t *testing.T) {
	dir := evenings(t, "60", "3")
	status, out, message := called(t, "", "calibrate", "-model", example, "-folds", "3", dir)
	require.Zero(t, status, message)
	for _, want := range []string{"Brier score", "  reliability", "log score", "shipped: said, was so", "|"} {
		assert.Contains(t, out, want)
	}
	status, out, _ = called(t, "", "calibrate", "-json", "-model", example, "-folds", "3", dir)
	require.Zero(t, status)
	var trial learn.Trial
	require.NoError(t, json.Unmarshal([]byte(out), &trial))
	c := trial.Shipped
	assert.InDelta(t, c.Brier, c.Reliability-c.Resolution+c.Uncertainty+c.Within, 1e-12)
	assert.Equal(t, 3*trial.Units, c.N, "one chance a unit and mode")
}

func TestWorthOfAMeter(t *testing.T) {
	status, out, message := called(t, "", "worth", "-model", example, "-units", "20")
	require.Zero(t, status, message)
	assert.Contains(t, out, "Multimeter")
	assert.Contains(t, out, "saves")
	status, _, message = called(t, "", "worth", "-model", example, "-units", "20", "telescope")
	assert.Equal(t, 1, status)
	assert.Contains(t, message, `no tool "telescope"`)
}

func TestSensitivityTellsWhatTheLeadHangsOn(t *testing.T) {
	dir := evenings(t, "5", "4")
	files, err := filepath.Glob(filepath.Join(dir, "*.json"))
	require.NoError(t, err)
	require.Len(t, files, 5)
	holds := 0
	for _, file := range files {
		status, out, message := called(t, "", "sensitivity", "-model", example, file)
		require.Zero(t, status, message)
		assert.Contains(t, out, "leads with")
		assert.Contains(t, out, "Proposed is ")
		holds += strings.Count(out, "holds unless")
	}
	assert.Positive(t, holds)
	status, out, message := called(t, "", "sensitivity", "-json", "-top", "0", "-model", example, files[0])
	require.Zero(t, status, message)
	var h struct {
		learn.Hangs
		Step learn.StepHangs
	}
	require.NoError(t, json.Unmarshal([]byte(out), &h))
	assert.NotEmpty(t, h.Leader)
	assert.NotEmpty(t, h.Step.Step.Kind)
	for _, x := range h.Step.Numbers {
		require.NotNil(t, x.Instead)
		assert.NotEqual(t, h.Step.Step, *x.Instead)
	}
}

func TestFactorsAreToldAsFinelyAsTheyAreKnown(t *testing.T) {
	for x, want := range map[float64]string{3.26: "3.3 times", 212.5: "212 times", 1.2e17: "more than 10,000 times"} {
		assert.Equal(t, want, timesTold(x), "%v", x)
	}
}
