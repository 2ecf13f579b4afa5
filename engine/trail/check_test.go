package trail

import (
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/document"
	"pitwise/engine/model"
)

// exampleModel is the example of the format's description.
func exampleModel(t testing.TB) *model.Model {
	t.Helper()
	text, err := os.ReadFile("../model/testdata/example.json")
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	return m
}

func TestTheExamplesOfTheFormatFitEachOther(t *testing.T) {
	tr, err := Load([]byte(exampleText))
	require.NoError(t, err)
	assert.NoError(t, tr.Check(exampleModel(t)))
}

func TestCheckReportsWhatTheModelDoesNotHave(t *testing.T) {
	// source: formats.md, section 4; each row by hand from the example.
	m := exampleModel(t)
	for _, row := range []struct {
		name    string
		changes []change
		want    []string
	}{
		{"a test", []change{{`"test": "first-boot"`, `"test": "second-boot"`}}, []string{`events[0].test: no test has the id "second-boot"`}},
		{"an outcome", []change{{`"outcome": "asks"`, `"outcome": "low"`}}, []string{`events[0].outcome: no outcome of the test "first-boot" has the id "low"`}},
		{"a reading of a test that takes none", []change{{`"outcome": "asks"`, `"reading": 1`}}, []string{`events[0].reading: the test "first-boot" takes no number, want an outcome`}},
		{"an outcome of a test with a reading", []change{{`"reading": 4.74`, `"outcome": "low"`}}, nil},
		{"a setup", []change{{`"setup": "open"`, `"setup": "apart"`}}, []string{`events[1].setup: no setup has the id "apart"`}},
		{"a repair", []change{{`"clean-lens"`, `"kick"`}}, []string{`events[4].repair: no repair has the id "kick"`}},
		{"a skipped test", []change{{`"kind": "skip", "test": "rail"`, `"kind": "skip", "test": "lens"`}}, []string{`events[3].test: no test has the id "lens"`}},
		{"a cause", []change{{`["lens.dirty"]`, `["lens.dirty", "lens.gone", "hub.worn"]`}}, []string{`events[7].causes[1]: no mode has the id "lens.gone"`, `events[7].causes[2]: no mode has the id "hub.worn"`}},
		{"a tool", []change{{`["multimeter"]`, `["multimeter", "scope"]`}}, []string{`terms.tools[1]: no tool has the id "scope"`}},
		{"a tool of other terms", []change{{`"version": 1`, `"version": 2`}, {`"kind": "note", "text": "..."`, `"kind": "terms", "terms": {"minute_value": 1, "currency": "EUR", "tools": ["multimeter", "scope"], "working_value": 1, "as_is_value": 1, "comeback_cost": 1}`}},
			[]string{`events[5].terms.tools[1]: no tool has the id "scope"`}},
		{"several at once, also of events that are void", []change{{`"test": "rail", "reading"`, `"test": "rain", "reading"`}, {`["multimeter"]`, `["scope"]`}, {`"clean-lens"`, `"kick"`}}, []string{
			`terms.tools[0]: no tool has the id "scope"`, `events[2].test: no test has the id "rain"`, `events[4].repair: no repair has the id "kick"`}},
	} {
		t.Run(row.name, func(t *testing.T) {
			tr, err := Load(edited(t, row.changes...))
			require.NoError(t, err)
			assert.Equal(t, row.want, defectLines(t, tr.Check(m)))
		})
	}
}

func TestCheckLooksAtTheFormOfEventsThatNoFileHeld(t *testing.T) {
	m := exampleModel(t)
	nan, x := math.NaN(), 5.0
	tr := &Trail{Events: []Event{
		{N: 1, Kind: "pause"},
		{N: 1, Kind: Note},
		{N: 3, Kind: Void, Of: 3},
		{N: 4, Kind: Void, Of: 0},
		{N: 5, Kind: Result, Test: "rail"},
		{N: 6, Kind: Result, Test: "rail", Outcome: "low", Reading: &x},
		{N: 7, Kind: Result, Test: "rail", Reading: &nan},
		{N: 8, Kind: End},
		{N: 9, Kind: NewTerms},
		{N: 10, Kind: Wait},
	}}
	assert.Equal(t, []string{
		`events[0].kind: "pause" is no kind of event`,
		`events[1].n: 1, want 2: n counts from 1 without gaps`,
		`events[2].of: 3, want an event before this one, which is 3`,
		`events[3].of: 0, want an event before this one, which is 4`,
		`events[4]: 0 of the fields "outcome" and "reading", want exactly one`,
		`events[5]: 2 of the fields "outcome" and "reading", want exactly one`,
		`events[6].reading: NaN is not finite`,
		`events[7].as: "", want "signed-off", "written-off" or "returned"`,
		`events[8].terms: missing`,
	}, defectLines(t, tr.Check(m)))

	many := &Trail{Events: make([]Event, 3000)}
	lines := defectLines(t, many.Check(m))
	require.Len(t, lines, document.MaxDefects+1)
	assert.Equal(t, "and 5000 more", lines[document.MaxDefects])
}

func TestAnEventIsVoidWhileALiveVoidNamesIt(t *testing.T) {
	void := func(of int) Event { return Event{Kind: Void, Of: of} }
	note := Event{Kind: Note}
	for _, row := range []struct {
		name   string
		events []Event
		want   []bool
	}{
		{"no events", nil, []bool{}},
		{"one void", []Event{note, void(1)}, []bool{false, true}},
		{"a void of a void gives the event back", []Event{note, void(1), void(2)}, []bool{true, false, true}},
		{"a void of a void of a void takes it again", []Event{note, void(1), void(2), void(3)}, []bool{false, true, false, true}},
		{"two voids of one event", []Event{note, void(1), void(1)}, []bool{false, true, true}},
		{"two voids of one event, one of them void", []Event{note, void(1), void(1), void(2)}, []bool{false, false, true, true}},
		{"two voids of one event, both void", []Event{note, void(1), void(1), void(2), void(3)}, []bool{true, false, false, true, true}},
		{"voids that name no earlier event do nothing", []Event{void(1), void(0), void(-3), void(9), note}, []bool{true, true, true, true, true}},
	} {
		t.Run(row.name, func(t *testing.T) {
			tr := &Trail{Events: row.events}
			assert.Equal(t, row.want, tr.Live())
		})
	}
}
