package state_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

func TestACardSumsItsUnitUp(t *testing.T) {
	m := example(t)
	of := func(events ...trail.Event) state.Card {
		for i := range events {
			events[i].N, events[i].At = i+1, "2026-03-04T10:12:0"+string(rune('0'+i))+"Z"
		}
		return state.CardOf(m, &trail.Trail{ID: "U1", Created: "2026-03-04T09:00:00Z", Unit: trail.Unit{Label: "Grey one"},
			Model: trail.ModelRef{ID: m.ID}, Terms: trail.Terms{Currency: "CHF"}, Events: events})
	}
	saw := trail.Event{Kind: trail.Result, Test: "first-boot", Outcome: "asks"}
	waits := trail.Event{Kind: trail.Wait, For: "a pick-up"}
	for _, row := range []struct {
		name   string
		events []trail.Event
		status state.Status
		waits  string
		steps  int
	}{
		{"just taken in", nil, state.StatusOpen, "", 0},
		{"under way", []trail.Event{saw}, state.StatusOpen, "", 1},
		{"waiting", []trail.Event{saw, waits}, state.StatusWaiting, "a pick-up", 1},
		{"the wait is taken back", []trail.Event{saw, waits, {Kind: trail.Void, Of: 2}}, state.StatusOpen, "", 1},
		{"ended while it waited", []trail.Event{saw, waits, {Kind: trail.End, As: trail.WrittenOff}}, state.StatusWrittenOff, "", 2},
		{"signed off", []trail.Event{saw, {Kind: trail.End, As: trail.SignedOff}}, state.StatusSignedOff, "", 2},
		{"the sign-off is taken back", []trail.Event{saw, {Kind: trail.End, As: trail.SignedOff}, {Kind: trail.Void, Of: 2}}, state.StatusOpen, "", 2},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := of(row.events...)
			assert.Equal(t, row.status, c.Status)
			assert.Equal(t, row.waits, c.Waits)
			assert.Equal(t, len(row.events), c.Events)
			assert.Equal(t, row.steps, c.Steps, "as steps are numbered")
			assert.Equal(t, "CHF", c.Currency)
			want := "2026-03-04T09:00:00Z"
			if n := len(row.events); n > 0 {
				want = row.events[n-1].At
			}
			assert.Equal(t, want, c.Changed, "the latest event, or when it was begun")
		})
	}
	t.Run("what was done, found and waited for is found in the words of every language", func(t *testing.T) {
		tray, err := catalog.Load("tray")
		require.NoError(t, err)
		c := state.CardOf(tray, &trail.Trail{Model: trail.ModelRef{ID: "tray"}, Unit: trail.Unit{Notes: "Box 4"}, Events: []trail.Event{
			{N: 1, Kind: trail.Wait, For: "Ladenriemen ersetzen"}, {N: 2, Kind: trail.Repair, Repair: "clean-lens"}, {N: 3, Kind: trail.Repair, Repair: "clean-lens"},
			{N: 4, Kind: trail.End, As: trail.SignedOff, Causes: []model.ModeID{"spindle.open"}}}})
		for lang, words := range map[string][]string{
			"en": {"tray belt", "clean the lens", "spindle", "box 4", "signed off"},
			"de": {"ladenriemen", "linse reinigen", "spindel", "box 4", "freigegeben"},
			"es": {"correa", "limpiar la lente"}, "ja": {"ベルト", "レンズ"},
		} {
			for _, word := range words {
				assert.True(t, c.Found(word, lang), "%q in %s", word, lang)
			}
			assert.False(t, c.Found("zebra", lang))
		}
		assert.Len(t, c.Said, 4, "each once")
	})
	t.Run("what is kept for searching is whole words", func(t *testing.T) {
		word := strings.Repeat("ä", 150) + "z"
		c := of(trail.Event{Kind: trail.Note, Text: strings.TrimSpace(strings.Repeat(word+" ", 400))})
		for _, kept := range strings.Fields(c.Find) {
			assert.Equal(t, word, kept)
		}
		assert.NotEmpty(t, c.Find)
	})
}
