package browser_test

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/engine/trail"
)

func someTrail() *trail.Trail {
	x := 4.74
	return &trail.Trail{
		ID: "01ARYZ6S410000000000000000", Created: "2026-03-04T10:11:12Z",
		Model: trail.ModelRef{ID: "example", Revision: "1", SHA256: "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
		Unit:  trail.Unit{Label: "Grey “one” <b>", Notes: "line\nline"},
		Terms: trail.Terms{MinuteValue: 0.5, Currency: "EUR", WorkingValue: 60, AsIsValue: 10, ComebackCost: 40},
		Events: []trail.Event{
			{N: 1, At: "2026-03-04T10:12:00Z", Kind: trail.Result, Test: "first-boot", Outcome: "asks"},
			{N: 2, At: "2026-03-04T10:13:00Z", Kind: trail.Result, Test: "rail", Reading: &x},
			{N: 3, At: "2026-03-04T10:14:00Z", Kind: trail.Note, Text: "a \"note\" with \u2028 signs"},
			{N: 4, At: "2026-03-04T10:15:00Z", Kind: trail.Void, Of: 2, Reason: "slipped"},
		},
	}
}

func records(t *testing.T, tr *trail.Trail) (browser.UnitRecord, []browser.EventRecord) {
	t.Helper()
	return browser.OfUnit(tr), browser.OfEvents(tr.ID, tr.Events)
}

func TestRecordsPutTogetherAreTheTrail(t *testing.T) {
	want := someTrail()
	u, events := records(t, want)
	got, aside, err := browser.Assemble(u, events)
	require.NoError(t, err)
	assert.Empty(t, aside)
	assert.Equal(t, want, got)
	assert.Equal(t, string(want.Encode()), string(got.Encode()))
}

func TestEventsStoredOneByOneAreThoseStoredTogether(t *testing.T) {
	tr := someTrail()
	_, together := records(t, tr)
	for i := range tr.Events {
		assert.Equal(t, together[i], browser.OfEvents(tr.ID, tr.Events[i:i+1])[0])
	}
}

func TestDamageStaysWhereItIs(t *testing.T) {
	for _, row := range []struct {
		name   string
		spoil  func(events []browser.EventRecord) []browser.EventRecord
		good   int
		beside int
	}{
		{"a changed letter", func(e []browser.EventRecord) []browser.EventRecord {
			e[2].JSON = e[2].JSON[:10] + "X" + e[2].JSON[11:]
			return e
		}, 2, 2},
		{"a cut record", func(e []browser.EventRecord) []browser.EventRecord { e[1].JSON = e[1].JSON[:5]; return e }, 1, 3},
		{"a lost record", func(e []browser.EventRecord) []browser.EventRecord { return append(e[:1], e[2:]...) }, 1, 2},
		{"a record twice", func(e []browser.EventRecord) []browser.EventRecord { return append(e[:2], e[1], e[2], e[3]) }, 2, 3},
		{"a lost checksum", func(e []browser.EventRecord) []browser.EventRecord { e[0].Sum = ""; return e }, 0, 4},
		{"a record of another unit", func(e []browser.EventRecord) []browser.EventRecord { e[3].Unit = "other"; return e }, 3, 1},
		{"no record at all", func(e []browser.EventRecord) []browser.EventRecord { return nil }, 0, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			tr := someTrail()
			u, events := records(t, tr)
			got, aside, err := browser.Assemble(u, row.spoil(events))
			require.NoError(t, err)
			require.Len(t, got.Events, row.good)
			for i := range got.Events {
				assert.Equal(t, tr.Events[i], got.Events[i])
			}
			assert.Len(t, aside, row.beside)
		})
	}
	t.Run("a head that cannot be read is an error, not an empty unit", func(t *testing.T) {
		u, events := records(t, someTrail())
		u.Head = u.Head[1:]
		_, _, err := browser.Assemble(u, events)
		require.ErrorIs(t, err, browser.ErrRecord)
	})
	t.Run("an intact record that is no event ends the trail before it", func(t *testing.T) {
		u, events := records(t, someTrail())
		forged := browser.OfEvents(u.ID, []trail.Event{{N: 5, At: "2026-03-04T10:15:00Z", Kind: trail.Void, Of: 9}})
		got, aside, err := browser.Assemble(u, append(events, forged...))
		require.NoError(t, err)
		assert.Len(t, got.Events, 4)
		assert.Len(t, aside, 1)
	})
}

// TestOneUnreadableEventIsReadOverOnce: what is dropped behind an event that does not read costs
// no reading each. Work is counted in allocations.
func TestOneUnreadableEventIsReadOverOnce(t *testing.T) {
	whole := someTrail()
	whole.Events = nil
	for n := 1; n <= 1000; n++ {
		whole.Events = append(whole.Events, trail.Event{N: n, At: "2026-03-04T10:12:00Z", Kind: trail.Note, Text: "a note"})
	}
	u, events := records(t, whole)
	once := testing.AllocsPerRun(1, func() { _, _, _ = browser.Assemble(u, events) })
	for name, text := range map[string]string{
		"an unknown kind":       `{"n":501,"at":"2026-03-04T10:12:00Z","kind":"?"}`,
		"a void of what is not": `{"n":501,"at":"2026-03-04T10:12:00Z","kind":"void","of":900}`,
		"a time that is none":   `{"n":501,"at":"yesterday","kind":"note","text":"x"}`,
		"a number of another":   `{"n":77,"at":"2026-03-04T10:12:00Z","kind":"note","text":"x"}`,
		"no object":             `7`,
		"no JSON":               `{"n":501,`,
		"too deep":              strings.Repeat("[", 1000) + strings.Repeat("]", 1000),
	} {
		t.Run(name, func(t *testing.T) {
			sum := sha256.Sum256([]byte(u.ID + "\x00501\x00" + text + "\x00"))
			spoiled := slices.Clone(events)
			spoiled[500] = browser.EventRecord{Unit: u.ID, N: 501, JSON: text, Sum: hex.EncodeToString(sum[:8])}
			require.True(t, spoiled[500].Intact())
			var good, aside int
			work := testing.AllocsPerRun(1, func() {
				got, raw, err := browser.Assemble(u, spoiled)
				require.NoError(t, err)
				good, aside = len(got.Events), len(raw)
			})
			require.Equal(t, [2]int{500, 500}, [2]int{good, aside})
			assert.Less(t, work, 5*once, "the trail is read %.0f times over", work/once)
		})
	}
}

// FuzzAssemble: whatever the records hold, putting them together gives a trail up to
// some event, with the rest aside, or an error; and what is good is what was written.
func FuzzAssemble(f *testing.F) {
	tr := someTrail()
	events := browser.OfEvents(tr.ID, tr.Events)
	u := browser.OfUnit(tr)
	f.Add(1, 3, byte(120))
	f.Add(3, 0, byte(0))
	f.Fuzz(func(t *testing.T, record, at int, with byte) {
		spoiled := append([]browser.EventRecord(nil), events...)
		i := ((record % len(spoiled)) + len(spoiled)) % len(spoiled)
		text := []byte(spoiled[i].JSON)
		text[((at%len(text))+len(text))%len(text)] = with
		spoiled[i].JSON = string(text)
		got, aside, err := browser.Assemble(u, spoiled)
		require.NoError(t, err)
		require.Equal(t, len(events), len(got.Events)+len(aside))
		if spoiled[i].JSON != events[i].JSON {
			require.Equal(t, i, len(got.Events))
		}
		for k := range got.Events {
			require.Equal(t, tr.Events[k], got.Events[k])
		}
	})
}
