package document

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var wide = Limits{Bytes: 1 << 20, Depth: 64, Values: 1 << 18}

// show writes defects as "place @line:column found".
func show(defects Defects) []string {
	var all []string
	for _, d := range defects.List {
		if d.Place == "" && d.Line > 0 {
			d.Place = fmt.Sprintf("line %d, column %d", d.Line, d.Column)
		}
		all = append(all, fmt.Sprintf("%s @%d:%d %s", d.Place, d.Line, d.Column, d.Found))
	}
	return all
}

func TestReadReportsWhatIsNotJSON(t *testing.T) {
	// source: RFC 8259 (JSON), sections 2 to 8; places counted by hand.
	for _, row := range []struct {
		name, text string
		ok         bool // whether it can be read on
		want       []string
	}{
		{"an empty file", "", false, []string{` @0:0 empty, want a JSON object`}},
		{"only white space", " \n\t\r ", false, []string{` @0:0 empty, want a JSON object`}},
		{"a byte order mark", "\uFEFF{}", false, []string{`line 1, column 1 @1:1 a byte order mark, want a value`}},
		{"a comment", "{\n // no\n}", false, []string{`line 2, column 2 @2:2 "/", want a key in double quotes`}},
		{"single quotes", "{'a': 1}", false, []string{`line 1, column 2 @1:2 "'", want a key in double quotes`}},
		{"a key without quotes", "{a: 1}", false, []string{`line 1, column 2 @1:2 "a", want a key in double quotes`}},
		{"a missing colon", `{"a" 1}`, false, []string{`line 1, column 6 @1:6 "1", want ":"`}},
		{"a missing comma in an object", "{\"a\": 1\n \"b\": 2}", false, []string{`line 2, column 2 @2:2 "\"", want "," or "}"`}},
		{"a missing comma in a list", "[1 2]", false, []string{`line 1, column 4 @1:4 "2", want "," or "]"`}},
		{"a missing value", `{"a": }`, false, []string{`line 1, column 7 @1:7 "}", want a value`}},
		{"two commas", `[1,,2]`, false, []string{`line 1, column 4 @1:4 ",", want a value`}},
		{"an object that does not end", `{"a": 1`, false, []string{`line 1, column 8 @1:8 the end of the file, want "," or "}"`}},
		{"a list that does not end", `[1`, false, []string{`line 1, column 3 @1:3 the end of the file, want "," or "]"`}},
		{"a string that does not end", `["ab`, false, []string{`line 1, column 2 @1:2 a string that does not end`}},
		{"a key that does not end", `{"ab`, false, []string{`line 1, column 2 @1:2 a string that does not end`}},
		{"a string that ends in a backslash", `["ab\`, false, []string{`line 1, column 2 @1:2 a string that does not end`}},
		{"a stray byte", "[\xff]", false, []string{`line 1, column 2 @1:2 the byte 0xff, want a value`}},
		{"brackets that do not match", `{"a": [1}`, false, []string{`line 1, column 9 @1:9 "}", want "," or "]"`}},
		{"a column after characters of several bytes", `{"ä€😀": ?}`, false, []string{`line 1, column 9 @1:9 "?", want a value`}},

		{"a comma too many in an object", `{"a": 1,}`, true, []string{`line 1, column 8 @1:8 "," before "}"`}},
		{"a comma too many in a list", "[1,\n2\n,\n]", true, []string{`line 3, column 1 @3:1 "," before "]"`}},
		{"data after the end", "{} {}", true, []string{`line 1, column 4 @1:4 "{" after the end of the document`}},
		{"words of other languages", `[NaN, Infinity, undefined, True, nul]`, true, []string{
			`[0] @1:2 NaN is no JSON value`, `[1] @1:7 Infinity is no JSON value`, `[2] @1:17 undefined is no JSON value`,
			`[3] @1:28 True is no JSON value`, `[4] @1:34 nul is no JSON value`}},
		{"numbers of other languages", `[01, +1, .5, 1., 1e, 1e+, 0x10, -, --1, 1_000, 1.2.3, -Infinity]`, true, []string{
			`[0] @1:2 01 is no JSON number`, `[1] @1:6 +1 is no JSON number`, `[2] @1:10 .5 is no JSON number`, `[3] @1:14 1. is no JSON number`,
			`[4] @1:18 1e is no JSON number`, `[5] @1:22 1e+ is no JSON number`, `[6] @1:27 0x10 is no JSON number`, `[7] @1:33 - is no JSON number`,
			`[8] @1:36 --1 is no JSON number`, `[9] @1:41 1_000 is no JSON number`, `[10] @1:48 1.2.3 is no JSON number`, `[11] @1:55 -Infinity is no JSON number`}},
		{"a key given twice", `{"a": 1, "b": {"c": 1, "c": 2}, "a": 3}`, true, []string{
			`b.c @1:24 key given twice in one object`, `a @1:33 key given twice in one object`}},
		{"a key given twice in two spellings", `{"a": 1, "\u0061": 3}`, true, []string{`a @1:10 key given twice in one object`}},
		{"a key given three times among many", `{"a":1,"b":1,"c":1,"d":1,"e":1,"f":1,"g":1,"h":1,"i":1,"a":1,"a":1}`, true, []string{
			`a @1:56 key given twice in one object`, `a @1:62 key given twice in one object`}},
		{"bytes that are not UTF-8 in a string", "{\"a\": [\"x\xffy\xfe\", \"\xc3\"], \"\xed\xa0\x80\": 1}", true, []string{
			`a[0] @1:8 byte 0xff in a string is not UTF-8`, `a[1] @1:16 byte 0xc3 in a string is not UTF-8`,
			"[\"\uFFFD\"] @1:22 byte 0xed in a string is not UTF-8"}},
		{"an overlong form", "[\"\xc0\xaf\"]", true, []string{`[0] @1:2 byte 0xc0 in a string is not UTF-8`}},
		{"half a surrogate pair", `["\ud800", "\udc00\ud800", "\ud83d\ude00", "\ud83dx", "\ud83d\u0041"]`, true, []string{
			`[0] @1:2 \ud800 in a string is half a surrogate pair`, `[1] @1:12 \udc00 in a string is half a surrogate pair`,
			`[3] @1:44 \ud83d in a string is half a surrogate pair`, `[4] @1:55 \ud83d in a string is half a surrogate pair`}},
		{"escapes that are none", `["\x41", "\u12g4", "\u12"]`, true, []string{
			`[0] @1:2 "\\" before a character that cannot be escaped in a string`, `[1] @1:10 \u in a string without four hexadecimal digits`,
			`[2] @1:20 \u in a string without four hexadecimal digits`}},
		{"control characters in a string", "[\"a\tb\", \"a\x00b\nc\"]", true, []string{
			`[0] @1:2 control character U+0009 in a string, want it escaped`, `[1] @1:9 control character U+0000 in a string, want it escaped`}},
		{"a defect in a key, before the end of the text", "{\"a\x01", false, []string{
			`["a\x01"] @1:2 control character U+0001 in a string, want it escaped`, `line 1, column 2 @1:2 a string that does not end`}},
		{"defects before one that stops", `{"a": 01, "b": [1,], "c" }`, false, []string{
			`a @1:2 01 is no JSON number`, `line 1, column 18 @1:18 "," before "]"`, `line 1, column 26 @1:26 "}", want ":"`}},
		{"a line that ends in CR LF", "{\r\n\"a\": 01}", true, []string{`a @2:1 01 is no JSON number`}},
	} {
		t.Run(row.name, func(t *testing.T) {
			r := NewReport([]byte(row.text))
			_, ok := r.Read(wide)
			assert.Equal(t, row.ok, ok)
			got := show(r.Defects())
			assert.Equal(t, row.want, got)
		})
	}
}

func TestReadTakesWhatEncodingJSONTakes(t *testing.T) {
	// source: the Go standard library's encoding/json as a second reader.
	for _, text := range []string{
		`{}`, `[]`, `null`, `true`, `false`, `0`, `-0`, `1.5e-7`, `"x"`, ` { } `, `[[],{}]`,
		`{"a":{"b":[1,2,{"c":null}]},"d":"\u00e9\n\t\"\\\/\b\f\r"}`, `"\ud83d\ude00"`, "\"é😀\"", `{"":1}`,
		`[1E5, 1e+05, 0.0, -0.0e0, 123456789012345678901234567890]`,
	} {
		r := NewReport([]byte(text))
		v, ok := r.Read(wide)
		require.True(t, ok, text)
		require.Empty(t, r.Defects().List, text)
		var want any
		require.NoError(t, json.Unmarshal([]byte(text), &want))
		assert.Equal(t, want, plainly(v), text)
	}
}

// plainly turns a value into what encoding/json makes of it.
func plainly(v Value) any {
	switch v.Kind() {
	case Bool:
		b, _ := v.Bool()
		return b
	case Number:
		x, _ := v.Float()
		return x
	case String:
		s, _ := v.Text()
		return s
	case List:
		all := []any{}
		for _, each := range v.Items() {
			all = append(all, plainly(each))
		}
		return all
	case Object:
		all := map[string]any{}
		for key, each := range v.Members() {
			all[key] = plainly(each)
		}
		return all
	}
	return nil
}

func TestLimitsStopReading(t *testing.T) {
	read := func(text string, l Limits) []string {
		r := NewReport([]byte(text))
		_, ok := r.Read(l)
		assert.False(t, ok)
		return show(r.Defects())
	}
	assert.Equal(t, []string{" @0:0 6 bytes, want at most 5"}, read("[1,23]", Limits{Bytes: 5, Depth: 9, Values: 9}))
	assert.Equal(t, []string{"line 1, column 4 @1:4 more than 3 lists and objects inside each other"}, read("[[[[]]]]", Limits{Bytes: 99, Depth: 3, Values: 9}))
	assert.Equal(t, []string{"line 1, column 6 @1:6 more than 3 values"}, read("[1,2,3]", Limits{Bytes: 99, Depth: 3, Values: 3}))
	assert.Equal(t, []string{"line 1, column 5 @1:5 more than 4 lists and objects inside each other"}, read(strings.Repeat(`[`, 1<<20), Limits{Bytes: 1 << 21, Depth: 4, Values: 9}))

	r := NewReport([]byte("[[[]]]"))
	_, ok := r.Read(Limits{Bytes: 6, Depth: 3, Values: 3})
	assert.True(t, ok, "a text just at each limit passes")
	assert.Empty(t, r.Defects().List)
}

func TestReadingTakesLinearTime(t *testing.T) {
	// Each text is a known way to make a reader quadratic. A quadratic one
	// would take hours here, so the bound need not be sharp.
	const n = 200_000
	keys := func(format string) string {
		var b strings.Builder
		b.WriteString("{")
		for i := range n {
			if i > 0 {
				b.WriteString(",")
			}
			fmt.Fprintf(&b, format, i)
		}
		return b.String() + "}"
	}
	for name, text := range map[string]string{
		"one key over and over":   "{" + strings.Repeat(`"a":1,`, n) + `"a":1}`,
		"many keys":               keys(`"k%d":1`),
		"a defect in each member": keys(`"k%d":01`),
		"defects deep in a list":  "[" + strings.Repeat("01,", n) + "1]",
		"one long string":         `["` + strings.Repeat(`\ud800`, n) + `"]`,
		"one long number":         "[" + strings.Repeat("1", n) + "]",
		"one long word":           "[" + strings.Repeat("a", n) + "]",
		"one long key, nested":    strings.Repeat(`{"`+strings.Repeat("k", n/64)+`":`, 60) + "01" + strings.Repeat("}", 60),
		"many lines":              strings.Repeat("\n", n) + "[" + strings.Repeat("01,\n", n) + "1]",
	} {
		t.Run(name, func(t *testing.T) {
			begin := time.Now()
			r := NewReport([]byte(text))
			v, _ := r.Read(Limits{Bytes: 1 << 24, Depth: 64, Values: 1 << 21})
			Check(r, v, &Record{Name: "x"})
			defects := r.Defects()
			assert.LessOrEqual(t, len(defects.List), MaxDefects)
			size := 0
			for _, d := range defects.List {
				size += len(d.Place) + len(d.Found)
			}
			assert.Less(t, size, 8<<20, "messages stay small")
			assert.Less(t, time.Since(begin), 20*time.Second)
		})
	}
}

func FuzzDocument(f *testing.F) {
	for _, seed := range []string{
		`{"a": [1, 2.5e3, "x\u00e9", null, true], "b": {"a": -0}}`, `{"a": 1, "a": 2}`, `["\ud83d\ude00", "\ud800"]`, `[1,]`, `{"a" 1}`,
		"[\"\xff\"]", `{"`, `{"\`, `{"\u`, `[01, NaN]`, strings.Repeat("[", 70), "\uFEFF{}", `{} x`, "{\"\x01", "[\"\\\xff\"]",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		r := NewReport(text)
		v, ok := r.Read(Limits{Bytes: 1 << 16, Depth: 64, Values: 1 << 12})
		defects := r.Defects()
		if !ok {
			require.NotEmpty(t, defects.List)
			return
		}
		for _, d := range defects.List {
			require.True(t, utf8.ValidString(d.Place+d.Found))
			require.Positive(t, d.Line)
		}
		got := plainly(v)
		if defects.Len() > 0 {
			return
		}
		// What passes here passes in the standard library, with the same
		// values.
		require.True(t, json.Valid(text))
		var want any
		if json.Unmarshal(text, &want) == nil { // it refuses 1e999
			require.Equal(t, want, got)
		}
	})
}
