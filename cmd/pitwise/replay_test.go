package main

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// evening is one unit of the example, with a slip of the probe in it. Invented.
func evening(t *testing.T, m *model.Model) string {
	return trailOf(t, m,
		`"kind": "result", "test": "first-boot", "outcome": "asks"`,
		`"kind": "setup", "setup": "open"`,
		`"kind": "result", "test": "rail", "reading": 4.31`,
		`"kind": "skip", "test": "rail", "reason": "meter is flat"`,
		`"kind": "void", "of": 3, "reason": "probe slipped"`,
		`"kind": "repair", "repair": "clean-lens"`,
		`"kind": "note", "text": "hair in the \u001b[31mhub"`,
		`"kind": "setup", "setup": "closed"`,
		`"kind": "result", "test": "first-boot", "outcome": "boots"`,
		`"kind": "result", "test": "rail", "outcome": "right"`,
		`"kind": "end", "as": "signed-off", "causes": ["lens.dirty"]`)
}

func TestReplayTellsWhatEachEventMoved(t *testing.T) {
	status, out, message := called(t, evening(t, exampleModel(t)), "replay", "-model", example, "-")
	require.Zero(t, status, message)
	assert.Empty(t, message)
	assert.NotContains(t, out, "\x1b")
	golden(t, "replay", out)
}

// TestReplayAsLinesAgreesWithTheEngine holds what is printed to trail.Replay, Origin and
// Doubts, to the last bit; those are held to an oracle in engine/trail.
func TestReplayAsLinesAgreesWithTheEngine(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(vectors, "*.trail.json"))
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(files), 20)
	for _, name := range files {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".trail.json"), func(t *testing.T) {
			status, out, message := called(t, "", "replay", "-json", "-model", strings.Replace(name, ".trail.", ".model.", 1), name)
			require.Zero(t, status, message)
			assert.Empty(t, message)
			agrees(t, strings.Replace(name, ".trail.", ".model.", 1), name, out)
		})
	}
}

type printedOdds struct {
	Sound  float64
	Modes  map[model.ModeID]float64
	Faults []float64
}

func agrees(t *testing.T, modelFile, trailFile, out string) {
	t.Helper()
	modelText, err := os.ReadFile(modelFile)
	require.NoError(t, err)
	trailText, err := os.ReadFile(trailFile)
	require.NoError(t, err)
	m, err := model.Load(modelText)
	require.NoError(t, err)
	tr, err := trail.Load(trailText)
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	a, err := trail.Replay(s, tr)
	require.NoError(t, err)
	origin, err := trail.Origin(s, tr)
	require.NoError(t, err)
	doubts, err := trail.Doubts(s, tr)
	require.NoError(t, err)

	same := func(want trail.Odds, got printedOdds) {
		assert.Equal(t, want.Sound, got.Sound)
		assert.Equal(t, want.Faults, got.Faults)
		require.Len(t, got.Modes, len(m.Modes))
		for i, p := range want.Modes {
			assert.Equal(t, p, got.Modes[m.Modes[i].ID])
		}
	}
	lines := strings.Split(strings.TrimSuffix(out, "\n"), "\n")
	require.Len(t, lines, len(tr.Events)+2)
	for i, want := range a.Lines {
		var got struct {
			N           int
			Kind        trail.Kind
			Live        bool
			Belief      printedOdds
			LogEvidence float64 `json:"log_evidence"`
			Dropped     float64
			Decibans    map[model.ModeID]float64
			Setup       model.SetupID
		}
		d := json.NewDecoder(strings.NewReader(lines[i]))
		d.DisallowUnknownFields()
		require.NoError(t, d.Decode(&got))
		assert.Equal(t, want.N, got.N)
		assert.Equal(t, want.Kind, got.Kind)
		assert.Equal(t, want.Live, got.Live)
		assert.Equal(t, want.LogEvidence, got.LogEvidence)
		assert.Equal(t, want.Dropped, got.Dropped)
		assert.Equal(t, m.Setups[want.Setup].ID, got.Setup)
		assert.Equal(t, want.Kind == trail.Result && want.Live, got.Decibans != nil)
		same(want.Odds, got.Belief)
		for f, w := range want.Decibans {
			x, ok := got.Decibans[m.Modes[f].ID]
			assert.Equal(t, math.IsNaN(w), !ok)
			if ok {
				assert.Equal(t, w, x)
			}
		}
	}
	var last struct {
		Origin   printedOdds
		Doubts   []trail.Doubt
		Warnings []struct {
			N    int
			Text string
		}
	}
	d := json.NewDecoder(strings.NewReader(lines[len(lines)-1]))
	d.DisallowUnknownFields()
	require.NoError(t, d.Decode(&last))
	same(origin, last.Origin)
	assert.Equal(t, append([]trail.Doubt{}, doubts...), last.Doubts)
	require.Len(t, last.Warnings, len(a.Warnings))
	for i, w := range a.Warnings {
		assert.Equal(t, w.N, last.Warnings[i].N)
		assert.Equal(t, w.Text, last.Warnings[i].Text)
	}
}

func TestReplayNeedsTheModelThatTheTrailNames(t *testing.T) {
	m := exampleModel(t)
	text := evening(t, m)
	newer := file(t, "newer.json", strings.Replace(string(m.Text), `"revision": "1"`, `"revision": "2"`, 1))

	t.Run("another one stops it, with a message", func(t *testing.T) {
		for _, args := range [][]string{{"replay", "-model", newer, "-"}, {"replay", "-json", "-model", newer, "-"}} {
			status, out, message := called(t, text, args...)
			assert.Equal(t, 1, status)
			assert.Empty(t, out)
			assert.Contains(t, message, "recorded under another model")
			assert.Contains(t, message, "example revision 1")
			assert.Contains(t, message, "example revision 2")
			assert.Contains(t, message, "-any-revision")
		}
	})
	t.Run("unless any revision will do, which the output says", func(t *testing.T) {
		status, out, message := called(t, text, "replay", "-json", "-any-revision", "-model", newer, "-")
		require.Zero(t, status, message)
		lines := strings.Split(strings.TrimSpace(out), "\n")
		var last struct{ Warnings []trail.Warning }
		require.NoError(t, json.Unmarshal([]byte(lines[len(lines)-1]), &last))
		require.Len(t, last.Warnings, 2)
		assert.Zero(t, last.Warnings[0].N)
		assert.Contains(t, last.Warnings[0].Text, "example revision 2")
		assert.Equal(t, 10, last.Warnings[1].N, "the rail was measured with the cover on")

		status, out, _ = called(t, text, "replay", "-any-revision", "-model", newer, "-")
		require.Zero(t, status)
		assert.Contains(t, out, "recorded under another model")
	})
	t.Run("the right one needs no saying", func(t *testing.T) {
		_, out, _ := called(t, text, "replay", "-any-revision", "-model", example, "-")
		assert.NotContains(t, out, "another model")
	})
	t.Run("a model that is not at hand is a message", func(t *testing.T) {
		status, out, message := called(t, text, "replay", "-any-revision", "-")
		assert.Equal(t, 1, status)
		assert.Empty(t, out)
		assert.Contains(t, message, "-model gives it")
		status, _, message = called(t, text, "replay", "-model", "no-such-file", "-")
		assert.Equal(t, 1, status)
		assert.Contains(t, message, "neither a file nor the id of a shipped model")
	})
	t.Run("the text that the trail carries is used", func(t *testing.T) {
		tr, err := trail.Load([]byte(text))
		require.NoError(t, err)
		tr.ModelText = string(m.Text)
		status, out, message := called(t, string(tr.Encode()), "replay", "-json", "-")
		require.Zero(t, status, message)
		_, want, _ := called(t, text, "replay", "-json", "-model", example, "-")
		assert.Equal(t, want, out)
	})
	t.Run("a shipped model is found by its digest, and by its id with any revision", func(t *testing.T) {
		shipped, err := catalog.Load("tray")
		require.NoError(t, err)
		other := trailOf(t, shipped)
		status, out, message := called(t, other, "replay", "-")
		require.Zero(t, status, message)
		assert.Contains(t, out, "model tray revision "+shipped.Revision)
		old := strings.Replace(other, shipped.SHA256, strings.Repeat("0", 64), 1)
		status, _, message = called(t, old, "replay", "-")
		assert.Equal(t, 1, status)
		assert.Contains(t, message, "another model")
		status, out, message = called(t, old, "replay", "-any-revision", "-")
		require.Zero(t, status, message)
		assert.Contains(t, out, "000000000000")
	})
}

func TestReplayRefusesWhatCannotBeWorkedOut(t *testing.T) {
	m := exampleModel(t)
	t.Run("a broken trail is listed defect by defect", func(t *testing.T) {
		status, out, message := called(t, `{"format": "pitwise/trail"}`, "replay", "-")
		assert.Equal(t, 1, status)
		assert.Empty(t, out)
		assert.Greater(t, strings.Count(message, "missing"), 3)
	})
	t.Run("so is one that does not fit its model, with the lines", func(t *testing.T) {
		bad := trailOf(t, m, `"kind": "repair", "repair": "pray"`)
		status, out, message := called(t, bad, "replay", "-model", example, "-")
		assert.Equal(t, 1, status)
		assert.Empty(t, out)
		assert.Regexp(t, `^-:8:\d+: events\[0\]\.repair: `, message)
	})
	// A repair that surely breaks two parts of a model with one fault at most leaves
	// nothing that could be. By hand.
	text := strings.NewReplacer(`"most_faults": 2`, `"most_faults": 1`,
		`"fixes": {"lens.dirty": 0.9}, "risks": {}`, `"fixes": {}, "risks": {"lid.misaligned": 1, "supply.low": 1}`).Replace(string(m.Text))
	cursed, err := model.Load([]byte(text))
	require.NoError(t, err)
	name := file(t, "cursed.json", text)
	bad := trailOf(t, cursed, `"kind": "result", "test": "first-boot", "outcome": "asks"`, `"kind": "repair", "repair": "clean-lens"`)
	t.Run("an event that cannot be is named, after what came before it", func(t *testing.T) {
		status, out, message := called(t, bad, "replay", "-model", name, "-")
		assert.Equal(t, 1, status)
		assert.Contains(t, out, "  1  Switch on with the owner's disc: Asks")
		assert.NotContains(t, out, "  2  ")
		assert.Contains(t, message, "events[1]")
	})
	t.Run("as lines there is all or nothing", func(t *testing.T) {
		status, out, message := called(t, bad, "replay", "-json", "-model", name, "-")
		assert.Equal(t, 1, status)
		assert.Empty(t, out)
		assert.Contains(t, message, "events[1]")
	})
}

func TestReplayIsTheSameEachTime(t *testing.T) {
	text := evening(t, exampleModel(t))
	_, first, _ := called(t, text, "replay", "-json", "-model", example, "-")
	_, again, _ := called(t, text, "replay", "-json", "-model", example, file(t, "unit.json", text))
	assert.NotEmpty(t, first)
	assert.True(t, bytes.Equal([]byte(first), []byte(again)))
}
