package trail_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/engine/trail"
)

func TestATestIsSkippedUntilItIsDone(t *testing.T) {
	m := example(t)
	rail, _ := m.Test("rail")
	skip := trail.Event{N: 1, Kind: trail.Skip, Test: "rail"}
	done := trail.Event{N: 2, Kind: trail.Result, Test: "rail", Outcome: "low"}
	for _, row := range []struct {
		name   string
		events []trail.Event
		want   bool
	}{
		{"never skipped", nil, false},
		{"skipped", []trail.Event{skip}, true},
		{"taken back", []trail.Event{skip, {N: 2, Kind: trail.Void, Of: 1}}, false},
		{"done after all", []trail.Event{skip, done}, false},
		{"done, and that taken back", []trail.Event{skip, done, {N: 3, Kind: trail.Void, Of: 2}}, true},
		{"skipped again", []trail.Event{skip, done, {N: 3, Kind: trail.Skip, Test: "rail"}}, true},
		{"another test is skipped", []trail.Event{{N: 1, Kind: trail.Skip, Test: "first-boot"}}, false},
		{"a test that the model does not have", []trail.Event{{N: 1, Kind: trail.Skip, Test: "no-such"}}, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			got := (&trail.Trail{Events: row.events}).Skipped(m)
			assert.Len(t, got, len(m.Tests))
			assert.Equal(t, row.want, got[rail.Index])
		})
	}
}
