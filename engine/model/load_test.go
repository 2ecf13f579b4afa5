package model

import (
	"crypto/sha256"
	"encoding/hex"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
		{ID: "practice", Kind: Practice, Cite: "common practice, no source"},
		{ID: "memory", Kind: Memory, Cite: "estimate from memory"},
		{ID: "disc-std", Kind: Published, Cite: "ECMA-130, 2nd edition (1996), clause 8"},
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
