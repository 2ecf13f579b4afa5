package catalog

import (
	"errors"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/model"
)

const lensPart = `{"format": "pitwise/part", "id": "lens", "title": "Lens",
 "sources": {"memory": {"kind": "memory", "cite": "estimate from memory"}, "unused": {"kind": "memory", "cite": "nobody names it"}},
 "cautions": [{"id": "mains", "title": "Mains"}, {"id": "spare", "title": "Nobody names it"}],
 "tools": [{"id": "swab", "title": "Swab"}],
 "components": [{"id": "lens", "title": "Lens", "place": "lens", "modes": [{"id": "dirty", "title": "Dirty", "prior": 0.1, "source": "memory"}]}],
 "tests": [{"id": "boot", "title": "Boot", "intake": true, "at": "outside", "minutes": 1, "money": 0, "steps": ["{load} Watch."],
   "outcomes": [{"id": "yes", "title": "Boots"}, {"id": "no", "title": "{no}"}],
   "healthy": [0.9, 0.1], "given": {"lens.dirty": [0.25, 0.75]}, "steadiness": 1, "source": "memory"},
  {"id": "volts", "title": "Volts", "at": "inside", "minutes": 2, "money": 0, "cautions": ["mains"], "needs": ["swab"],
   "reading": {"unit": "V", "nominal": 5}, "outcomes": [{"id": "right", "from": 4}, {"id": "low", "to": 4}],
   "healthy": [0.9, 0.1], "given": {}, "steadiness": 1, "source": "memory"}],
 "repairs": [{"id": "wipe", "title": "Wipe", "at": "inside", "minutes": 3, "money": 0.50, "fixes": {"lens.dirty": 0.9, "belt.slack": 0.1}, "risks": {}, "source": "memory"}],
 "rows": {"tray-watch": {"lens.dirty": [0.5, 0.5]}}}`

const beltPart = `{"format": "pitwise/part", "id": "belt", "title": "Belt",
 "components": [{"id": "belt", "title": "Belt", "place": "belt", "modes": [{"id": "slack", "title": "Slack", "prior": 0.1, "source": "memory"}]}],
 "tests": [{"id": "tray-watch", "title": "Watch", "at": "outside", "minutes": 1, "money": 0, "outcomes": [{"id": "yes"}, {"id": "no"}],
   "healthy": [0.9, 0.1], "given": {"belt.slack": [0.25, 0.75]}, "steadiness": 1, "source": "memory"}],
 "rows": {"boot": {"belt.slack": [0.5, 0.5]}}}`

const family = `{"format": "pitwise/family", "id": "box", "title": "Box", "revision": "7", "most_faults": 1, "takes": ["lens"],
 "where": {"outside": "closed", "inside": "open"}, "words": {"load": "Disc in.", "no": "Stays dark"},
 "setups": [{"id": "closed", "title": "Closed"}, {"id": "open", "title": "Open", "inside": "closed", "enter": {"minutes": 1, "money": 0, "source": "memory"}}]}`

// composeOf composes a family with the two parts above, after the changes in edits
// (old, new, old, new, …), each of which must hit.
func composeOf(t *testing.T, edits ...string) ([]byte, error) {
	t.Helper()
	texts := []string{family, lensPart, beltPart}
	for i := 0; i < len(edits); i += 2 {
		hit := false
		for j := range texts {
			if strings.Contains(texts[j], edits[i]) {
				texts[j], hit = strings.Replace(texts[j], edits[i], edits[i+1], 1), true
				break
			}
		}
		require.True(t, hit, edits[i])
	}
	s, err := newShelf(fstest.MapFS{
		"parts/lens.json": {Data: []byte(texts[1])},
		"parts/belt.json": {Data: []byte(texts[2])},
	})
	require.NoError(t, err)
	return compose(read("families/box.json", []byte(texts[0]), familyForm), s)
}

func TestAFamilyIsComposedOfThePartsItTakes(t *testing.T) {
	text, err := composeOf(t)
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	assert.Equal(t, "box", m.ID)
	assert.Equal(t, "7", m.Revision)
	require.Len(t, m.Tests, 2)
	assert.Equal(t, []string{"Disc in. Watch."}, m.Tests[0].Steps)
	assert.Equal(t, "Stays dark", m.Tests[0].Outcomes[1].Title)
	assert.Equal(t, "open", string(m.Setups[m.Tests[1].At].ID))
	require.Len(t, m.Modes, 1, "the belt is not taken")
	require.Len(t, m.Repairs[0].Change.Fixes, 1, "what mends the belt falls away")
	assert.Len(t, m.Cautions, 1, "a caution that nobody names is left out")
	assert.Len(t, m.Sources, 1, "so is a source")
	assert.Contains(t, string(text), `"money": 0.50`, "numbers keep their digits")
}

func TestTakingAPartBringsItsRows(t *testing.T) {
	text, err := composeOf(t, `["lens"]`, `["lens", "belt"]`)
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	boot, ok := m.Test("boot")
	require.True(t, ok)
	assert.Len(t, boot.Given, 2)
	watch, ok := m.Test("tray-watch")
	require.True(t, ok)
	assert.Len(t, watch.Given, 2)
	assert.Len(t, m.Repairs[0].Change.Fixes, 2)
}

func TestAFamilyChangesWhatItSaysAndNothingElse(t *testing.T) {
	text, err := composeOf(t, `"setups": [{"id": "closed"`, `"change": {
		"modes": {"lens.dirty": {"prior": 0.2}},
		"tests": {"boot": {"given": {"lens.dirty": [0.125, 0.875]}}, "volts": {"at": "closed", "bands": {"right": {"from": 3}, "low": {"to": 3}}}},
		"repairs": {"wipe": {"fixes": {"lens.dirty": 0.8}, "minutes": 9}}},
		"dangers": {"outside": ["mains"]},
		"fixes": {}, "setups": [{"id": "closed"`)
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	assert.Equal(t, 0.2, m.Modes[0].Prior)
	assert.Equal(t, "Dirty", m.Modes[0].Title)
	assert.Equal(t, []float64{0.125, 0.875}, m.Tests[0].Given[0].P)
	assert.Equal(t, []model.CautionID{"mains"}, m.Tests[0].Cautions, "the place of work adds its cautions")
	assert.Equal(t, 3.0, m.Tests[1].Outcomes[0].From)
	assert.Equal(t, m.Root, m.Tests[1].At)
	assert.Equal(t, []model.CautionID{"mains"}, m.Tests[1].Cautions, "once")
	assert.Equal(t, 0.8, m.Repairs[0].Change.Fixes[0].P)
	assert.Equal(t, 9.0, m.Repairs[0].Minutes)
	assert.Equal(t, 0.5, m.Repairs[0].Money)
}

func TestATwinIsTheSameTestAtAnotherPlace(t *testing.T) {
	text, err := composeOf(t, `"setups": [{"id": "closed"`, `"twins": [{"id": "boot-inside", "of": "boot", "at": "inside", "title": "Once more inside", "cautions": ["mains"]}], "setups": [{"id": "closed"`)
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	boot, ok := m.Test("boot")
	require.True(t, ok)
	twin, ok := m.Test("boot-inside")
	require.True(t, ok)
	assert.Equal(t, boot.Index+1, twin.Index, "behind the test that it is one of")
	assert.Equal(t, "Once more inside", twin.Title)
	assert.NotEqual(t, boot.At, twin.At)
	assert.Equal(t, []model.CautionID{"mains"}, twin.Cautions)
	assert.Equal(t, boot.Outcomes, twin.Outcomes)
	assert.Equal(t, boot.Healthy, twin.Healthy)
	assert.Equal(t, boot.Given, twin.Given, "those of other parts too")
	assert.Equal(t, boot.Steadiness, twin.Steadiness)
}

func TestACompositionErrorNamesFileAndPlace(t *testing.T) {
	for _, test := range []struct{ name, old, new, want string }{
		{"a part that is not there", `"takes": ["lens"]`, `"takes": ["lens", "motor"]`, `families/box.json: takes[1]: no part has the id "motor"`},
		{"a part taken twice", `"takes": ["lens"]`, `"takes": ["lens", "lens"]`, `families/box.json: takes[1]: "lens" is taken twice`},
		{"an unknown field of a family", `"revision": "7"`, `"revision": "7", "colour": "red"`, `families/box.json: colour: unknown field`},
		{"an unknown field of a test", `"intake": true`, `"intake": true, "mood": 1`, `parts/lens.json: tests[0].mood: unknown field`},
		{"a field that is missing", `"revision": "7", `, ``, `families/box.json: revision: missing`},
		{"a mode that no part has", `{"lens.dirty": [0.25, 0.75]}`, `{"lens.dusty": [0.25, 0.75]}`, `parts/lens.json: tests[0].given["lens.dusty"]: no part has such a mode`},
		{"a row for a test that no part has", `"rows": {"tray-watch"`, `"rows": {"tray-look"`, `parts/lens.json: rows["tray-look"]: no part has such a test`},
		{"a family's row for a test that it does not take", `"setups": [{"id": "closed"`, `"rows": {"tray-watch": {}}, "setups": [{"id": "closed"`, `families/box.json: rows["tray-watch"]: no part has such a test`},
		{"a row given twice", `"setups": [{"id": "closed"`, `"rows": {"boot": {"lens.dirty": [0.5, 0.5]}}, "setups": [{"id": "closed"`, `families/box.json: rows.boot["lens.dirty"]: another part of this family gives this one`},
		{"a word that the family lacks", `{no}`, `{perhaps}`, `parts/lens.json: tests[0].outcomes[1].title: the family has no word "{perhaps}"`},
		{"a word that no text uses", `"load": "Disc in."`, `"load": "Disc in.", "more": "Less."`, `families/box.json: words.more: no text uses this word`},
		{"a place of work without a setup", `"inside": "open"}`, `"outdoors": "open"}`, `parts/lens.json: tests[1].at: the family's where does not say which setup "inside" is`},
		{"a danger at an unknown place", `"words"`, `"dangers": {"attic": ["mains"]}, "words"`, `families/box.json: dangers.attic: where has no such place of work`},
		{"a change of a test that is not there", `"setups": [{"id": "closed"`, `"change": {"tests": {"bolt": {"minutes": 1}}}, "setups": [{"id": "closed"`, `families/box.json: change.tests.bolt: no part taken has it, nothing to change`},
		{"a twin of a test that is not there", `"setups": [{"id": "closed"`, `"twins": [{"id": "bolts", "of": "bolt", "at": "inside"}], "setups": [{"id": "closed"`, `families/box.json: twins[0].of: no part taken has such a test`},
		{"a twin with the id of a test", `"setups": [{"id": "closed"`, `"twins": [{"id": "volts", "of": "boot", "at": "inside"}], "setups": [{"id": "closed"`, `families/box.json: twins[0]: another test of this family has that id`},
		{"a twin of a changed test", `"setups": [{"id": "closed"`, `"change": {"tests": {"boot": {"minutes": 2}}}, "twins": [{"id": "boots", "of": "boot", "at": "inside"}], "setups": [{"id": "closed"`, `families/box.json: twins[0].of: the family changes this test, and of such a one there is no twin`},
		{"a change of a row that is not there", `"setups": [{"id": "closed"`, `"change": {"tests": {"volts": {"given": {"lens.dirty": [0.5, 0.5]}}}}, "setups": [{"id": "closed"`, `families/box.json: change.tests.volts.given["lens.dirty"]: nothing to change: no part gives it; a new one belongs in rows, fixes or risks`},
		{"a band of an outcome that is not there", `"setups": [{"id": "closed"`, `"change": {"tests": {"volts": {"bands": {"high": {"from": 9}}}}}, "setups": [{"id": "closed"`, `families/box.json: change.tests.volts.bands.high: the test has no such outcome`},
		{"a source that no part has", `"prior": 0.1, "source": "memory"`, `"prior": 0.1, "source": "hearsay"`, `no part has the source "hearsay"`},
		{"a caution that no part has", `"cautions": ["mains"]`, `"cautions": ["wolves"]`, `no part has the caution "wolves"`},
		{"a tool that no part has", `"needs": ["swab"]`, `"needs": ["wand"]`, `no part has the tool "wand"`},
		{"two blocks of one id", `{"id": "volts"`, `{"id": "boot"`, `parts/lens.json: tests[1]: another part of this family has one of that id`},
		{"a part under another name", `"id": "lens", "title": "Lens",`, `"id": "lense", "title": "Lens",`, `parts/lens.json: id: "lense", want "lens" as the file's name`},
		{"a file that is no JSON", `"most_faults": 1,`, `"most_faults": 1,,`, `families/box.json: line 1, column`},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := composeOf(t, test.old, test.new)
			var defects Defects
			require.True(t, errors.As(err, &defects), "%v", err)
			assert.Contains(t, err.Error(), test.want)
			assert.Regexp(t, `^catalog: (families|parts)/[a-z]+\.json: `, err.Error())
		})
	}
}

// What only the composed model can show is left to model.Load, which names the place.
func TestARowThatBreaksTheRulesIsFoundInTheComposedModel(t *testing.T) {
	text, err := composeOf(t, `[0.25, 0.75]`, `[0.95, 0.05]`)
	require.NoError(t, err)
	_, err = model.Load(text)
	require.ErrorIs(t, err, model.ErrInvalid)
	assert.Contains(t, err.Error(), `tests[0].given["lens.dirty"]`)
}
