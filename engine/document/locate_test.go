package document

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
)

var errLetter = errors.New("letter: not valid")

func TestPlacesAreFoundInTheText(t *testing.T) {
	text := []byte("{\n \"events\": [\n  {\"n\": 1},\n  {\"n\": 2, \"causes\": [\"a\", \"b\"]}\n ],\n \"terms\": {}\n}")
	got := Located(text, wide, Defects{Kind: errLetter, More: 2, List: []Defect{
		{Place: "terms", Found: "third"},
		{Place: "events[1].causes[1]", Found: "second"},
		{Place: "events[0].n", Found: "first"},
		{Place: "events[7].n", Found: "no such event"},
		{Place: "events[x", Found: "no such place"},
		{Found: "of the whole file"},
	}})
	assert.Equal(t, Defects{Kind: errLetter, More: 2, List: []Defect{
		{Place: "events[0].n", Found: "first", Line: 3, Column: 4},
		{Place: "events[1].causes[1]", Found: "second", Line: 4, Column: 28},
		{Place: "terms", Found: "third", Line: 6, Column: 2},
		{Place: "events[7].n", Found: "no such event"},
		{Place: "events[x", Found: "no such place"},
		{Found: "of the whole file"},
	}}, got)
	broken := Defects{List: []Defect{{Place: "events", Found: "x"}}}
	assert.Equal(t, broken, Located([]byte("{"), wide, broken), "a text that cannot be read has no places")
}
