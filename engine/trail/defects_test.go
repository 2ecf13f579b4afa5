package trail

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/document"
	"pitwise/engine/internal/schema"
)

// A change replaces the first occurrence of old in the example, which must be there.
type change struct{ old, new string }

func edited(t *testing.T, changes ...change) []byte {
	t.Helper()
	text := exampleText
	for _, c := range changes {
		require.Contains(t, text, c.old)
		text = strings.Replace(text, c.old, c.new, 1)
	}
	return []byte(text)
}

// defectLines returns "place: found" of each defect.
func defectLines(t *testing.T, err error) []string {
	t.Helper()
	if err == nil {
		return nil
	}
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

const digest = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"

const otherTerms = `{"minute_value": 1, "currency": "USD", "exchange": 1.1, "tools": ["multimeter"], "working_value": 70, "as_is_value": 0, "comeback_cost": 30}`

var second = change{`"version": 1`, `"version": 2`}

// brokenTrails are what Load refuses, and some that look like it and pass.
// source: formats.md, section 4; each row by hand from the example.
var brokenTrails = []struct {
	name    string
	changes []change
	schema  bool // valid as far as the schema can say
	want    []string
}{
	{"the example", nil, true, nil},
	{"a model in place of a trail", []change{{`"pitwise/trail"`, `"pitwise/model"`}, {`"unit"`, `"tests"`}}, false, []string{`format: "pitwise/model", want "pitwise/trail"`}},
	{"another version", []change{{`"version": 1`, `"version": 0`}}, false, []string{`version: 0, want at least 1`}},
	{"a version to come", []change{{`"version": 1`, `"version": 3`}}, false, []string{`version: 3, want at most 2`}},
	{"version 2 that needs none of it", []change{{`"version": 1`, `"version": 2`}}, true, nil},
	{"no id", []change{{`"id": "01J000", `, ``}}, false, []string{`id: missing`}},
	{"an empty id", []change{{`"id": "01J000"`, `"id": ""`}}, false, []string{`id: "" is not a text with at least one character`}},
	{"an unknown field", []change{{`"notes": ""`, `"notes": "", "colour": "grey"`}}, false, []string{`unit.colour: unknown field`}},
	{"a field in the wrong case", []change{{`"minute_value"`, `"Minute_value"`}}, false, []string{`terms.minute_value: missing`, `terms.Minute_value: unknown field, names are case-sensitive: "minute_value"`}},
	{"a key given twice", []change{{`"notes": ""`, `"notes": "", "notes": "x"`}}, true, []string{`unit.notes: key given twice in one object`}},
	{"no parts at all", []change{{exampleText, `{"format": "pitwise/trail", "version": 1}`}}, false, []string{
		`id: missing`, `created: missing`, `model: missing`, `unit: missing`, `terms: missing`, `events: missing`}},
	{"no events", []change{{exampleText[strings.Index(exampleText, `"events": [`):], `"events": []}`}}, true, nil},
	{"no notes, tools or causes", []change{{`, "notes": ""`, ``}, {`"tools": ["multimeter"],`, ``}, {`, "causes": ["lens.dirty"]`, ``}}, true, nil},
	{"no reasons", []change{{`, "reason": "no meter today"`, ``}, {`, "reason": "probe slipped"`, ``}}, true, nil},

	{"a time without its zone", []change{{`"created": "2026-03-04T10:11:12Z"`, `"created": "2026-03-04T10:11:12"`}}, false, []string{`created: "2026-03-04T10:11:12" is not a time as in RFC 3339 (2026-03-04T10:11:12Z)`}},
	{"a day that does not exist", []change{{`2026-03-04T10:12:00Z`, `2026-02-29T10:12:00Z`}}, true, []string{`events[0].at: "2026-02-29T10:12:00Z" is not a time as in RFC 3339 (2026-03-04T10:11:12Z)`}},
	{"a digest in capitals", []change{{digest, strings.ToUpper(digest)}}, false, []string{`model.sha256: "` + strings.ToUpper(digest)[:60] + `…" is not a SHA-256 of 64 digits 0-9, a-f`}},
	{"a digest too short", []change{{digest, digest[1:]}}, false, []string{`model.sha256: "` + digest[1:61] + `…" is not a SHA-256 of 64 digits 0-9, a-f`}},
	{"a model without an id", []change{{`{"id": "example", `, `{`}}, false, []string{`model.id: missing`}},
	{"a currency in small letters", []change{{`"EUR"`, `"eur"`}}, false, []string{`terms.currency: "eur" is not a currency of three capital letters (ISO 4217)`}},
	{"a currency sign", []change{{`"EUR"`, `"€"`}}, false, []string{`terms.currency: "€" is not a currency of three capital letters (ISO 4217)`}},
	{"values below 0", []change{{`"minute_value": 0.5`, `"minute_value": -0.5`}, {`"working_value": 60, "as_is_value": 10, "comeback_cost": 40`, `"working_value": -60, "as_is_value": -10, "comeback_cost": -40`}}, false, []string{
		`terms.minute_value: -0.5, want at least 0`, `terms.working_value: -60, want at least 0`, `terms.as_is_value: -10, want at least 0`, `terms.comeback_cost: -40, want at least 0`}},
	{"a value that is not finite", []change{{`"working_value": 60`, `"working_value": 1e999`}}, true, []string{`terms.working_value: 1e999 is not finite as a number of 64 bits`}},
	{"worth more as it is than working", []change{{`"as_is_value": 10`, `"as_is_value": 70`}}, true, nil},
	{"a tool that is no id", []change{{`["multimeter"]`, `["Multi meter", 7]`}}, false, []string{`terms.tools[0]: "Multi meter" is not an id ([a-z0-9][a-z0-9-]*)`, `terms.tools[1]: a number, want a string`}},

	{"events from 0", []change{{`"n": 1`, `"n": 0`}}, false, []string{`events[0].n: 0, want at least 1`}},
	{"a gap in n", []change{{`"n": 3`, `"n": 4`}}, true, []string{`events[2].n: 4, want 3: n counts from 1 without gaps`}},
	{"two events with one n", []change{{`"n": 2`, `"n": 1`}}, true, []string{`events[1].n: 1, want 2: n counts from 1 without gaps`}},
	{"a gap in n that goes on", []change{{`"n": 7`, `"n": 17`}, {`"n": 8`, `"n": 18`}}, true, []string{`events[6].n: 17, want 7: n counts from 1 without gaps`}},
	{"half an n", []change{{`"n": 2`, `"n": 2.5`}}, false, []string{`events[1].n: 2.5, want a whole number`}},
	{"no n", []change{{`"n": 2, `, ``}}, false, []string{`events[1].n: missing`}},
	{"no time", []change{{`"at": "2026-03-04T10:13:00Z", `, ``}}, false, []string{`events[1].at: missing`}},
	{"no kind", []change{{`"kind": "setup", `, ``}}, false, []string{`events[1].kind: missing`}},
	{"an unknown kind", []change{{`"kind": "setup"`, `"kind": "pause"`}}, false, []string{`events[1].kind: "pause", want "result", "setup", "repair", "skip", "note", "void" or "end"`}},
	{"version 1 with what version 2 brought", []change{{`"as_is_value": 10,`, `"as_is_value": 10, "exchange": 2,`}, {`"kind": "note", "text": "..."`, `"kind": "wait", "for": "a lens"`}, {`"kind": "repair", "repair": "clean-lens"`, `"kind": "terms", "terms": ` + otherTerms}}, true, []string{
		`terms.exchange: of version 2, this file is of version 1`, `events[4].kind: of version 2, this file is of version 1`, `events[5].kind: of version 2, this file is of version 1`}},
	{"other terms, waiting, an exchange", []change{second, {`"as_is_value": 10,`, `"as_is_value": 10, "exchange": 2,`}, {`"kind": "note", "text": "..."`, `"kind": "wait", "for": ""`}, {`"kind": "repair", "repair": "clean-lens"`, `"kind": "terms", "terms": ` + otherTerms}}, true, nil},
	{"an exchange for nothing", []change{second, {`"as_is_value": 10,`, `"as_is_value": 10, "exchange": 0,`}}, false, []string{`terms.exchange: 0, want above 0`}},
	{"a wait for what is not said", []change{second, {`"kind": "note", "text": "..."`, `"kind": "wait"`}}, false, []string{`events[5].for: missing`}},
	{"terms that are none", []change{second, {`"kind": "note", "text": "..."`, `"kind": "terms"`}, {`"kind": "repair", "repair": "clean-lens"`, `"kind": "terms", "terms": {"minute_value": -1, "currency": "EUR", "working_value": 1, "as_is_value": 1}`}}, false, []string{
		`events[4].terms.comeback_cost: missing`, `events[4].terms.minute_value: -1, want at least 0`, `events[5].terms: missing`}},
	{"an event that is text", []change{{`{"n": 2, "at": "2026-03-04T10:13:00Z", "kind": "setup", "setup": "open"}`, `"open"`}}, false, []string{`events[1]: a string, want an object`}},
	{"a field of another kind", []change{{`"setup": "open"`, `"setup": "open", "test": "rail"`}}, false, []string{`events[1].test: unknown field of "setup" event`}},
	{"a result without outcome and reading", []change{{`, "outcome": "asks"`, ``}}, false, []string{`events[0]: 0 of the fields "outcome" and "reading", want exactly one`}},
	{"a result with outcome and reading", []change{{`"outcome": "asks"`, `"outcome": "asks", "reading": 1`}}, false, []string{`events[0]: 2 of the fields "outcome" and "reading", want exactly one`}},
	{"a result without its test", []change{{`"test": "first-boot", `, ``}}, false, []string{`events[0].test: missing`}},
	{"a reading as text", []change{{`4.74`, `"4.74"`}}, false, []string{`events[2].reading: a string, want a number`}},
	{"a reading that is not finite", []change{{`4.74`, `1e400`}}, true, []string{`events[2].reading: 1e400 is not finite as a number of 64 bits`}},
	{"a reading below 0", []change{{`4.74`, `-4.74e-3`}}, true, nil},
	{"a setup without its setup", []change{{`, "setup": "open"`, ``}}, false, []string{`events[1].setup: missing`}},
	{"a repair without its repair", []change{{`, "repair": "clean-lens"`, ``}}, false, []string{`events[4].repair: missing`}},
	{"a note without text", []change{{`, "text": "..."`, ``}}, false, []string{`events[5].text: missing`}},
	{"an empty note", []change{{`"text": "..."`, `"text": ""`}}, true, nil},
	{"a void of nothing", []change{{`"of": 3, `, ``}}, false, []string{`events[6].of: missing`}},
	{"a void of itself", []change{{`"of": 3`, `"of": 7`}}, true, []string{`events[6].of: 7, want an event before this one, which is 7`}},
	{"a void of a later event", []change{{`"of": 3`, `"of": 8`}}, true, []string{`events[6].of: 8, want an event before this one, which is 7`}},
	{"a void of event 0", []change{{`"of": 3`, `"of": 0`}}, false, []string{`events[6].of: 0, want at least 1`}},
	{"an unknown end", []change{{`"signed-off"`, `"scrapped"`}}, false, []string{`events[7].as: "scrapped", want "signed-off", "written-off" or "returned"`}},
	{"an end without as", []change{{`"as": "signed-off", `, ``}}, false, []string{`events[7].as: missing`}},
	{"causes that are no modes", []change{{`["lens.dirty"]`, `["lens", "lens.dirty"]`}}, false, []string{`events[7].causes[0]: "lens" is not a mode (component.mode)`}},
	{"a model text that is not the one", []change{{`"events": [`, `"model_text": "{}", "events": [`}}, true, []string{
		// source: SHA-256 of the two characters {}, by sha256sum.
		`model_text: the text has the SHA-256 44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a, want the ` + digest + ` of model.sha256`}},
	{"a model text that is the one", []change{{`"events": [`, `"model_text": "{}", "events": [`}, {digest, "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"}}, true, nil},
	{"a model text that is the model itself", []change{{`"events": [`, `"model_text": {}, "events": [`}}, false, []string{`model_text: an object, want a string`}},
	{"broken UTF-8", []change{{`shelf 3`, "shelf \xff"}}, true, []string{`unit.label: byte 0xff in a string is not UTF-8`}},
	{"a file that breaks off", []change{{`, "kind": "repair", "repair"`, "\x00"}}, false, []string{`line 12, column 42: "\x00", want "," or "}"`}},
	{"several at once, in order", []change{{`"currency": "EUR"`, `"currency": 1`}, {`"n": 2`, `"n": 3`}, {`"outcome": "asks"`, `"result": "asks"`}, {`"of": 3`, `"of": 9`}, {`"id": "01J000"`, `"id": 1`}}, false, []string{
		`id: a number, want a string`, `terms.currency: a number, want a string`, `events[0]: 0 of the fields "outcome" and "reading", want exactly one`,
		`events[0].result: unknown field of "result" event`, `events[1].n: 3, want 2: n counts from 1 without gaps`, `events[6].of: 9, want an event before this one, which is 7`}},
}

func TestEachRuleOfATrailsFormIsHeld(t *testing.T) {
	for _, row := range brokenTrails {
		t.Run(row.name, func(t *testing.T) {
			tr, err := Load(edited(t, row.changes...))
			assert.Equal(t, row.want, defectLines(t, err))
			assert.Equal(t, err == nil, tr != nil)
		})
	}
}

func TestTheSchemaAgreesWithTheLoader(t *testing.T) {
	s, err := schema.Parse(Schema())
	require.NoError(t, err)
	for _, row := range brokenTrails {
		t.Run(row.name, func(t *testing.T) {
			text := edited(t, row.changes...)
			err := s.Validate(text)
			if row.schema && err != nil && strings.Contains(err.Error(), "cannot unmarshal") {
				return // the validator reads 1e999 with encoding/json, which refuses it
			}
			assert.Equal(t, row.schema, err == nil, "%v", err)
			if row.want == nil {
				assert.NoError(t, err)
			}
		})
	}
}

// The committed schema is renewed by PITWISE_RENEW=1 go test ./engine/...
func TestTheCommittedSchemaIsTheOneThatTheDecoderFollows(t *testing.T) {
	const name = "trail.schema.json"
	if os.Getenv("PITWISE_RENEW") != "" {
		require.NoError(t, os.WriteFile(name, Schema(), 0o644))
	}
	committed, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, string(Schema()), string(committed))
}

func TestTimesAreThoseOfRFC3339(t *testing.T) {
	for _, row := range []struct {
		source, text string
		want         bool
	}{
		{"RFC 3339, 5.8", "1985-04-12T23:20:50.52Z", true},
		{"RFC 3339, 5.8", "1996-12-19T16:39:57-08:00", true},
		{"RFC 3339, 5.8", "1937-01-01T12:00:27.87+00:20", true},
		{"RFC 3339, 5.8, a leap second: clocks in browsers have none", "1990-12-31T23:59:60Z", false},
		{"RFC 3339, 5.6 allows small letters, and says that one may refuse them", "1985-04-12t23:20:50z", false},
		{"RFC 3339, 5.7: 29 February", "2024-02-29T00:00:00Z", true},
		{"RFC 3339, 5.7: 29 February", "2023-02-29T00:00:00Z", false},
		{"RFC 3339, 5.6: a point before the fraction", "1985-04-12T23:20:50,52Z", false},
		{"RFC 3339, 5.6: digits in the fraction", "1985-04-12T23:20:50.Z", false},
		{"RFC 3339, 5.6: two digits", "1985-04-12T3:20:50Z", false},
		{"RFC 3339, 5.6: hours to 23", "1985-04-12T24:00:00Z", false},
		{"RFC 3339, 5.6: offsets to 23:59", "1985-04-12T23:20:50+24:00", false},
		{"RFC 3339, 5.6: offsets to 23:59", "1985-04-12T23:20:50-00:60", false},
		{"RFC 3339, 5.6: a colon in the offset", "1985-04-12T23:20:50+0100", false},
		{"RFC 3339, 5.6: T, not a space", "1985-04-12 23:20:50Z", false},
		{"by hand", "", false},
		{"by hand", "1985-04-12T23:20:50", false},
		{"by hand", "1985-04-12T23:20:50Z ", false},
		{"by hand", "１985-04-12T23:20:50Z", false},
	} {
		assert.Equal(t, row.want, timeForm.Match(row.text), "%s (%s)", row.text, row.source)
		if row.want {
			_, err := time.Parse(time.RFC3339, row.text)
			assert.NoError(t, err)
		}
	}
}

func TestHostileTrailsAreRefusedInLittleTime(t *testing.T) {
	fill := func(head, each, tail string) []byte {
		n := (MaxBytes - len(head) - len(tail)) / len(each)
		return []byte(head + strings.Repeat(each, n) + tail)
	}
	for name, text := range map[string][]byte{
		"many empty events":          fill(`{"events":[`, `{},`, `{}]}`),
		"many numbers":               fill(`{"events":[`, `0,`, `0]}`),
		"many voids":                 fill(`{"events":[`, `{"n":1,"kind":"void","of":1},`, `{}]}`),
		"a long text that is no one": fill(`{"model":{"sha256":"`+digest+`"},"model_text":"`, `\n`, `"}`),
		"one byte too many":          fill(`{"id":"`, `a`, `"} `+strings.Repeat(" ", 8)),
	} {
		t.Run(name, func(t *testing.T) {
			begin := time.Now()
			_, err := Load(text)
			// A reader that takes time square in the size takes hours.
			assert.Less(t, time.Since(begin), 20*time.Second)
			require.ErrorIs(t, err, ErrInvalid)
			assert.LessOrEqual(t, len(defectLines(t, err)), document.MaxDefects+1)
			assert.Less(t, len(err.Error()), 1<<20, fmt.Sprintf("%.200s", err))
		})
	}
}
