package trail_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// example is the model of the format's description.
func example(t *testing.T) *model.Model {
	t.Helper()
	text, err := os.ReadFile("../model/testdata/example.json")
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	return m
}

// written replays a trail and returns its lines with what they were made from.
func written(t *testing.T, modelText, trailText []byte, warnings ...trail.Warning) (out []byte, m *model.Model, a *trail.Account, origin trail.Odds, doubts []trail.Doubt) {
	t.Helper()
	s, tr := open(t, modelText, trailText)
	a, err := trail.Replay(s, tr)
	require.NoError(t, err)
	a.Warnings = append(warnings, a.Warnings...)
	origin, err = trail.Origin(s, tr)
	require.NoError(t, err)
	doubts, err = trail.Doubts(s, tr)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, a.WriteLines(&b, s.Model(), origin, doubts))
	return b.Bytes(), s.Model(), a, origin, doubts
}

// keys lists the keys of a JSON object in the order of its text, with those of the objects
// in it after a dot.
func keys(t *testing.T, line []byte) []string {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(line))
	var all []string
	var value func(prefix string)
	value = func(prefix string) {
		token, err := d.Token()
		require.NoError(t, err)
		switch token {
		case json.Delim('{'):
			for d.More() {
				key, err := d.Token()
				require.NoError(t, err)
				name := prefix + key.(string)
				all = append(all, name)
				value(name + "/")
			}
		case json.Delim('['):
			for d.More() {
				value(prefix)
			}
		default:
			return
		}
		_, err = d.Token() // the closing bracket
		require.NoError(t, err)
	}
	value("")
	_, err := d.Token()
	require.ErrorIs(t, err, io.EOF, "one object a line")
	return all
}

// TestLinesOfTheVectors holds what is written to the answers in testdata/vectors, which
// come from an oracle that shares no code with the engine.
func TestLinesOfTheVectors(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(vectors, "*.answer.jsonl"))
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(files), 20)
	for _, answer := range files {
		stem := strings.TrimSuffix(answer, ".answer.jsonl")
		t.Run(strings.ReplaceAll(filepath.Base(stem), "-", " "), func(t *testing.T) {
			modelText, err := os.ReadFile(stem + ".model.json")
			require.NoError(t, err)
			trailText, err := os.ReadFile(stem + ".trail.json")
			require.NoError(t, err)
			want, err := os.ReadFile(answer)
			require.NoError(t, err)
			out, _, _, _, _ := written(t, modelText, trailText)

			got := bytes.Split(bytes.TrimSuffix(out, []byte("\n")), []byte("\n"))
			wanted := bytes.Split(bytes.TrimSpace(want), []byte("\n"))
			require.Len(t, got, len(wanted))
			for i := range got {
				var g, w any
				require.NoError(t, json.Unmarshal(got[i], &g))
				require.NoError(t, json.Unmarshal(wanted[i], &w))
				alike(t, w, g, i+1, "")
			}
		})
	}
}

// alike compares two values of JSON: numbers as formats.md asks, the wording of warnings
// not at all.
func alike(t *testing.T, want, got any, line int, place string) {
	t.Helper()
	switch w := want.(type) {
	case map[string]any:
		g, ok := got.(map[string]any)
		require.True(t, ok, "line %d%s", line, place)
		assert.Len(t, g, len(w), "line %d%s", line, place)
		for key, x := range w {
			if key == "text" {
				assert.NotEmpty(t, g[key], "line %d%s", line, place)
				continue
			}
			alike(t, x, g[key], line, place+" "+key)
		}
	case []any:
		g, ok := got.([]any)
		require.True(t, ok, "line %d%s", line, place)
		require.Len(t, g, len(w), "line %d%s", line, place)
		for i, x := range w {
			alike(t, x, g[i], line, place)
		}
	case float64:
		g, ok := got.(float64)
		require.True(t, ok, "line %d%s", line, place)
		assert.LessOrEqual(t, math.Abs(g-w), max(1e-12, 1e-9*math.Abs(w)), "line %d%s: %v, want %v", line, place, g, w)
	default:
		assert.Equal(t, want, got, "line %d%s", line, place)
	}
}

func TestLinesHaveTheFieldsOfTheFormatInItsOrder(t *testing.T) {
	m := example(t)
	tr := &trail.Trail{Events: []trail.Event{
		{N: 1, Kind: trail.Result, Test: "first-boot", Outcome: "asks"},
		{N: 2, Kind: trail.Result, Test: "first-boot", Outcome: "still"},
		{N: 3, Kind: trail.Void, Of: 2},
		{N: 4, Kind: trail.Repair, Repair: "clean-lens"},
	}, ID: "x", Created: "2026-03-04T10:11:12Z", Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256}, Terms: trail.Terms{Currency: "EUR"}}
	for i := range tr.Events {
		tr.Events[i].At = tr.Created
	}
	out, _, _, _, _ := written(t, m.Text, tr.Encode(), trail.Warning{N: 0, Text: "of the \"whole\"\ntrail"})
	lines := bytes.Split(bytes.TrimSuffix(out, []byte("\n")), []byte("\n"))
	require.Len(t, lines, len(tr.Events)+2)

	modes := func(under string) []string {
		all := []string{under}
		for i := range m.Modes {
			all = append(all, under+"/"+string(m.Modes[i].ID))
		}
		return all
	}
	plain := append([]string{"n", "kind", "live", "belief", "belief/sound"}, modes("belief/modes")...)
	plain = append(plain, "belief/faults", "log_evidence", "dropped")
	weighed := append(append([]string{}, plain...), modes("decibans")...)
	for i, want := range [][]string{plain, weighed, plain, plain, plain} {
		assert.Equal(t, append(append([]string{}, want...), "setup"), keys(t, lines[i]), "line %d", i)
	}
	assert.True(t, bytes.HasPrefix(lines[0], []byte(`{"n":0,"kind":"start","live":true,"belief":{"sound":`)), string(lines[0]))
	assert.Contains(t, string(lines[2]), `"n":2,"kind":"result","live":false`)
	last := append([]string{"origin", "origin/sound"}, modes("origin/modes")...)
	last = append(last, "origin/faults", "doubts", "doubts/n", "doubts/p", "warnings", "warnings/n", "warnings/text", "warnings/n", "warnings/text")
	assert.Equal(t, last, keys(t, lines[5]))
	assert.Contains(t, string(lines[5]), `"warnings":[{"n":0,"text":"of the \"whole\"\ntrail"},{"n":4,`)
}

func TestTheLastLineOfATrailWithoutEventsHasEmptyLists(t *testing.T) {
	modelText, err := os.ReadFile(filepath.Join(vectors, "no-events.model.json"))
	require.NoError(t, err)
	trailText, err := os.ReadFile(filepath.Join(vectors, "no-events.trail.json"))
	require.NoError(t, err)
	out, _, _, _, _ := written(t, modelText, trailText)
	assert.True(t, strings.HasSuffix(string(out), `,"doubts":[],"warnings":[]}`+"\n"), string(out))
}

func TestEveryWrittenNumberReadsBackToTheSameBits(t *testing.T) {
	stem := filepath.Join(vectors, "entries-of-a-billionth")
	modelText, err := os.ReadFile(stem + ".model.json")
	require.NoError(t, err)
	trailText, err := os.ReadFile(stem + ".trail.json")
	require.NoError(t, err)
	out, m, a, origin, doubts := written(t, modelText, trailText)
	lines := bytes.Split(bytes.TrimSuffix(out, []byte("\n")), []byte("\n"))
	require.Len(t, lines, len(a.Lines)+1)

	type odds struct {
		Sound  float64
		Modes  map[model.ModeID]float64
		Faults []float64
	}
	seen := 0
	same := func(want trail.Odds, got odds) {
		assert.Equal(t, math.Float64bits(want.Sound), math.Float64bits(got.Sound))
		assert.Equal(t, want.Faults, got.Faults)
		require.Len(t, got.Faults, m.MostFaults+1)
		require.Len(t, got.Modes, len(m.Modes))
		for i, p := range want.Modes {
			assert.Equal(t, math.Float64bits(p), math.Float64bits(got.Modes[m.Modes[i].ID]))
			seen++
		}
	}
	for i, l := range a.Lines {
		var got struct {
			Belief      odds
			LogEvidence float64 `json:"log_evidence"`
			Dropped     float64
			Decibans    map[model.ModeID]float64
		}
		require.NoError(t, json.Unmarshal(lines[i], &got))
		same(l.Odds, got.Belief)
		assert.Equal(t, l.LogEvidence, got.LogEvidence)
		assert.Equal(t, l.Dropped, got.Dropped)
		for f, w := range l.Decibans {
			x, ok := got.Decibans[m.Modes[f].ID]
			assert.Equal(t, !math.IsNaN(w), ok)
			if ok {
				assert.Equal(t, w, x)
				seen++
			}
		}
	}
	var last struct {
		Origin odds
		Doubts []trail.Doubt
	}
	require.NoError(t, json.Unmarshal(lines[len(lines)-1], &last))
	same(origin, last.Origin)
	assert.Equal(t, doubts, last.Doubts)
	assert.Greater(t, seen, 10)
}

// full is a writer that takes only so many lines.
type full struct{ room int }

var errFull = errors.New("no room")

func (f *full) Write(p []byte) (int, error) {
	if f.room--; f.room < 0 {
		return 0, errFull
	}
	return len(p), nil
}

func TestAnErrorOfTheWriterComesBack(t *testing.T) {
	m := example(t)
	a := &trail.Account{Lines: make([]trail.Line, 3)}
	for room := range 4 {
		assert.ErrorIs(t, a.WriteLines(&full{room}, m, trail.Odds{}, nil), errFull)
	}
	assert.NoError(t, a.WriteLines(&full{4}, m, trail.Odds{}, nil))
}
