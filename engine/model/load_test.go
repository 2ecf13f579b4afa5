package model

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/document"
)

// exampleText is the example of the format's description.
func exampleText(t testing.TB) []byte {
	t.Helper()
	text, err := os.ReadFile("testdata/example.json")
	require.NoError(t, err)
	return text
}

func TestTheExampleOfTheFormatLoadsWhole(t *testing.T) {
	text := exampleText(t)
	m, err := Load(text)
	require.NoError(t, err)

	sum := sha256.Sum256(text)
	assert.Equal(t, hex.EncodeToString(sum[:]), m.SHA256)
	assert.Equal(t, text, m.Text)
	assert.Equal(t, "example", m.ID)
	assert.Equal(t, "1", m.Revision)
	assert.Equal(t, "A three-part example", m.Title)
	assert.Equal(t, 2, m.MostFaults)
	assert.Equal(t, 0, m.Root)
	assert.Equal(t, 0, m.Intake)

	assert.Equal(t, []Source{
		{ID: "practice", Kind: Practice, Cite: "common practice, no source", Weight: 30},
		{ID: "memory", Kind: Memory, Cite: "estimate from memory", Weight: 8},
		{ID: "disc-std", Kind: Published, Cite: "ECMA-130, 2nd edition (1996), clause 8", Weight: 200},
	}, m.Sources)
	assert.Equal(t, []Caution{{ID: "mains", Words: Words{Title: "Mains voltage inside", Text: "..."}}}, m.Cautions)
	assert.Equal(t, []Tool{{ID: "multimeter", Words: Words{Title: "Multimeter"}}}, m.Tools)
	assert.Equal(t, []Setup{
		{Index: 0, ID: "closed", Inside: -1, Words: Words{Title: "Cover on"}},
		{Index: 1, ID: "open", Inside: 0, Depth: 1, Words: Words{Title: "Cover off"}, Cautions: []CautionID{"mains"},
			Enter: Step{Minutes: 6, Words: Words{Steps: []string{"..."}}},
			Leave: Step{Minutes: 5, Words: Words{Steps: []string{"..."}}, Change: Change{Risks: []Chance{{Mode: 0, P: 0.04}}}}},
	}, m.Setups)
	assert.Equal(t, []Component{
		{Index: 0, ID: "lid", Words: Words{Title: "Lid switch"}, Place: "lid-switch", FirstMode: 0, ModeCount: 1},
		{Index: 1, ID: "lens", Words: Words{Title: "Lens"}, Place: "lens", FirstMode: 1, ModeCount: 1},
		{Index: 2, ID: "supply", Words: Words{Title: "Drive supply"}, Place: "supply-plug", FirstMode: 2, ModeCount: 1},
	}, m.Components)
	assert.Equal(t, Mode{Index: 1, Component: 1, ID: "lens.dirty", Words: Words{Title: "Film or dust on the lens"}, Prior: 0.2, Source: "practice"}, m.Modes[1])

	boot, ok := m.Test("first-boot")
	require.True(t, ok)
	assert.True(t, boot.Intake)
	assert.Equal(t, []float64{0.97, 0.02, 0.01}, boot.Healthy)
	// The file has lens.dirty first; the model has mode order.
	assert.Equal(t, []Row{
		{Mode: 0, P: []float64{0.05, 0.05, 0.90}},
		{Mode: 1, P: []float64{0.30, 0.65, 0.05}},
		{Mode: 2, P: []float64{0.10, 0.30, 0.60}},
	}, boot.Given)
	assert.Equal(t, 3.0, boot.Steadiness)

	rail, ok := m.Test("rail")
	require.True(t, ok)
	assert.Equal(t, 1, rail.At)
	assert.Equal(t, []ToolID{"multimeter"}, rail.Needs)
	require.NotNil(t, rail.Reading)
	assert.Equal(t, "V", rail.Reading.Unit)
	assert.Equal(t, 5.0, *rail.Reading.Nominal)
	assert.Equal(t, 0.8, rail.Reading.Percent)
	assert.Equal(t, 0.02, rail.Reading.Absolute)
	assert.Equal(t, []Outcome{
		{ID: "right", Words: Words{Title: "In range"}, From: 4.75, To: 5.25},
		{ID: "low", Words: Words{Title: "Low"}, From: math.Inf(-1), To: 4.75},
		{ID: "high", Words: Words{Title: "High"}, From: 5.25, To: math.Inf(1)},
	}, rail.Outcomes)

	clean, ok := m.Repair("clean-lens")
	require.True(t, ok)
	assert.Equal(t, Change{Fixes: []Chance{{Mode: 1, P: 0.9}}}, clean.Change)
	assert.Equal(t, 0.2, clean.Money)
}

func TestAFileMayHaveFourMebibytesAndNoMore(t *testing.T) {
	text := exampleText(t)
	text = append(text, bytes.Repeat([]byte(" "), MaxBytes-len(text))...)
	m, err := Load(text)
	require.NoError(t, err)
	assert.Len(t, m.Text, MaxBytes)
	_, err = Load(append(text, ' '))
	assert.EqualError(t, err, "model: 4194305 bytes, want at most 4194304")
}

func TestAModelKeepsItsOwnCopyOfTheText(t *testing.T) {
	text := exampleText(t)
	m, err := Load(text)
	require.NoError(t, err)
	text[0] = 'x'
	assert.Equal(t, byte('{'), m.Text[0])
}

func TestTenDefectsComeOutTogetherInDocumentOrder(t *testing.T) {
	assert.Equal(t, []string{
		`version: 9, want at most 2`,
		`sources["disc-std"].kind: "book", want "published", "practice" or "memory"`,
		`setups[1].leave.risks["lid.bent"]: no mode has the id "lid.bent"`,
		`components[0].modes[0].prior: 0, want above 0`,
		`components[1].id: id "lid" is that of components[0] already`,
		`tests[0].steadiness: missing`,
		`tests[0].outcomes[0].from: only a test with a reading has outcomes with bounds`,
		`tests[0].healthy: row sums to 0.98, want 1`,
		`tests[0].given["lens.dirty"]: no mode has the id "lens.dirty"`,
		`tests[0].Steadiness: unknown field, names are case-sensitive: "steadiness"`,
		`tests[1].needs[0]: no tool has the id "scope"`,
		`tests[1].outcomes[0].from: a gap: no outcome has readings from 4.5 to 4.75`,
		`repairs[0].minutes: key given twice in one object`,
		`repairs[0].fixes["lens.dirty"]: 1.9, want at most 1`,
		`repairs[0].fixes["lens.dirty"]: no mode has the id "lens.dirty"`,
	}, lines(t, edited(t,
		change{`"version": 1`, `"version": 9`},
		change{`"kind": "published"`, `"kind": "book"`},
		change{`"risks": {"lid.misaligned": 0.04}`, `"risks": {"lid.bent": 0.04}`},
		change{`"prior": 0.08`, `"prior": 0`},
		change{`{"id": "lens", "title"`, `{"id": "lid", "title"`},
		change{`{"id": "boots"`, `{"from": 3, "id": "boots"`},
		change{bootHealthy, `"healthy": [0.95, 0.02, 0.01]`},
		change{`"steadiness": 3`, `"Steadiness": 3`},
		change{`"needs": ["multimeter"]`, `"needs": ["scope"]`},
		change{`"to": 4.75}`, `"to": 4.5}`},
		change{`"minutes": 4, "money": 0.2`, `"minutes": 4, "minutes": 5, "money": 0.2`},
		change{`"fixes": {"lens.dirty": 0.9}`, `"fixes": {"lens.dirty": 1.9}`},
	)))
}

func TestDefectsCarryTheirLineAndColumn(t *testing.T) {
	_, err := Load(edited(t, change{bootHealthy, `"healthy": [0.95, 0.02, 0.01]`}))
	var defects Defects
	require.ErrorAs(t, err, &defects)
	require.Len(t, defects.List, 1)
	// source: by hand, the example's line 30, after five spaces.
	assert.Equal(t, Defect{Place: "tests[0].healthy", Found: "row sums to 0.98, want 1", Line: 30, Column: 6}, defects.List[0])
	assert.EqualError(t, err, "model: tests[0].healthy: row sums to 0.98, want 1")
}

func TestWhatIsNotAModelAtAllIsAnErrorNotAPanic(t *testing.T) {
	for _, text := range []string{"", "null", "[]", "1", `"x"`, "{}", "{", "\x00", "[[[", `{"setups":[{}],"components":[{}],"tests":[{}],"repairs":[{}]}`,
		`{"components":[{"modes":[{}]}],"tests":[{"outcomes":[{}],"healthy":[1],"given":{"a.b":[1]},"reading":{}}]}`,
		`{"components":[null],"setups":[null],"tests":[null],"sources":{"a":null}}`, strings.Repeat("[", 100000), strings.Repeat(`{"a":`, 100000)} {
		m, err := Load([]byte(text))
		require.ErrorIs(t, err, ErrInvalid)
		require.Nil(t, m)
		require.LessOrEqual(t, len(lines(t, []byte(text))), document.MaxDefects+1)
	}
}

// The texts are made to be slow or large to read; most are near 4 MiB.
func TestHostileModelsAreRefusedInLittleTimeAndSpace(t *testing.T) {
	fill := func(head, each, tail string) []byte {
		n := (MaxBytes - len(head) - len(tail) - 1) / len(each)
		return []byte(head + strings.Repeat(each, n) + tail)
	}
	var selves, chain strings.Builder
	for i := range 60_000 {
		fmt.Fprintf(&selves, `{"id":"s%d","inside":"s%d"},`, i, i)
		fmt.Fprintf(&chain, `{"id":"s%d","inside":"s%d"},`, i+1, i)
	}
	for name, text := range map[string][]byte{
		"setups inside themselves":   []byte(`{"setups":[` + selves.String() + `{"id":"x"}]}`),
		"a long chain of setups":     []byte(`{"setups":[` + chain.String() + `{"id":"s0"}]}`),
		"many roots":                 fill(`{"setups":[`, `{"id":"a"},`, `{}]}`),
		"many values in one list":    fill(`{"tests":[`, `0,`, `0]}`),
		"many lists":                 fill(`{"tests":[`, `[],`, `0]}`),
		"many outcomes":              fill(`{"tests":[{"reading":{"unit":"V"},"outcomes":[`, `{"from":1},`, `{}]}]}`),
		"long rows":                  fill(`{"tests":[{"outcomes":[],"healthy":[`, `0.1,`, `1]}]}`),
		"many unknown fields":        fill(`{`, `"a":0,`, `"b":0}`),
		"many references":            fill(`{"tests":[{"needs":[`, `"a",`, `"b"]}]}`),
		"one long reference":         fill(`{"tests":[{"at":"`, `a`, `"}]}`),
		"one long key":               fill(`{"tests":[{"given":{"`, `a`, `":[0,0,0]}}]}`),
		"many modes":                 fill(`{"most_faults":6,"components":[{"id":"a","modes":[`, `{"id":"b","prior":1e-9},`, `{}]}]}`),
		"many components":            fill(`{"most_faults":6,"components":[`, `{"id":"b","modes":[{"id":"a","prior":0.1}]},`, `{}]}`),
		"a long number":              fill(`{"version":`, `1`, `}`),
		"a long run of open braces":  fill(``, `{"a":`, ``),
		"a long run of open lists":   fill(``, `[`, ``),
		"a text of broken escapes":   fill(`{"title":"`, `\ud800`, `"}`),
		"a string that does not end": fill(`{"title":"`, `\"`, ``),
	} {
		t.Run(name, func(t *testing.T) {
			begin := time.Now()
			_, err := Load(text)
			// A reader that takes time square in the size takes minutes.
			assert.Less(t, time.Since(begin), 20*time.Second)
			require.ErrorIs(t, err, ErrInvalid)
			assert.Less(t, len(err.Error()), 1<<20)
		})
	}
}

func FuzzModel(f *testing.F) {
	f.Add(exampleText(f))
	f.Add(secondText(f))
	f.Add([]byte(`{"format":"pitwise/model","version":1,"id":"a","revision":"","most_faults":1,"setups":[{"id":"s"}],"components":[{"id":"c","modes":[{"id":"m","prior":0.1}]}],` +
		`"tests":[{"id":"t","intake":true,"at":"s","minutes":0,"money":0,"outcomes":[{"id":"o"},{"id":"p"}],"healthy":[0.9,0.1],"given":{"c.m":[0.1,0.9]},"steadiness":1}]}`))
	f.Add([]byte(`{"tests":[{"outcomes":[{"id":"a"},{"id":"b"},{"id":"c"}],"healthy":[0.3,0.3,0.4],"given":{"x.y":[0.6,0.1,0.3]}}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		m, err := Load(text)
		if err != nil {
			require.Nil(t, m)
			var defects Defects
			require.ErrorAs(t, err, &defects)
			require.NotEmpty(t, defects.List)
			line, column := 0, 0
			for _, d := range defects.List {
				require.NotEmpty(t, d.Found)
				require.True(t, d.Line == 0 || d.Line > line || d.Line == line && d.Column >= column, "out of order: %v", defects)
				line, column = d.Line, d.Column
			}
			return
		}
		requireSound(t, m)
	})
}

// requireSound holds a loaded model to what its type promises.
func requireSound(t *testing.T, m *Model) {
	t.Helper()
	require.Equal(t, -1, m.Setups[m.Root].Inside)
	for i, s := range m.Setups {
		require.Equal(t, i, s.Index)
		way := m.Way(m.Root, i)
		require.Len(t, way, s.Depth)
		for _, mv := range way {
			require.False(t, mv.Leave)
		}
		_, ok := m.Setup(s.ID)
		require.True(t, ok)
		requireChange(t, m, s.Enter.Change)
		requireChange(t, m, s.Leave.Change)
	}
	for i, c := range m.Components {
		require.Equal(t, i, c.Index)
		sum := 0.0
		for k := range c.ModeCount {
			mode := m.Modes[c.FirstMode+k]
			require.Equal(t, i, mode.Component)
			require.Equal(t, c.FirstMode+k, mode.Index)
			got, ok := m.Mode(mode.ID)
			require.True(t, ok)
			require.Equal(t, mode, *got)
			sum += mode.Prior
		}
		require.Less(t, sum, 1.0)
	}
	require.True(t, m.Tests[m.Intake].Intake)
	require.False(t, m.Tests[m.Proof].Told)
	require.True(t, m.Tests[m.Proof].Proof || m.Proof == m.Intake)
	for _, s := range m.Sources {
		require.Greater(t, s.Weight, 0.0)
	}
	for i, test := range m.Tests {
		require.Equal(t, i, test.Index)
		require.Less(t, test.At, len(m.Setups))
		if test.Told {
			require.Equal(t, m.Root, test.At)
			require.Zero(t, test.Minutes+test.Money)
			require.Empty(t, test.Needs)
			require.Empty(t, test.Cautions)
		}
		require.Len(t, test.Healthy, len(test.Outcomes))
		last := -1
		for _, row := range test.Given {
			require.Greater(t, row.Mode, last)
			last = row.Mode
			require.Len(t, row.P, len(test.Outcomes))
			require.True(t, follows(test.Healthy, row.P))
		}
		require.Less(t, last, len(m.Modes))
	}
	for i, r := range m.Repairs {
		require.Equal(t, i, r.Index)
		requireChange(t, m, r.Change)
		require.GreaterOrEqual(t, r.Steadiness, 0.0)
		for _, seen := range r.OnlyAfter.Any {
			require.NotEmpty(t, seen.Outcomes)
			for k, o := range seen.Outcomes {
				require.Less(t, o, len(m.Tests[seen.Test].Outcomes))
				require.True(t, k == 0 || seen.Outcomes[k-1] < o)
			}
		}
	}
}

func requireChange(t *testing.T, m *Model, c Change) {
	t.Helper()
	seen := map[int]bool{}
	for _, risk := range c.Risks {
		component := m.Modes[risk.Mode].Component
		require.False(t, seen[component])
		seen[component] = true
	}
	for _, fix := range c.Fixes {
		require.True(t, fix.P >= 0 && fix.P <= 1 && fix.Mode < len(m.Modes))
	}
}
