package main

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/model"
)

// oddModel is the example with a test that tells next to nothing, a repair that is
// not worth its price and a part with two modes that look the same. Invented.
func oddModel(t *testing.T) *model.Model {
	t.Helper()
	text, err := os.ReadFile(example)
	require.NoError(t, err)
	m, err := model.Load([]byte(strings.NewReplacer(
		`"tests": [`, `"tests": [
    {"id": "sniff", "at": "closed", "minutes": 4, "money": 0, "outcomes": [{"id": "fresh"}, {"id": "stale"}],
     "healthy": [0.5, 0.5], "given": {"lens.dirty": [0.499, 0.501]}, "steadiness": 1},`,
		`"repairs": [`, `"repairs": [
    {"id": "gild", "at": "open", "minutes": 30, "money": 300, "fixes": {"lens.dirty": 0.99}, "risks": {}},`).Replace(string(text))))
	require.NoError(t, err)
	return m
}

func TestDeepChecksListWhatAnAuthorWouldWantToKnow(t *testing.T) {
	m := oddModel(t)
	name := file(t, "odd.json", string(m.Text))
	unit := file(t, "unit.json", trailOf(t, m, `"kind": "result", "test": "first-boot", "outcome": "still"`))
	status, out, message := called(t, "", "check", "-deep", "-units", "6", name, unit)
	assert.Zero(t, status, "a finding is no defect")
	assert.Contains(t, message, "Asking the planner")
	for _, want := range []string{
		"odd.json: no-repair lid.misaligned: no repair takes it away",
		"odd.json: idle-test sniff: ",
		"odd.json: unworthy-repair gild: ",
		"odd.json: asked by these terms: a minute €0.25, the unit working €80.00, as it is €10.00, a comeback €25.00",
		"odd.json: the priors add up to 0.31 faults a unit, over 7 hypotheses", // 0.08 + 0.20 + 0.03, and 1 + 3 + 3, by hand
		"odd.json: a unit that comes in has 0 faults with ",
		"odd.json: with one more fault at once, what moves most in the trail unit-3 is ",
	} {
		assert.Contains(t, out, want)
	}
	t.Run("without -deep there is none of it", func(t *testing.T) {
		_, out, message := called(t, "", "check", name, unit)
		assert.NotContains(t, out, "sniff")
		assert.Empty(t, message)
	})
	t.Run("what an exception explains is left out, and one that explains nothing is told", func(t *testing.T) {
		meant := file(t, "meant.json", `[
  {"model": "example", "kind": "idle-test", "of": ["sniff"], "why": "for the smell of burning"},
  {"model": "example", "kind": "twins", "of": ["lens.dirty", "supply.low"], "why": "no reason"},
  {"model": "example", "kind": "unworthy-repair", "of": ["clean-lens"], "why": "with other trails"},
  {"model": "another", "kind": "no-repair", "of": ["lid.misaligned"], "why": "not of this model"}]`)
		status, out, _ := called(t, "", "check", "-deep", "-exceptions", meant, name)
		assert.Zero(t, status)
		assert.NotContains(t, out, "idle-test sniff")
		assert.Contains(t, out, "unworthy-repair gild")
		assert.Contains(t, out, "no-repair lid.misaligned")
		assert.Contains(t, out, "the exception twins [lens.dirty supply.low] explains no finding: no reason")
		assert.NotContains(t, out, "[clean-lens] explains", "what a search finds depends on its trails")
		assert.Contains(t, out, "1 finding left out, as meant")
	})
	t.Run("whether a repair is worth its price depends on the terms", func(t *testing.T) {
		rich := file(t, "terms.json", `{"minute_value": 50, "currency": "EUR", "working_value": 900000, "as_is_value": 0, "comeback_cost": 900000}`)
		_, out, _ := called(t, "", "check", "-deep", "-terms", rich, name)
		assert.Contains(t, out, "the unit working €900,000.00")
		assert.NotContains(t, out, "unworthy-repair gild", "99 % at once beats 90 % and then again")
	})
	t.Run("exceptions that cannot be read stop it", func(t *testing.T) {
		status, out, message := called(t, "", "check", "-deep", "-exceptions", file(t, "meant.json", `[{"model": 3}]`), name)
		assert.Equal(t, 1, status)
		assert.Empty(t, out)
		assert.Contains(t, message, "meant.json")
	})
	t.Run("it can be stopped", func(t *testing.T) {
		ctx, stop := contextOf(t)
		stop()
		var out, message strings.Builder
		d := &desk{ctx: ctx, in: strings.NewReader(""), out: &out, err: &message}
		assert.Equal(t, 1, d.run([]string{"check", "-deep", name}))
		assert.Contains(t, message.String(), "stopped")
	})
}
