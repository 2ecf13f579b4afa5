package document

import (
	"bytes"
	"encoding/json"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const parted = `{
  "name": "a bench",
  "units": [
    {"n": 1, "text": "a } in a \"text\" [" },
    {"n": 2, "n": 3,
     "list": [1, 01]},
    7
  ]
}`

func TestPartsAreReadAloneWithTheirPlacesInTheWhole(t *testing.T) {
	limits := Limits{Bytes: 1000, Depth: 9, Values: 9, Keep: 2} // 9 values: what is passed over is not kept
	r := NewReport([]byte(parted))
	root, ok := r.Read(limits)
	require.True(t, ok)
	assert.Zero(t, r.Len(), "what is passed over is not looked at")
	name, _ := root.Get("name").Text()
	assert.Equal(t, "a bench", name)
	var parts []Value
	for _, each := range root.Get("units").Items() {
		parts = append(parts, each)
	}
	require.Len(t, parts, 3)
	assert.Equal(t, Object, parts[0].Kind())
	assert.Zero(t, parts[0].Len())

	first := parts[0].Part()
	v, ok := first.Read(limits)
	require.True(t, ok)
	text, _ := v.Get("text").Text()
	assert.Equal(t, `a } in a "text" [`, text)
	assert.Equal(t, "units[0].text", v.Get("text").Place())
	first.AddMissing(v, "id")
	assert.Equal(t, []Defect{{Place: "units[0].id", Found: "missing", Line: 4, Column: 5}}, first.Defects().List)

	second := parts[1].Part()
	_, ok = second.Read(limits)
	require.True(t, ok)
	assert.Equal(t, []Defect{
		{Place: "units[1].n", Found: "key given twice in one object", Line: 5, Column: 14},
		{Place: "units[1].list[1]", Found: "01 is no JSON number", Line: 6, Column: 18},
	}, second.Defects().List)

	third, ok := parts[2].Part().Read(limits)
	require.True(t, ok)
	assert.Equal(t, Number, third.Kind())

	small := parts[0].Part()
	_, ok = small.Read(Limits{Bytes: 10, Depth: 9, Values: 9})
	assert.False(t, ok)
	assert.Equal(t, []Defect{{Place: "units[0]", Found: "40 bytes, want at most 10", Line: 4, Column: 5}}, small.Defects().List)
}

func TestAPartThatIsLookedAtAfterAnotherHasItsOwnLines(t *testing.T) {
	r := NewReport([]byte(parted))
	root, _ := r.Read(Limits{Bytes: 1000, Depth: 9, Values: 9, Keep: 2})
	var lines []int
	for range 2 { // forwards, and back to the first
		for _, each := range root.Get("units").Items() {
			part := each.Part()
			v, _ := part.Read(Limits{Bytes: 1000, Depth: 9, Values: 100})
			part.Add(v, "looked at")
			defects := part.Defects().List
			lines = append(lines, defects[0].Line)
		}
	}
	assert.Equal(t, []int{4, 5, 7, 4, 5, 7}, lines)
}

func TestDefectsAreLocatedInAPart(t *testing.T) {
	r := NewReport([]byte(parted))
	limits := Limits{Bytes: 1000, Depth: 9, Values: 100, Keep: 2}
	root, _ := r.Read(limits)
	kind := errors.New("kind")
	for i, each := range root.Get("units").Items() {
		if i > 0 {
			break
		}
		found := each.Part().Locate(limits, Defects{Kind: kind, List: []Defect{{Place: "text", Found: "odd"}, {Found: "of all of it"}, {Place: "none", Found: "gone"}}})
		assert.Equal(t, Defects{Kind: kind, List: []Defect{
			{Place: "units[0]", Found: "of all of it", Line: 4, Column: 5},
			{Place: "units[0]", Found: "none: gone", Line: 4, Column: 5},
			{Place: "units[0].text", Found: "odd", Line: 4, Column: 14},
		}}, found)
	}
}

func TestWhatIsPassedOverMustEnd(t *testing.T) {
	for _, text := range []string{`{"a": [{"b": 1`, `{"a": [[[`, `{"a": [{"b": "}]}`, `{"a": [{"b": "\`} {
		r := NewReport([]byte(text))
		_, ok := r.Read(Limits{Bytes: 1000, Depth: 9, Values: 100, Keep: 2})
		assert.False(t, ok, text)
		require.Equal(t, 1, r.Len(), text)
		assert.Contains(t, r.Defects().List[0].Found, "that does not end", text)
		assert.Equal(t, 8, r.Defects().List[0].Column, text)
	}
}

// encoding/json is the second reading.
func FuzzCompact(f *testing.F) {
	f.Add([]byte(parted))
	f.Add([]byte(`["\\", "\"", " \\\" ",  1 , {} ]`))
	f.Fuzz(func(t *testing.T, text []byte) {
		var want bytes.Buffer
		got := AppendCompact([]byte("head"), text)
		if json.Compact(&want, text) == nil {
			assert.Equal(t, "head"+want.String(), string(got))
		}
	})
}

func FuzzParts(f *testing.F) {
	f.Add([]byte(parted))
	f.Fuzz(func(t *testing.T, text []byte) {
		limits := Limits{Bytes: 10000, Depth: 20, Values: 1000}
		whole := NewReport(text)
		if root, ok := whole.Read(limits); !ok || root.Kind() != Object || whole.Len() > 0 {
			return
		}
		outer := limits
		outer.Keep = 1
		r := NewReport(text)
		root, ok := r.Read(outer)
		require.True(t, ok, "a sound text has sound outer levels")
		require.Zero(t, r.Len())
		at, _ := whole.Read(limits)
		for key, v := range root.Members() {
			part := v.Part()
			inner, ok := part.Read(limits)
			require.True(t, ok)
			require.Zero(t, part.Len())
			require.Equal(t, at.Get(key).Raw(), inner.Raw())
		}
	})
}
