package document

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	evenForm  = &Form{Noun: "an even word", Pattern: "^(..)*$", Match: func(s string) bool { return utf8.RuneCountInString(s)%2 == 0 }}
	leafShape = &Record{Name: "leaf", Doc: "A leaf.", Fields: []Field{{Name: "x", Shape: Real{}, Required: true}}}
	treeShape = &Record{Name: "tree", Doc: "A tree.", Fields: []Field{
		{Name: "name", Shape: Text{Form: evenForm}, Required: true, Doc: "Its name."},
		{Name: "colour", Shape: Text{Enum: []string{"red", "green", "blue"}}},
		{Name: "count", Shape: Real{Whole: true, Least: Bound(1), Most: Bound(3)}},
		{Name: "above", Shape: Real{Above: Bound(0)}},
		{Name: "version", Shape: Real{Least: Bound(1), Most: Bound(1)}},
		{Name: "flag", Shape: Flag{}},
		{Name: "leaves", Shape: Items{Least: 1, Most: 2, Each: leafShape}},
		{Name: "rows", Shape: Map{Key: evenForm, Each: Items{Each: Real{}}}},
		{Name: "event", Shape: &Union{Name: "event", Tag: "kind", Common: []Field{{Name: "n", Shape: Real{Whole: true}, Required: true}}, Kinds: []Variant{
			{Tag: "one", Fields: []Field{{Name: "a", Shape: Flag{}}, {Name: "b", Shape: Flag{}}}, OneOf: []string{"a", "b"}},
			{Tag: "two", Fields: []Field{{Name: "c", Shape: Flag{}, Required: true}}},
		}}},
	}}
)

func TestCheckReportsWhereAValueDiffersFromItsShape(t *testing.T) {
	for _, row := range []struct {
		name, text string
		want       []string
	}{
		{"nothing wrong", `{"name": "ab", "colour": "red", "count": 3.0, "above": 1e-300, "version": 1, "flag": false, "leaves": [{"x": -1}], "rows": {"ab": []}, "event": {"kind": "one", "n": 1, "b": true}}`, nil},
		{"not an object", `[]`, []string{`line 1, column 1 @1:1 a list, want an object`}},
		{"a field missing", `{}`, []string{`name @1:1 missing`}},
		{"fields that are not known", `{"name": "", "b": 1, "Colour": 2, "ünï": 1, "a b": 1}`, []string{
			`b @1:14 unknown field`, `Colour @1:22 unknown field, names are case-sensitive: "colour"`, `["ünï"] @1:35 unknown field`, `["a b"] @1:45 unknown field`}},
		{"wrong kinds", `{"name": 1, "colour": null, "count": "1", "above": [], "flag": 0, "leaves": {}, "rows": [], "event": true}`, []string{
			`name @1:2 a number, want a string`, `colour @1:13 null, want a string`, `count @1:29 a string, want a number`, `above @1:43 a list, want a number`,
			`flag @1:56 a number, want a true or false`, `leaves @1:67 an object, want a list`, `rows @1:81 a list, want an object`, `event @1:93 a true or false, want an object`}},
		{"texts", `{"name": "abc", "colour": "Red"}`, []string{`name @1:2 "abc" is not an even word`, `colour @1:17 "Red", want "red", "green" or "blue"`}},
		{"numbers out of bounds", `{"name": "", "count": 4, "above": 0, "version": 2}`, []string{
			`count @1:14 4, want at most 3`, `above @1:26 0, want above 0`, `version @1:38 2, want 1`}},
		{"a number below", `{"name": "", "count": 0.0}`, []string{`count @1:14 0.0, want at least 1`}},
		{"a number that is not whole", `{"name": "", "count": 1.5}`, []string{`count @1:14 1.5, want a whole number`}},
		{"a number so small that it is 0", `{"name": "", "above": 1e-400}`, []string{`above @1:14 1e-400, want above 0`}},
		{"numbers that are not finite", `{"name": "", "count": 1e999, "above": -1e309}`, []string{
			`count @1:14 1e999 is not finite as a number of 64 bits`, `above @1:30 -1e309 is not finite as a number of 64 bits`}},
		{"too few", `{"name": "", "leaves": []}`, []string{`leaves @1:14 0 entries, want at least 1`}},
		{"too many, and one of them wrong", `{"name": "", "leaves": [{"x": 1}, {}, {"x": 3}]}`, []string{`leaves @1:14 3 entries, want at most 2`, `leaves[1].x @1:35 missing`}},
		{"keys of a map", `{"name": "", "rows": {"abc": ["x"], "ab": [1, null]}}`, []string{
			`rows.abc @1:23 the key "abc" is not an even word`, `rows.abc[0] @1:31 a string, want a number`, `rows.ab[1] @1:47 null, want a number`}},
		{"a union: neither of two", `{"name": "", "event": {"kind": "one", "n": 1}}`, []string{`event @1:14 0 of the fields "a" and "b", want exactly one`}},
		{"a union: both of two", `{"name": "", "event": {"kind": "one", "n": 1, "a": true, "b": true}}`, []string{`event @1:14 2 of the fields "a" and "b", want exactly one`}},
		{"a union: a field of another kind", `{"name": "", "event": {"kind": "two", "n": 1, "a": true, "c": true}}`, []string{`event.a @1:47 unknown field of "two" event`}},
		{"a union: an unknown kind", `{"name": "", "event": {"kind": "six", "a": true}}`, []string{`event.n @1:23 missing`, `event.kind @1:24 "six", want "one" or "two"`}},
		{"a union: no kind", `{"name": "", "event": {"n": "x"}}`, []string{`event.kind @1:23 missing`, `event.n @1:24 a string, want a number`}},
		{"a union: a kind of the wrong kind", `{"name": "", "event": {"kind": 7, "n": 1}}`, []string{`event.kind @1:24 a number, want a string`}},
		{"a value that is broken is reported once", `{"name": "", "count": 01}`, []string{`count @1:14 01 is no JSON number`}},
		{"the second of two equal keys is not looked at", `{"name": "", "name": 7}`, []string{`name @1:14 key given twice in one object`}},
	} {
		t.Run(row.name, func(t *testing.T) {
			r := NewReport([]byte(row.text))
			v, ok := r.Read(wide)
			require.True(t, ok)
			Check(r, v, treeShape)
			assert.Equal(t, row.want, show(r.Defects()))
		})
	}
}

func TestAReportKeepsTheFirstDefectsInDocumentOrder(t *testing.T) {
	const n = 5000
	r := NewReport([]byte("[" + strings.Repeat("1,", n) + "1]"))
	v, ok := r.Read(wide)
	require.True(t, ok)
	var all []Value
	for _, each := range v.Items() {
		all = append(all, each)
	}
	for i := len(all) - 1; i >= 0; i-- { // found from the end backwards
		r.Add(all[i], "number %d", i)
	}
	assert.Equal(t, n+1, r.Len())
	got := r.Defects()
	require.Len(t, got.List, MaxDefects)
	for i, d := range got.List {
		require.Equal(t, Defect{Place: fmt.Sprintf("[%d]", i), Found: fmt.Sprintf("number %d", i), Line: 1, Column: 2 + 2*i}, d)
	}
	assert.Equal(t, n+1-MaxDefects, got.More)
	assert.True(t, strings.HasSuffix(got.Error(), fmt.Sprintf("\nand %d more", n+1-MaxDefects)))
	assert.Equal(t, got, r.Defects(), "asking twice changes nothing")
}

func TestPlacesQuoteWhatIsNoIdentifier(t *testing.T) {
	long := strings.Repeat("k", 100)
	text := `{"tests": [0, {"given": {"lens.dirty": [1, 2]}}], "_a1": 1, "1a": 2, "": 3, "a\"b\u202e\u0000": 4, "` + long + `": 5}`
	r := NewReport([]byte(text))
	v, ok := r.Read(wide)
	require.True(t, ok)
	var two Value
	for _, each := range v.Get("tests").Items() {
		for _, each := range each.Get("given").Get("lens.dirty").Items() {
			two = each
		}
	}
	assert.Equal(t, `tests[1].given["lens.dirty"][1]`, two.Place())
	var places []string
	for _, each := range v.Members() {
		places = append(places, each.Place())
	}
	assert.Equal(t, []string{"tests", "_a1", `["1a"]`, `[""]`, `["a\"b\u202e\x00"]`, `["` + strings.Repeat("k", 60) + `…"]`}, places)
	assert.Equal(t, "", v.Place())
}

func TestTheZeroValueIsAbsentEverywhere(t *testing.T) {
	var v Value
	assert.False(t, v.Exists())
	assert.Equal(t, Absent, v.Kind())
	assert.False(t, v.Get("a").Get("b").Exists())
	assert.Zero(t, v.Len())
	assert.Equal(t, "", v.Place()+v.Raw())
	_, ok := v.Text()
	assert.False(t, ok)
	_, ok = v.Float()
	assert.False(t, ok)
	_, ok = v.Bool()
	assert.False(t, ok)
	for range v.Items() {
		t.Fatal("an entry")
	}
	for range v.Members() {
		t.Fatal("a member")
	}
}

func TestStringsAreWrittenSoThatTheyReadBack(t *testing.T) {
	for _, s := range []string{"", "plain", "\"\\/\b\f\n\r\t\x00\x1f\x7f", "é€😀\u2028\u2029\uFEFF\u202e", "</script><!--"} {
		text := AppendString(nil, s)
		var std string
		require.NoError(t, json.Unmarshal(text, &std))
		assert.Equal(t, s, std)
		r := NewReport(text)
		v, ok := r.Read(wide)
		require.True(t, ok)
		require.Empty(t, r.Defects().List)
		got, _ := v.Text()
		assert.Equal(t, s, got)
	}
	assert.Equal(t, `"a`+"\uFFFD"+`b"`, string(AppendString(nil, "a\xffb")))
}

func TestASchemaSaysWhatAShapeSays(t *testing.T) {
	var got map[string]any
	require.NoError(t, json.Unmarshal(Schema("A tree", treeShape), &got))
	assert.Equal(t, "https://json-schema.org/draft/2020-12/schema", got["$schema"])
	assert.Equal(t, false, got["additionalProperties"])
	assert.Equal(t, []any{"name"}, got["required"])
	properties := got["properties"].(map[string]any)
	assert.Len(t, properties, len(treeShape.Fields))
	assert.Equal(t, map[string]any{"type": "string", "pattern": "^(..)*$", "description": "Its name."}, properties["name"])
	assert.Equal(t, map[string]any{"type": "integer", "minimum": 1.0, "maximum": 3.0}, properties["count"])
	assert.Equal(t, map[string]any{"type": "array", "minItems": 1.0, "maxItems": 2.0, "items": map[string]any{"$ref": "#/$defs/leaf"}}, properties["leaves"])
	defs := got["$defs"].(map[string]any)
	assert.Len(t, defs, 4)
	assert.Equal(t, []any{
		map[string]any{"required": []any{"a"}}, map[string]any{"required": []any{"b"}},
	}, defs["event-one"].(map[string]any)["oneOf"])
}
