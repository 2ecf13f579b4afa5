package model

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A change replaces the first occurrence of old in the example, which must be there.
type change struct{ old, new string }

func edited(t *testing.T, changes ...change) []byte {
	t.Helper()
	text := string(exampleText(t))
	for _, c := range changes {
		require.Contains(t, text, c.old)
		text = strings.Replace(text, c.old, c.new, 1)
	}
	return []byte(text)
}

// lines returns "place: found" of each defect of a model.
func lines(t *testing.T, text []byte) []string {
	t.Helper()
	m, err := Load(text)
	if err == nil {
		require.NotNil(t, m)
		return nil
	}
	require.Nil(t, m)
	require.ErrorIs(t, err, ErrInvalid)
	var defects Defects
	require.ErrorAs(t, err, &defects)
	var all []string
	for _, d := range defects.List {
		all = append(all, d.String())
	}
	if defects.More > 0 {
		all = append(all, fmt.Sprintf("and %d more", defects.More))
	}
	return all
}

const (
	railOutcomes = `"outcomes": [{"id": "right", "title": "In range", "from": 4.75, "to": 5.25},
                  {"id": "low", "title": "Low", "to": 4.75}, {"id": "high", "title": "High", "from": 5.25}]`
	bootOutcomes = `"outcomes": [{"id": "boots", "title": "Boots"}, {"id": "asks", "title": "Asks for a disc"}, {"id": "still", "title": "Never spins"}],`
	bootHealthy  = `"healthy": [0.97, 0.02, 0.01]`
	lastRepair   = `"fixes": {"lens.dirty": 0.9}, "risks": {}, "source": "practice"}`
	setupsField  = `"setups": [
    {"id": "closed", "title": "Cover on"},
    {"id": "open", "title": "Cover off", "inside": "closed", "cautions": ["mains"],
     "enter": {"minutes": 6, "money": 0, "steps": ["..."]},
     "leave": {"minutes": 5, "money": 0, "risks": {"lid.misaligned": 0.04}, "steps": ["..."]}}
  ]`
	lidMode = `{"id": "misaligned", "title": "Shut lid does not press the switch", "prior": 0.08, "source": "memory"}`
)

func TestEachRuleOfTheFormatIsHeld(t *testing.T) {
	// source: formats.md, sections 1 and 2; each row by hand from the example.
	// A row without want is still a valid model.
	for _, row := range []struct {
		name    string
		changes []change
		want    []string
	}{
		// Format, version, ids.
		{"another format", []change{{`"pitwise/model"`, `"pitwise/trail"`}, {`"version": 1`, `"version": 9`}},
			[]string{`format: "pitwise/trail", want "pitwise/model"`}},
		{"a format that is nobody's", []change{{`"pitwise/model"`, `"Pitwise/model"`}}, []string{`format: "Pitwise/model", want "pitwise/model"`}},
		{"no format", []change{{`"format": "pitwise/model",`, ``}}, []string{`format: missing`}},
		{"another version", []change{{`"version": 1`, `"version": 3`}}, []string{`version: 3, want at most 2`}},
		{"version 2 that needs none of it", []change{{`"version": 1`, `"version": 2`}}, nil},
		{"a version as text", []change{{`"version": 1`, `"version": "1"`}}, []string{`version: a string, want a number`}},
		{"a version written at length", []change{{`"version": 1`, `"version": 1.0`}}, nil},
		{"no version", []change{{`"version": 1,`, ``}}, []string{`version: missing`}},
		{"an id with a capital", []change{{`"id": "example"`, `"id": "Example"`}}, []string{`id: "Example" is not an id ([a-z0-9][a-z0-9-]*)`}},
		{"an id that begins with a hyphen", []change{{`"id": "example"`, `"id": "-example"`}}, []string{`id: "-example" is not an id ([a-z0-9][a-z0-9-]*)`}},
		{"an empty id", []change{{`"id": "example"`, `"id": ""`}}, []string{`id: "" is not an id ([a-z0-9][a-z0-9-]*)`}},
		{"an id that is a number", []change{{`"id": "example"`, `"id": 7`}}, []string{`id: a number, want a string`}},
		{"an id of digits and hyphens", []change{{`"id": "example"`, `"id": "9-"`}}, nil},
		{"no revision", []change{{`"revision": "1",`, ``}}, []string{`revision: missing`}},
		{"a revision that is a number", []change{{`"revision": "1"`, `"revision": 1`}}, []string{`revision: a number, want a string`}},

		// Fields.
		{"an unknown field", []change{{`"most_faults": 2`, `"most_faults": 2, "author": "me"`}}, []string{`author: unknown field`}},
		{"a field in the wrong case", []change{{`"steadiness": 3`, `"Steadiness": 3`}},
			[]string{`tests[0].steadiness: missing`, `tests[0].Steadiness: unknown field, names are case-sensitive: "steadiness"`}},
		{"an unknown field deep down", []change{{`{"id": "boots", "title": "Boots"}`, `{"id": "boots", "titel": "Boots"}`}}, []string{`tests[0].outcomes[0].titel: unknown field`}},
		{"a key given twice", []change{{`"at": "open", "minutes": 4`, `"at": "open", "at": "nowhere", "minutes": 4`}}, []string{`repairs[0].at: key given twice in one object`}},
		{"a mode given twice in given", []change{{`"given": {"supply.low": [0.03, 0.96, 0.01]}`, `"given": {"supply.low": [0.03, 0.96, 0.01], "supply.low": [1]}`}},
			[]string{`tests[1].given["supply.low"]: key given twice in one object`}},
		{"a source given twice", []change{{`"practice": {"kind"`, `"memory": {"kind": "memory", "cite": "x"}, "practice": {"kind"`}},
			[]string{`sources.memory: key given twice in one object`}},
		{"null is no value", []change{{`"healthy": [0.98, 0.01, 0.01]`, `"healthy": null`}}, []string{`tests[1].healthy: null, want a list`}},
		{"optional texts stand anywhere", []change{
			{`"kind": "practice"`, `"title": "t", "text": "t", "steps": ["s"], "why": "w", "kind": "practice"`},
			{`"unit": "V"`, `"title": "t", "text": "t", "steps": ["s"], "why": "w", "unit": "V"`},
			{`{"minutes": 6`, `{"title": "t", "text": "t", "why": "w", "minutes": 6`},
			{`{"id": "boots"`, `{"text": "t", "steps": [], "why": "w", "id": "boots"`}}, nil},
		{"a text that is none", []change{{`"title": "Lens"`, `"title": ["Lens"]`}}, []string{`components[1].title: a list, want a string`}},
		{"steps that are no list", []change{{`"steps": ["..."]}`, `"steps": "..."}`}}, []string{`setups[1].enter.steps: a string, want a list`}},
		{"a step that is no text", []change{{`"steps": ["..."]}`, `"steps": ["a", 1, "b", {}]}`}},
			[]string{`setups[1].enter.steps[1]: a number, want a string`, `setups[1].enter.steps[3]: an object, want a string`}},

		// Sources, cautions, tools.
		{"a source of an unknown kind", []change{{`"kind": "published"`, `"kind": "hearsay"`}}, []string{`sources["disc-std"].kind: "hearsay", want "published", "practice" or "memory"`}},
		{"a source without its kind", []change{{`"kind": "published", `, ``}}, []string{`sources["disc-std"].kind: missing`}},
		{"a source without its words", []change{{`"kind": "memory",   "cite": "estimate from memory"`, `"kind": "memory"`}}, []string{`sources.memory.cite: missing`}},
		{"a source with a bad id", []change{{`"disc-std"`, `"disc std"`}}, []string{`sources["disc std"]: the key "disc std" is not an id ([a-z0-9][a-z0-9-]*)`}},
		{"a source that does not exist, of a mode", []change{{`"prior": 0.20, "source": "practice"`, `"prior": 0.20, "source": "guess"`}}, []string{`components[1].modes[0].source: no source has the id "guess"`}},
		{"a source that does not exist, of a test", []change{{`"steadiness": 3, "source": "memory"`, `"steadiness": 3, "source": "guess"`}}, []string{`tests[0].source: no source has the id "guess"`}},
		{"a source that does not exist, of a repair", []change{{lastRepair, `"fixes": {}, "risks": {}, "source": "guess"}`}}, []string{`repairs[0].source: no source has the id "guess"`}},
		{"a source that does not exist, of setup steps", []change{{`{"minutes": 6`, `{"source": "x", "minutes": 6`}, {`{"minutes": 5`, `{"source": "y", "minutes": 5`}},
			[]string{`setups[1].enter.source: no source has the id "x"`, `setups[1].leave.source: no source has the id "y"`}},
		{"a source on every block", []change{{`{"minutes": 6`, `{"source": "memory", "minutes": 6`}, {`{"minutes": 5`, `{"source": "disc-std", "minutes": 5`}}, nil},
		{"an id of a caution given twice", []change{{`"cautions": [{"id": "mains"`, `"cautions": [{"id": "mains"}, {"id": "mains"`}}, []string{`cautions[1].id: id "mains" is that of cautions[0] already`}},
		{"an id of a tool given twice", []change{{`"tools": [{`, `"tools": [{"id": "multimeter"}, {`}}, []string{`tools[1].id: id "multimeter" is that of tools[0] already`}},
		{"a caution and a tool of one id are two things", []change{{`"tools": [{`, `"tools": [{"id": "mains"}, {`}}, nil},
		{"cautions that do not exist", []change{{`"inside": "closed", "cautions": ["mains"]`, `"inside": "closed", "cautions": ["heat"]`}, {`"needs": ["multimeter"], "cautions": ["mains"]`, `"needs": ["multimeter"], "cautions": ["mains", "heat"]`},
			{`{"minutes": 6`, `{"cautions": ["laser"], "minutes": 6`}, {lastRepair, `"cautions": ["static"], "fixes": {}}`}},
			[]string{`setups[1].cautions[0]: no caution has the id "heat"`, `setups[1].enter.cautions[0]: no caution has the id "laser"`,
				`tests[1].cautions[1]: no caution has the id "heat"`, `repairs[0].cautions[0]: no caution has the id "static"`}},
		{"a tool that does not exist", []change{{`"needs": ["multimeter"]`, `"needs": ["scope"]`}, {lastRepair, `"needs": ["multimeter", "swab"]}`}},
			[]string{`tests[1].needs[0]: no tool has the id "scope"`, `repairs[0].needs[1]: no tool has the id "swab"`}},
		{"a tool named twice", []change{{`"needs": ["multimeter"]`, `"needs": ["multimeter", "multimeter"]`}}, []string{`tests[1].needs[1]: "multimeter" is in the list already`}},
		{"a reference that is no id is reported once", []change{{`"needs": ["multimeter"]`, `"needs": ["Multi meter"]`}}, []string{`tests[1].needs[0]: "Multi meter" is not an id ([a-z0-9][a-z0-9-]*)`}},
		{"a repair may need tools and carry cautions", []change{{lastRepair, `"needs": ["multimeter"], "cautions": ["mains"]}`}}, nil},
		{"a setup step may carry cautions and fix faults", []change{{`{"minutes": 6`, `{"cautions": ["mains"], "fixes": {"lid.misaligned": 0.5}, "minutes": 6`}}, nil},

		// Setups.
		{"no setups", []change{{setupsField, `"setups": []`}}, []string{
			`setups: 0 entries, want at least 1`, `tests[0].at: no setup has the id "closed"`, `tests[1].at: no setup has the id "open"`, `repairs[0].at: no setup has the id "open"`}},
		{"setups that are an object", []change{{setupsField, `"setups": {"closed": {}}`}}, []string{
			`setups: an object, want a list`, `tests[0].at: no setup has the id "closed"`, `tests[1].at: no setup has the id "open"`, `repairs[0].at: no setup has the id "open"`}},
		{"a setup that is text", []change{{setupsField, `"setups": ["closed", {"id": "open"}, {"id": "closed", "inside": "open"}]`}}, []string{`setups[0]: a string, want an object`}},
		{"an id of a setup given twice", []change{{`{"id": "open"`, `{"id": "closed", "inside": "closed"}, {"id": "open"`}}, []string{`setups[1].id: id "closed" is that of setups[0] already`}},
		{"a setup inside one that does not exist", []change{{`"inside": "closed"`, `"inside": "shut"`}}, []string{`setups[1].inside: no setup has the id "shut"`}},
		{"two roots", []change{{`"inside": "closed", `, ``}}, []string{
			`setups[1]: a second root: neither it nor setups[0] is inside another setup`}},
		{"three roots", []change{{`{"id": "open"`, `{"id": "b"}, {"id": "c"}, {"id": "open"`}}, []string{
			`setups[1]: a second root: neither it nor setups[0] is inside another setup`, `setups[2]: a second root: neither it nor setups[0] is inside another setup`}},
		{"no root, so a cycle", []change{{`"title": "Cover on"`, `"inside": "open"`}}, []string{
			`setups: no root: every setup is inside another`, `setups[0].inside: a cycle of 2: "closed" is inside itself`}},
		{"a root whose inside is null", []change{{`"title": "Cover on"`, `"inside": null`}}, []string{`setups[0].inside: null, want a string`}},
		{"a setup inside itself", []change{{`"inside": "closed"`, `"inside": "open"`}}, []string{`setups[1].inside: a cycle of 1: "open" is inside itself`}},
		{"a cycle with a tail, and another cycle", []change{{`{"id": "open"`, `{"id": "a", "inside": "b"}, {"id": "b", "inside": "c"}, {"id": "c", "inside": "b"}, {"id": "d", "inside": "d"}, {"id": "open"`}},
			[]string{`setups[2].inside: a cycle of 2: "b" is inside itself`, `setups[4].inside: a cycle of 1: "d" is inside itself`}},
		{"a root that stands last", []change{{`{"id": "closed", "title": "Cover on"},`, ``}, {`"steps": ["..."]}}
  ]`, `"steps": ["..."]}}, {"id": "closed"}]`}}, nil},
		{"a root that is entered and left", []change{{`"title": "Cover on"`, `"enter": {"minutes": 0, "money": 0}, "leave": {"minutes": 0, "money": 0}`}},
			[]string{`setups[0].enter: the root setup is neither entered nor left`, `setups[0].leave: the root setup is neither entered nor left`}},
		{"a step without its costs", []change{{`{"minutes": 6, "money": 0, `, `{`}}, []string{`setups[1].enter.minutes: missing`, `setups[1].enter.money: missing`}},
		{"a step that costs less than nothing", []change{{`{"minutes": 6, "money": 0`, `{"minutes": -6, "money": -0.01`}}, []string{`setups[1].enter.minutes: -6, want at least 0`, `setups[1].enter.money: -0.01, want at least 0`}},
		{"a step that is no object", []change{{`"enter": {"minutes": 6, "money": 0, "steps": ["..."]}`, `"enter": 6`}}, []string{`setups[1].enter: a number, want an object`}},

		// Components and modes.
		{"an id of a component given twice", []change{{`{"id": "lens", "title"`, `{"id": "lid", "modes": [{"id": "bent", "prior": 0.1}]}, {"id": "lens", "title"`}}, []string{`components[1].id: id "lid" is that of components[0] already`}},
		{"an id of a mode given twice", []change{{lidMode, lidMode + `, {"id": "misaligned", "prior": 0.1}`}}, []string{`components[0].modes[1].id: id "misaligned" is that of components[0].modes[0] already`}},
		{"one id of a mode in two components", []change{{lidMode, lidMode + `, {"id": "dirty", "prior": 0.1}`}}, nil},
		{"a component without modes", []change{{`{"id": "lens", "title"`, `{"id": "hub", "modes": []}, {"id": "lens", "title"`}}, []string{`components[1].modes: 0 entries, want at least 1`}},
		{"a component without the field", []change{{`{"id": "lens", "title"`, `{"id": "hub"}, {"id": "lens", "title"`}}, []string{`components[1].modes: missing`}},
		{"a prior of 0", []change{{`"prior": 0.20`, `"prior": 0`}}, []string{`components[1].modes[0].prior: 0, want above 0`}},
		{"a prior below 0", []change{{`"prior": 0.20`, `"prior": -0.2`}}, []string{`components[1].modes[0].prior: -0.2, want above 0`}},
		{"a prior of 1", []change{{`"prior": 0.20`, `"prior": 1`}}, []string{`components[1].modes: the priors add up to 1, want less than 1`}},
		{"priors that add up to more than 1", []change{{lidMode, lidMode + `, {"id": "bent", "prior": 0.5}, {"id": "worn", "prior": 0.625}`}}, []string{`components[0].modes: the priors add up to 1.205, want less than 1`}},
		{"no prior", []change{{`"prior": 0.20, `, ``}}, []string{`components[1].modes[0].prior: missing`}},
		{"a prior that is not finite", []change{{`"prior": 0.20`, `"prior": 1e999`}}, []string{`components[1].modes[0].prior: 1e999 is not finite as a number of 64 bits`}},
		{"a prior that is text", []change{{`"prior": 0.20`, `"prior": "0.20"`}}, []string{`components[1].modes[0].prior: a string, want a number`}},
		{"a very small prior", []change{{`"prior": 0.20`, `"prior": 1e-300`}}, nil},

		// Tests.
		{"an id of a test given twice", []change{{`"id": "rail"`, `"id": "first-boot"`}}, []string{`tests[1].id: id "first-boot" is that of tests[0] already`}},
		{"a test in a setup that does not exist", []change{{`"at": "closed"`, `"at": "shut"`}}, []string{`tests[0].at: no setup has the id "shut"`}},
		{"a test without its setup, costs and steadiness", []change{{`"at": "closed", "minutes": 2, "money": 0,`, ``}, {`"steadiness": 3, `, ``}},
			[]string{`tests[0].at: missing`, `tests[0].minutes: missing`, `tests[0].money: missing`, `tests[0].steadiness: missing`}},
		{"no intake test", []change{{`"intake": true,`, ``}}, []string{`tests: no intake test, want exactly one with "intake": true`}},
		{"an intake test that says false", []change{{`"intake": true`, `"intake": false`}}, []string{`tests: no intake test, want exactly one with "intake": true`}},
		{"two intake tests", []change{{`"id": "rail"`, `"id": "rail", "intake": true`}}, []string{`tests[1].intake: a second intake test, after tests[0]`}},
		{"an intake that is text", []change{{`"intake": true`, `"intake": "true"`}}, []string{`tests[0].intake: a string, want a true or false`}},
		{"a steadiness of 0", []change{{`"steadiness": 3`, `"steadiness": 0`}}, []string{`tests[0].steadiness: 0, want above 0`}},
		{"the smallest steadiness of the format", []change{{`"steadiness": 3`, `"steadiness": 1e-6`}}, nil},
		{"a steadiness beyond the largest of the format", []change{{`"steadiness": 3`, `"steadiness": 1e9`}}, nil},
		{"an id of an outcome given twice", []change{{`{"id": "asks"`, `{"id": "boots"`}}, []string{`tests[0].outcomes[1].id: id "boots" is that of tests[0].outcomes[0] already`}},
		{"no outcomes", []change{{`"outcomes": [{"id": "boots", "title": "Boots"}, {"id": "asks", "title": "Asks for a disc"}, {"id": "still", "title": "Never spins"}]`, `"outcomes": []`}},
			[]string{`tests[0].outcomes: 0 entries, want at least 1`, `tests[0].healthy: row has 3 entries, want 0, one for each outcome`,
				`tests[0].given["lens.dirty"]: row has 3 entries, want 0, one for each outcome`, `tests[0].given["lid.misaligned"]: row has 3 entries, want 0, one for each outcome`,
				`tests[0].given["supply.low"]: row has 3 entries, want 0, one for each outcome`}},
		{"outcomes that are missing, and rows that are wrong without them", []change{{bootOutcomes, ``}, {`[0.30, 0.65, 0.05]`, `[0.98, 0.01, 0.01]`}, {`[0.05, 0.05, 0.90]`, `[0.5, 0.5]`}},
			[]string{`tests[0].outcomes: missing`, `tests[0].given["lens.dirty"]: up to outcome 0 it adds up to 1.01 times what healthy does, want at most 1; nearest row that would pass: [0.97, 0.02, 0.01]`}},
		{"given may be absent", []change{{`"given": {"supply.low": [0.03, 0.96, 0.01]}, `, ``}}, nil},

		// Rows.
		{"a row too short", []change{{`"lens.dirty": [0.30, 0.65, 0.05]`, `"lens.dirty": [0.30, 0.70]`}}, []string{`tests[0].given["lens.dirty"]: row has 2 entries, want 3, one for each outcome`}},
		{"a row too long", []change{{bootHealthy, `"healthy": [0.96, 0.02, 0.01, 0.01]`}}, []string{`tests[0].healthy: row has 4 entries, want 3, one for each outcome`}},
		{"a row that sums to less", []change{{bootHealthy, `"healthy": [0.95, 0.02, 0.01]`}}, []string{`tests[0].healthy: row sums to 0.98, want 1`}},
		{"a row that sums to more", []change{{`[0.30, 0.65, 0.05]`, `[0.30, 0.75, 0.05]`}}, []string{`tests[0].given["lens.dirty"]: row sums to 1.1, want 1`}},
		{"a sum within 1e-9", []change{{bootHealthy, `"healthy": [0.97, 0.02, 0.0100000009]`}}, nil},
		{"a sum of 1 - 1e-9", []change{{bootHealthy, `"healthy": [0.97, 0.02, 0.009999999]`}}, nil},
		{"a sum of 1 - 2e-9", []change{{bootHealthy, `"healthy": [0.97, 0.02, 0.009999998]`}}, []string{`tests[0].healthy: row sums to 0.999999998, want 1`}},
		{"very small entries", []change{{`"healthy": [0.98, 0.01, 0.01], "given": {"supply.low": [0.03, 0.96, 0.01]}`, `"healthy": [0.999999998, 1e-9, 1e-9], "given": {"supply.low": [1e-9, 0.999999998, 1e-9]}`}}, nil},
		{"a single outcome", []change{{railOutcomes, `"outcomes": [{"id": "any"}]`}, {`"healthy": [0.98, 0.01, 0.01], "given": {"supply.low": [0.03, 0.96, 0.01]}`, `"healthy": [1], "given": {"supply.low": [1]}`}}, nil},
		{"an entry of 0", []change{{`[0.05, 0.05, 0.90]`, `[0, 0.1, 0.90]`}}, []string{`tests[0].given["lid.misaligned"][0]: 0, want above 0`}},
		{"entries of 0 and below in a row that does not sum to 1", []change{{`[0.05, 0.05, 0.90]`, `[0, -0.1, 0.90]`}},
			[]string{`tests[0].given["lid.misaligned"]: row sums to 0.8, want 1`, `tests[0].given["lid.misaligned"][0]: 0, want above 0`, `tests[0].given["lid.misaligned"][1]: -0.1, want above 0`}},
		{"an entry that is text", []change{{`[0.05, 0.05, 0.90]`, `[0.05, "0.05", 0.90]`}}, []string{`tests[0].given["lid.misaligned"][1]: a string, want a number`}},
		{"a row that is a number", []change{{`[0.05, 0.05, 0.90]`, `0.9`}}, []string{`tests[0].given["lid.misaligned"]: a number, want a list`}},
		{"a mode that does not exist", []change{{`"lens.dirty": [0.30`, `"lens.dusty": [0.30`}}, []string{`tests[0].given["lens.dusty"]: no mode has the id "lens.dusty"`}},
		{"a mode that does not exist, with a row that is wrong too", []change{{`"lens.dirty": [0.30`, `"lens.dusty": [0.40`}}, []string{`tests[0].given["lens.dusty"]: row sums to 1.1, want 1`, `tests[0].given["lens.dusty"]: no mode has the id "lens.dusty"`}},
		{"a mode that is not written as one", []change{{`"lens.dirty": [0.30`, `"lens": [0.30`}}, []string{`tests[0].given.lens: the key "lens" is not a mode (component.mode)`}},
		{"a mode with two dots", []change{{`"lens.dirty": [0.30`, `"lens.dirty.very": [0.30`}}, []string{`tests[0].given["lens.dirty.very"]: the key "lens.dirty.very" is not a mode (component.mode)`}},

		// The ratio rule. Cumulative sums of healthy: 0.97, 0.99.
		{"a ratio above 1", []change{{`[0.30, 0.65, 0.05]`, `[0.98, 0.01, 0.01]`}}, []string{
			// by hand: 0.98/0.97 = 1.0103; 0.99/0.99 = 1; cut off at 1 gives healthy.
			`tests[0].given["lens.dirty"]: up to outcome "boots" it adds up to 1.01 times what healthy does, want at most 1; nearest row that would pass: [0.97, 0.02, 0.01]`}},
		{"a ratio that falls", []change{{`[0.30, 0.65, 0.05]`, `[0.485, 0.005, 0.51]`}}, []string{
			// by hand: 0.485/0.97 = 0.5; 0.49/0.99 = 0.49495; mean 0.497475, to four
			// digits 0.4975: 0.4975*0.97, 0.4975*0.02, the rest.
			`tests[0].given["lens.dirty"]: up to outcome "asks" it adds up to 0.4949 times what healthy does, and to 0.5 up to the outcome before; the ratio may not fall; nearest row that would pass: [0.482575, 0.00995, 0.507475]`}},
		{"a ratio above 1 within the tolerance", []change{{`[0.30, 0.65, 0.05]`, `[0.9700000005, 0.0199999995, 0.01]`}}, nil},
		{"a ratio above 1 beyond the tolerance", []change{{`[0.30, 0.65, 0.05]`, `[0.970000002, 0.019999998, 0.01]`}}, []string{
			`tests[0].given["lens.dirty"]: up to outcome "boots" it adds up to 1.000000002 times what healthy does, want at most 1; nearest row that would pass: [0.97, 0.02, 0.01]`}},
		{"a ratio that falls by little", []change{{`[0.30, 0.65, 0.05]`, `[0.485, 0.009999996, 0.505000004]`}}, []string{
			// by hand: 0.494999996/0.99 = 0.499999996; mean 0.499999998: 0.485 - 1.94e-9, 0.01 - 4e-11, the rest.
			`tests[0].given["lens.dirty"]: up to outcome "asks" it adds up to 0.499999996 times what healthy does, and to 0.5 up to the outcome before; the ratio may not fall; nearest row that would pass: [0.48499999806, 0.00999999996, 0.50500000198]`}},
		{"healthy itself as a row", []change{{`[0.30, 0.65, 0.05]`, `[0.97, 0.02, 0.01]`}}, nil},

		// Readings.
		{"bounds without a reading", []change{{`{"id": "boots", "title": "Boots"}`, `{"id": "boots", "from": 1, "to": 2}`}}, []string{
			`tests[0].outcomes[0].from: only a test with a reading has outcomes with bounds`, `tests[0].outcomes[0].to: only a test with a reading has outcomes with bounds`}},
		{"a gap", []change{{`"to": 4.75}`, `"to": 4.5}`}}, []string{`tests[1].outcomes[0].from: a gap: no outcome has readings from 4.5 to 4.75`}},
		{"an overlap", []change{{`"to": 4.75}`, `"to": 5}`}}, []string{`tests[1].outcomes[0].from: an overlap: readings from 4.75 to 5 are outcomes[1] as well`}},
		{"an overlap without end", []change{{`"from": 5.25}`, `"from": 5}`}}, []string{`tests[1].outcomes[2].from: an overlap: readings from 5 to 5.25 are outcomes[0] as well`}},
		{"two outcomes for all readings", []change{{railOutcomes, `"outcomes": [{"id": "a"}, {"id": "b"}, {"id": "c"}]`}}, []string{
			`tests[1].outcomes[1]: an overlap: readings from minus infinity on are outcomes[0] as well`, `tests[1].outcomes[2]: an overlap: readings from minus infinity on are outcomes[0] as well`}},
		{"an interval inside another, and no gap after it", []change{{railOutcomes, `"outcomes": [{"id": "a", "to": 9}, {"id": "b", "from": 1, "to": 2}, {"id": "c", "from": 9}]`}}, []string{
			`tests[1].outcomes[1].from: an overlap: readings from 1 to 2 are outcomes[0] as well`}},
		{"no outcome far below", []change{{`"to": 4.75}`, `"from": 0, "to": 4.75}`}}, []string{`tests[1].outcomes[1].from: no outcome has readings below 0`}},
		{"no outcome far above", []change{{`"from": 5.25}`, `"from": 5.25, "to": 20}`}}, []string{`tests[1].outcomes[2].to: no outcome has readings from 20 on`}},
		{"an interval upside down", []change{{`"from": 4.75, "to": 5.25`, `"from": 5.25, "to": 4.75`}}, []string{`tests[1].outcomes[0]: no reading is from 5.25 and below 4.75`}},
		{"an empty interval", []change{{`"from": 4.75, "to": 5.25`, `"from": 4.75, "to": 4.75`}}, []string{`tests[1].outcomes[0]: no reading is from 4.75 and below 4.75`}},
		{"a bound that is not finite", []change{{`"from": 5.25}`, `"from": 1e400}`}}, []string{`tests[1].outcomes[2].from: 1e400 is not finite as a number of 64 bits`}},
		{"a bound written two ways", []change{{`"from": 5.25}`, `"from": 52.5e-1}`}}, nil},
		{"a reading without a unit", []change{{`"unit": "V", `, ``}}, []string{`tests[1].reading.unit: missing`}},
		{"a reading with no more than a unit", []change{{`"unit": "V", "nominal": 5.0, "percent": 0.8, "absolute": 0.02`, `"unit": "V"`}}, nil},
		{"a meter with errors below 0", []change{{`"percent": 0.8, "absolute": 0.02`, `"percent": -0.8, "absolute": -1`}}, []string{`tests[1].reading.percent: -0.8, want at least 0`, `tests[1].reading.absolute: -1, want at least 0`}},
		{"a nominal that is text", []change{{`"nominal": 5.0`, `"nominal": "5 V"`}}, []string{`tests[1].reading.nominal: a string, want a number`}},
		{"a nominal below 0", []change{{`"nominal": 5.0`, `"nominal": -12`}}, nil},
		{"a reading that is no object", []change{{`{"unit": "V", "nominal": 5.0, "percent": 0.8, "absolute": 0.02}`, `"V"`}}, []string{`tests[1].reading: a string, want an object`}},

		// Repairs and changes.
		{"repairs may be absent", []change{{`"repairs": [
    {"id": "clean-lens", "title": "Clean the lens", "at": "open", "minutes": 4, "money": 0.2, "steps": ["..."],
     ` + lastRepair + "\n  ]", `"title": "t"`}, {`"title": "A three-part example",`, ``}}, nil},
		{"an id of a repair given twice", []change{{`"repairs": [`, `"repairs": [{"id": "clean-lens", "at": "open", "minutes": 1, "money": 1},`}}, []string{`repairs[1].id: id "clean-lens" is that of repairs[0] already`}},
		{"a repair in a setup that does not exist", []change{{`"at": "open", "minutes": 4`, `"at": "apart", "minutes": 4`}}, []string{`repairs[0].at: no setup has the id "apart"`}},
		{"a repair without its costs", []change{{`"minutes": 4, "money": 0.2, `, ``}}, []string{`repairs[0].minutes: missing`, `repairs[0].money: missing`}},
		{"fixes and risks that do not exist", []change{{lastRepair, `"fixes": {"lens.dusty": 0.9}, "risks": {"arm.bent": 0.1}}`}}, []string{
			`repairs[0].fixes["lens.dusty"]: no mode has the id "lens.dusty"`, `repairs[0].risks["arm.bent"]: no mode has the id "arm.bent"`}},
		{"a fix above 1", []change{{`"fixes": {"lens.dirty": 0.9}`, `"fixes": {"lens.dirty": 1.1}`}}, []string{`repairs[0].fixes["lens.dirty"]: 1.1, want at most 1`}},
		{"a risk below 0", []change{{`{"lid.misaligned": 0.04}`, `{"lid.misaligned": -0.04}`}}, []string{`setups[1].leave.risks["lid.misaligned"]: -0.04, want at least 0`}},
		{"fixes and risks of 0 and 1", []change{{lastRepair, `"fixes": {"lens.dirty": 1, "lid.misaligned": 0}, "risks": {"lens.dirty": 0, "supply.low": 1}}`}}, nil},
		{"risks of two modes of one component", []change{{lidMode, lidMode + `, {"id": "bent", "prior": 0.1}, {"id": "worn", "prior": 0.1}`},
			{`{"lid.misaligned": 0.04}`, `{"lid.misaligned": 0.04, "lens.dirty": 0.1, "lid.bent": 0.1, "lid.worn": 0.1}`}}, []string{
			`setups[1].leave.risks["lid.bent"]: a second mode of the component "lid", after "lid.misaligned"`, `setups[1].leave.risks["lid.worn"]: a second mode of the component "lid", after "lid.misaligned"`}},
		{"fixes of two modes of one component are fine", []change{{lidMode, lidMode + `, {"id": "bent", "prior": 0.1}`}, {lastRepair, `"fixes": {"lid.misaligned": 1, "lid.bent": 1}}`}}, nil},

		// Limits.
		{"no faults held", []change{{`"most_faults": 2`, `"most_faults": 0`}}, []string{`most_faults: 0, want at least 1`}},
		{"too many faults held", []change{{`"most_faults": 2`, `"most_faults": 7`}}, []string{`most_faults: 7, want at most 6`}},
		{"half a fault held", []change{{`"most_faults": 2`, `"most_faults": 1.5`}}, []string{`most_faults: 1.5, want a whole number`}},
		{"more faults held than there are components", []change{{`"most_faults": 2`, `"most_faults": 6`}}, nil},
		{"no number of faults", []change{{`"most_faults": 2,`, ``}}, []string{`most_faults: missing`}},
		{"more than 8 modes", []change{{lidMode, lidMode + repeat(8, `, {"id": "m%d", "prior": 0.01}`)}}, []string{`components[0].modes: 9 entries, want at most 8`}},
		{"more than 64 components", []change{{`{"id": "lens", "title"`, repeat(62, `{"id": "c%d", "modes": [{"id": "m", "prior": 0.01}]}, `) + `{"id": "lens", "title"`}}, []string{`components: 65 entries, want at most 64`}},
		{"64 components", []change{{`{"id": "lens", "title"`, repeat(61, `{"id": "c%d", "modes": [{"id": "m", "prior": 0.01}]}, `) + `{"id": "lens", "title"`}}, nil},
		{"more than 256 tests", []change{{`"tests": [`, `"tests": [` + repeat(255, `{"id": "t%d", "at": "open", "minutes": 1, "money": 0, "outcomes": [{"id": "a"}], "healthy": [1], "steadiness": 1}, `)}}, []string{`tests: 257 entries, want at most 256`}},
		{"more than 12 outcomes", []change{{railOutcomes, `"outcomes": [{"id": "o"}` + repeat(12, `, {"id": "o%d"}`) + `]`}, {`"reading": {"unit": "V", "nominal": 5.0, "percent": 0.8, "absolute": 0.02},`, ``},
			{`"healthy": [0.98, 0.01, 0.01], "given": {"supply.low": [0.03, 0.96, 0.01]}`, `"healthy": [0.4` + strings.Repeat(", 0.05", 12) + `]`}}, []string{
			`tests[1].outcomes: 13 entries, want at most 12`, `tests[1].healthy: 13 entries, want at most 12`}},
		{"more than 256 repairs", []change{{`"repairs": [`, `"repairs": [` + repeat(256, `{"id": "r%d", "at": "open", "minutes": 1, "money": 0}, `)}}, []string{`repairs: 257 entries, want at most 256`}},
		// 64 components of 1 mode at 5 faults: C(64,0) + … + C(64,5) = 8,303,633, by hand.
		{"more than 2,000,000 hypotheses", []change{{`"most_faults": 2`, `"most_faults": 5`}, {`{"id": "lens", "title"`, repeat(61, `{"id": "c%d", "modes": [{"id": "m", "prior": 0.01}]}, `) + `{"id": "lens", "title"`}}, []string{
			`most_faults: 5 keeps 8303633 hypotheses, want at most 2000000`}},

		// Text that is not JSON, or hardly.
		{"broken UTF-8", []change{{`Lid switch`, "Lid \xffswitch"}}, []string{`components[0].title: byte 0xff in a string is not UTF-8`}},
		{"half a surrogate pair", []change{{`Lid switch`, `\udead`}}, []string{`components[0].title: \udead in a string is half a surrogate pair`}},
		{"data after the end", []change{{`"risks": {}, "source": "practice"}
  ]
}`, `"risks": {}}]} []`}}, []string{`line 42, column 51: "[" after the end of the document`}},
		{"a comma too many, and a row that is wrong", []change{{bootHealthy, `"healthy": [0.97, 0.02, 0.02,]`}}, []string{`tests[0].healthy: row sums to 1.01, want 1`, `line 30, column 34: "," before "]"`}},
		{"a bracket that is missing", []change{{bootHealthy, `"healthy": [0.97, 0.02, 0.01`}}, []string{`line 31, column 13: ":", want "," or "]"`}},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.Equal(t, row.want, lines(t, edited(t, row.changes...)))
		})
	}
}

// repeat writes format for 0 to n-1.
func repeat(n int, format string) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, format, i)
	}
	return b.String()
}
