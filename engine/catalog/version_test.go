package catalog

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/model"
)

const (
	wipe       = `"fixes": {"lens.dirty": 0.9, "belt.slack": 0.1}, "risks": {}, "source": "memory"}`
	wipeAfter  = `"fixes": {"lens.dirty": 0.9}, "risks": {}, "steadiness": 0.5, "only_after": {"any": [{"test": "boot", "outcomes": ["no"]}, {"test": "tray-watch", "outcomes": ["no"]}]}, "source": "memory"}`
	watchAfter = `"fixes": {"lens.dirty": 0.9}, "risks": {}, "only_after": {"any": [{"test": "tray-watch", "outcomes": ["no"]}]}, "source": "memory"}`
	toldStory  = `"tests": [{"id": "story", "title": "Story", "told": true, "outcomes": [{"id": "fine"}, {"id": "dead"}], "healthy": [0.9, 0.1], "given": {"lens.dirty": [0.5, 0.5]}, "steadiness": 1, "source": "memory"},
  {"id": "boot"`
)

func TestAFamilyThatNeedsNoneOfVersionTwoIsVersionOne(t *testing.T) {
	text, err := composeOf(t)
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	assert.Equal(t, 1, m.Version)
}

func TestWhatVersionTwoBroughtIsPassedThrough(t *testing.T) {
	for _, row := range []struct {
		name  string
		edits []string
		check func(t *testing.T, m *model.Model)
	}{
		{"a currency", []string{`"most_faults": 1,`, `"most_faults": 1, "currency": "EUR",`}, func(t *testing.T, m *model.Model) { assert.Equal(t, "EUR", m.Currency) }},
		{"a weight", []string{`"cite": "estimate from memory"`, `"cite": "estimate from memory", "weight": 4`}, func(t *testing.T, m *model.Model) { assert.Equal(t, 4.0, m.Sources[0].Weight) }},
		{"a told test", []string{`"tests": [{"id": "boot"`, toldStory}, func(t *testing.T, m *model.Model) {
			assert.True(t, m.Tests[0].Told)
			assert.Len(t, m.Tests[0].Given, 1)
			assert.Equal(t, 1, m.Intake)
		}},
		{"the family says which test is the proof", []string{`"setups": [`, `"change": {"tests": {"volts": {"proof": true}}}, "setups": [`}, func(t *testing.T, m *model.Model) { assert.Equal(t, 1, m.Proof) }},
		{"a repair with a memory, after a test that is taken and one that is not", []string{wipe, wipeAfter}, func(t *testing.T, m *model.Model) {
			assert.Equal(t, 0.5, m.Repairs[0].Steadiness)
			assert.Equal(t, model.OnlyAfter{Any: []model.Seen{{Test: 0, Outcomes: []int{1}}}}, m.Repairs[0].OnlyAfter)
		}},
		{"the family gives another memory", []string{`"setups": [`, `"change": {"repairs": {"wipe": {"steadiness": 3}}}, "setups": [`}, func(t *testing.T, m *model.Model) { assert.Equal(t, 3.0, m.Repairs[0].Steadiness) }},
	} {
		t.Run(row.name, func(t *testing.T) {
			text, err := composeOf(t, row.edits...)
			require.NoError(t, err)
			m, err := model.Load(text)
			require.NoError(t, err)
			assert.Equal(t, 2, m.Version)
			row.check(t, m)
		})
	}
}

func TestARepairThatAsksForTestsOfNoPartTakenAsksForNothing(t *testing.T) {
	text, err := composeOf(t, wipe, watchAfter)
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	assert.Equal(t, 1, m.Version)
	assert.Equal(t, model.OnlyAfter{}, m.Repairs[0].OnlyAfter)

	_, err = composeOf(t, wipe, watchAfter, `"outcomes": ["no"]}]}`, `"outcomes": ["no"]}], "strict": true}`)
	assert.EqualError(t, err, "catalog: parts/lens.json: repairs[0].only_after: strict, and the family takes none of the tests")
	_, err = composeOf(t, wipe, watchAfter, `"test": "tray-watch"`, `"test": "tray-wach"`)
	assert.EqualError(t, err, "catalog: parts/lens.json: repairs[0].only_after.any[0]: no part has such a test")
}
