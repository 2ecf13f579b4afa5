package trail_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/engine/trail"
)

func TestTheLastLiveTermsStand(t *testing.T) {
	terms := func(value float64) trail.Event {
		return trail.Event{Kind: trail.NewTerms, Terms: &trail.Terms{MinuteValue: value, Exchange: 2}}
	}
	void := func(of int) trail.Event { return trail.Event{Kind: trail.Void, Of: of} }
	for _, row := range []struct {
		name   string
		events []trail.Event
		want   float64
	}{
		{"none but the first", []trail.Event{{Kind: trail.Note}}, 0.5},
		{"others in their place", []trail.Event{terms(1), {Kind: trail.Note}}, 1},
		{"others again", []trail.Event{terms(1), terms(2)}, 2},
		{"those taken back", []trail.Event{terms(1), terms(2), void(2)}, 1},
		{"all taken back", []trail.Event{terms(1), void(1)}, 0.5},
		{"given back", []trail.Event{terms(1), void(1), void(2)}, 1},
	} {
		t.Run(row.name, func(t *testing.T) {
			tr := &trail.Trail{Terms: trail.Terms{MinuteValue: 0.5}, Events: row.events}
			assert.Equal(t, row.want, tr.Standing().MinuteValue)
			want := 2.0
			if row.want == 0.5 {
				want = 1
			}
			assert.Equal(t, want, tr.Standing().Rate(), "an exchange that is not given is 1")
		})
	}
}

func TestAUnitWaitsUntilTheNextLiveEventThatIsNoNote(t *testing.T) {
	wait := func(what string) trail.Event { return trail.Event{Kind: trail.Wait, For: what} }
	note, done := trail.Event{Kind: trail.Note}, trail.Event{Kind: trail.Result}
	void := func(of int) trail.Event { return trail.Event{Kind: trail.Void, Of: of} }
	for _, row := range []struct {
		name   string
		events []trail.Event
		want   string // "" if it does not wait
	}{
		{"no events", nil, ""},
		{"a wait", []trail.Event{done, wait("a lens")}, "a lens"},
		{"notes while it waits", []trail.Event{wait("a lens"), note, note}, "a lens"},
		{"a result ends it", []trail.Event{wait("a lens"), note, done}, ""},
		{"a void is no note", []trail.Event{wait("a lens"), done, void(2)}, ""},
		{"another wait", []trail.Event{wait("a lens"), wait("a belt")}, "a belt"},
		{"the wait taken back", []trail.Event{wait("a lens"), void(1)}, ""},
		{"an end ends it", []trail.Event{wait("a lens"), {Kind: trail.End}}, ""},
		{"terms end it", []trail.Event{wait("a lens"), {Kind: trail.NewTerms}}, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			e, waits := (&trail.Trail{Events: row.events}).Waiting()
			assert.Equal(t, row.want != "", waits)
			if waits {
				assert.Equal(t, row.want, e.For)
			}
		})
	}
}
