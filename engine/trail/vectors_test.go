package trail_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/internal/oracle"
	"pitwise/engine/trail"
)

const vectors = "../../testdata/vectors"

// TestVectors holds oracle and engine to the answers in testdata/vectors. With
// PITWISE_RENEW=1 the answers are written anew from the oracle.
func TestVectors(t *testing.T) {
	names := map[string]int{}
	files, err := os.ReadDir(vectors)
	require.NoError(t, err)
	for _, f := range files {
		name, kind, _ := strings.Cut(f.Name(), ".")
		switch kind {
		case "model.json":
			names[name] |= 1
		case "trail.json":
			names[name] |= 2
		case "answer.jsonl":
			names[name] |= 4
		default:
			require.Equal(t, "README.md", f.Name(), "a file that belongs to no vector")
		}
	}
	require.GreaterOrEqual(t, len(names), 20)
	for name, parts := range names {
		t.Run(strings.ReplaceAll(name, "-", " "), func(t *testing.T) {
			modelText, err := os.ReadFile(filepath.Join(vectors, name+".model.json"))
			require.NoError(t, err)
			trailText, err := os.ReadFile(filepath.Join(vectors, name+".trail.json"))
			require.NoError(t, err)
			account, err := oracle.Replay(modelText, trailText, oracle.Whole)
			require.NoError(t, err)
			printed, err := account.Print()
			require.NoError(t, err)
			answer := filepath.Join(vectors, name+".answer.jsonl")
			if os.Getenv("PITWISE_RENEW") != "" {
				require.NoError(t, os.WriteFile(answer, printed, 0o644))
				return
			}
			require.Equal(t, 7, parts, "model, trail and answer")
			want, err := os.ReadFile(answer)
			require.NoError(t, err)
			assert.Equal(t, string(want), string(printed), "the oracle's answer has changed")
			if d := against(t, modelText, trailText, want); len(d) > 0 {
				t.Errorf("%d numbers differ, first\n%s", len(d), first(d, 5))
			}
		})
	}
}

// against compares the engine's replay with an answer read from its file.
func against(t *testing.T, modelText, trailText, answer []byte) differences {
	t.Helper()
	s, tr := open(t, modelText, trailText)
	m := s.Model()
	got, err := trail.Replay(s, tr)
	require.NoError(t, err)
	var d differences
	lines := bytes.Split(bytes.TrimSpace(answer), []byte("\n"))
	require.Len(t, lines, len(got.Lines)+1)
	for i, g := range got.Lines {
		var w oracle.Line
		require.NoError(t, json.Unmarshal(lines[i], &w))
		place := fmt.Sprintf("line %d", i)
		assert.Equal(t, w.N, g.N, place)
		assert.Equal(t, w.Live, g.Live, place)
		assert.Equal(t, w.Setup, string(m.Setups[g.Setup].ID), place)
		d.belief(place, m, g.Odds, w.Belief)
		d.value(place+" log evidence", g.LogEvidence, w.LogEvidence)
		d.value(place+" dropped", g.Dropped, w.Dropped)
		for f := range m.Modes {
			if x, ok := w.Decibans[string(m.Modes[f].ID)]; ok {
				require.Len(t, g.Decibans, len(m.Modes), place)
				d.value(place+" decibans", g.Decibans[f], x)
			}
		}
	}
	var last struct {
		Origin   oracle.Odds      `json:"origin"`
		Doubts   []oracle.Doubt   `json:"doubts"`
		Warnings []oracle.Warning `json:"warnings"`
	}
	require.NoError(t, json.Unmarshal(lines[len(lines)-1], &last))
	origin, err := trail.Origin(s, tr)
	require.NoError(t, err)
	d.belief("origin", m, origin, last.Origin)
	doubts, err := trail.Doubts(s, tr)
	require.NoError(t, err)
	require.Len(t, doubts, len(last.Doubts))
	for i, w := range last.Doubts {
		assert.Equal(t, w.N, doubts[i].N)
		d.odds("doubt", doubts[i].P, w.P)
	}
	require.Len(t, got.Warnings, len(last.Warnings))
	for i, w := range last.Warnings {
		assert.Equal(t, w.N, got.Warnings[i].N)
	}
	return d
}
