// Package worked holds the page that explains the odds on one unit, and the test that works out
// each of its numbers.
package worked

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"text/template"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

const unit = `{
  "format": "pitwise/trail", "version": 1, "id": "worked", "created": "2026-03-04T18:00:00Z",
  "model": {"id": "example", "revision": "1", "sha256": %q},
  "unit": {"label": "Grey one", "notes": ""},
  "terms": {"minute_value": 0.25, "currency": "EUR", "tools": ["multimeter"], "working_value": 80, "as_is_value": 10, "comeback_cost": 25},
  "events": [
    {"n": 1, "at": "2026-03-04T18:01:00Z", "kind": "result", "test": "first-boot", "outcome": "asks"},
    {"n": 2, "at": "2026-03-04T18:05:00Z", "kind": "setup", "setup": "open"},
    {"n": 3, "at": "2026-03-04T18:08:00Z", "kind": "result", "test": "rail", "reading": %s},
    {"n": 4, "at": "2026-03-04T18:12:00Z", "kind": "repair", "repair": "clean-lens"},
    {"n": 5, "at": "2026-03-04T18:17:00Z", "kind": "setup", "setup": "closed"},
    {"n": 6, "at": "2026-03-04T18:19:00Z", "kind": "result", "test": "first-boot", "outcome": "boots"},
    {"n": 7, "at": "2026-03-04T18:21:00Z", "kind": "result", "test": "first-boot", "outcome": "boots"}
  ]
}`

func replay(t *testing.T, m *model.Model, reading string) (*trail.Trail, *belief.Space, *trail.Account) {
	t.Helper()
	tr, err := trail.Load(fmt.Appendf(nil, unit, m.SHA256, reading))
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	a, err := trail.Replay(s, tr)
	require.NoError(t, err)
	return tr, s, a
}

func load(t *testing.T, text []byte) *model.Model {
	t.Helper()
	m, err := model.Load(text)
	require.NoError(t, err)
	return m
}

// The odds as text/template sees them. Each number of the page comes from one of these.
func TestThePageOfTheOddsIsRight(t *testing.T) {
	text, err := os.ReadFile("../model/testdata/example.json")
	require.NoError(t, err)
	m := load(t, text)
	tr, s, a := replay(t, m, "4.74")
	origin, err := trail.Origin(s, tr)
	require.NoError(t, err)
	doubts, err := trail.Doubts(s, tr)
	require.NoError(t, err)
	least := doubts[0]
	for _, d := range doubts {
		if d.P < least.P {
			least = d
		}
	}
	at := func(id string) int {
		mode, ok := m.Mode(model.ModeID(id))
		require.True(t, ok, id)
		return mode.Index
	}
	boot, _ := m.Test("first-boot")
	rail, _ := m.Test("rail")
	given := func(id string, k int) float64 {
		for _, row := range boot.Given {
			if row.Mode == at(id) {
				return row.P[k]
			}
		}
		t.Fatalf("first-boot does not know %s", id)
		return 0
	}
	pair := s.OutcomesOf(nil, boot.Index, []uint16{uint16(at("lens.dirty")), uint16(at("supply.low"))})
	_, _, clear := replay(t, m, "4.6")
	_, _, fresh := replay(t, load(t, bytes.Replace(text, []byte(`"steadiness": 3`), []byte(`"steadiness": 1e6`), 1)), "4.74")
	type combination struct {
		Name string
		P    float64
	}
	var combinations []combination
	prior := s.Prior()
	for h := range s.Len() {
		var names []string
		for _, f := range s.Modes(h) {
			names = append(names, strings.ToLower(m.Modes[f].Title))
		}
		if h == 0 {
			names = []string{"nothing"}
		}
		combinations = append(combinations, combination{strings.Join(names, " and "), prior.P(h)})
	}
	clean, _ := m.Repair("clean-lens")
	open, _ := m.Setup("open")
	weights := belief.Weights(rail, 4.74)
	wrong := func(b *trail.Account, n int) float64 { return 1 - b.Lines[n].Sound }
	page := map[string]any{
		"Model": m, "Modes": m.Modes, "Combinations": combinations, "Beyond": prior.Dropped(), "Boot": boot,
		"Limit": float64(rail.Reading.Percent/100*4.74) + rail.Reading.Absolute, "U": belief.Uncertainty(rail.Reading, 4.74),
		"MassLow": weights[1], "MassRight": weights[0], "FarLow": clear.Lines[3].Modes[at("supply.low")],
		"Fix": clean.Change.Fixes[0].P, "Risk": open.Leave.Change.Risks[0].P, "Fresh": wrong(fresh, 7),
		"OriginSound": origin.Sound, "LeastN": least.N, "LeastP": least.P,
	}
	digits := func(n int) func(float64) string {
		return func(x float64) string { return strconv.FormatFloat(x, 'f', n, 64) }
	}
	per := func(n int) func(float64) string {
		return func(x float64) string { return digits(n)(100*x) + " %" }
	}
	tmpl, err := template.New("odds.tmpl").Funcs(template.FuncMap{
		"pct": per(1), "pct4": per(3), "f0": digits(0), "f3": digits(3), "plus1": func(x float64) float64 { return x + 1 },
		"prior": func(id string) float64 { return m.Modes[at(id)].Prior }, "given": given,
		"both": func(k int) float64 { return pair[k] }, "bothCum": func() float64 { return pair[0] + pair[1] },
		"cum":        func(id string) float64 { return given(id, 0) + given(id, 1) },
		"cumHealthy": func() float64 { return boot.Healthy[0] + boot.Healthy[1] },
		"mode":       func(n int, id any) float64 { return a.Lines[n].Modes[at(fmt.Sprint(id))] },
		"sound":      func(n int) float64 { return a.Lines[n].Sound }, "wrong": func(n int) float64 { return wrong(a, n) },
		"db":     func(n int, id any) string { return fmt.Sprintf("%+.1f", a.Lines[n].Decibans[at(fmt.Sprint(id))]) },
		"origin": func(id string) float64 { return origin.Modes[at(id)] },
	}).ParseFiles("odds.tmpl")
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, tmpl.Execute(&b, page))
	if os.Getenv("PITWISE_RENEW") != "" {
		require.NoError(t, os.WriteFile("odds.md", b.Bytes(), 0o644))
	}
	stands, err := os.ReadFile("odds.md")
	require.NoError(t, err)
	assert.Equal(t, b.String(), string(stands), "PITWISE_RENEW=1 writes the page anew")

	// What the page says in words of these numbers.
	assert.InDelta(t, 1, weights[0]+weights[1]+weights[2], 1e-12)
	assert.Greater(t, a.Lines[1].Decibans[at("lens.dirty")], 1.0)
	assert.Greater(t, a.Lines[1].Decibans[at("supply.low")], 1.0)
	assert.Less(t, a.Lines[1].Decibans[at("lid.misaligned")], -1.0)
	assert.Greater(t, clear.Lines[3].Modes[at("supply.low")], a.Lines[3].Modes[at("supply.low")])
	assert.Less(t, wrong(fresh, 7), wrong(a, 7))
	assert.Less(t, wrong(a, 7), wrong(a, 6))
	assert.False(t, math.IsNaN(least.P))
}
