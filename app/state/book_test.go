package state_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

func TestMinutesByTheClockLeaveBreaksOut(t *testing.T) {
	at := func(times ...string) *trail.Trail {
		t := &trail.Trail{Created: "2026-03-04T10:00:00Z"}
		for i, x := range times {
			t.Events = append(t.Events, trail.Event{N: i + 1, At: x, Kind: trail.Note, Text: "x"})
		}
		return t
	}
	for _, row := range []struct {
		name string
		t    *trail.Trail
		want float64
	}{
		{"nothing was recorded", at(), 0},
		{"five and ten minutes", at("2026-03-04T10:05:00Z", "2026-03-04T10:15:00Z"), 15},
		{"supper is a break", at("2026-03-04T10:05:00Z", "2026-03-04T11:05:00Z", "2026-03-04T11:06:30Z"), 6.5},
		{"half an hour is one too", at("2026-03-04T10:30:00Z"), 0},
		{"the next day", at("2026-03-04T10:05:00Z", "2026-03-05T10:05:00Z"), 5},
		{"another zone is the same time", at("2026-03-04T11:05:00+01:00", "2026-03-04T10:07:00Z"), 7},
		{"a clock that was put back", at("2026-03-04T10:05:00Z", "2026-03-04T09:00:00Z", "2026-03-04T09:02:00Z"), 7},
		{"a time that does not read", at("2026-03-04T10:05:00Z", "soon", "2026-03-04T10:06:00Z"), 6},
	} {
		t.Run(row.name, func(t *testing.T) { assert.InDelta(t, row.want, state.ClockOf(row.t), 1e-9) })
	}
}

func TestWhatAUnitComesToInTheBook(t *testing.T) {
	m := second(t)
	tr := &trail.Trail{ID: "U1", Created: "2026-03-04T10:00:00Z", Unit: trail.Unit{Label: "Grey one"},
		Terms: trail.Terms{Currency: "JPY", Exchange: 150, WorkingValue: 8000, AsIsValue: 1000},
		Events: []trail.Event{
			{N: 1, At: "2026-03-04T10:01:00Z", Kind: trail.Setup, Setup: "open"},
			{N: 2, At: "2026-03-04T10:10:00Z", Kind: trail.Repair, Repair: "swap-supply"},
			{N: 3, At: "2026-03-04T10:12:00Z", Kind: trail.Repair, Repair: "swap-supply"},
			{N: 4, At: "2026-03-04T10:13:00Z", Kind: trail.Wait, For: " fit another supply "},
		}}
	e := state.EntryOf(m, tr)
	// By hand: 6 to take the cover off, twice 25; twice 12 of the model's money at 150.
	assert.Equal(t, 56.0, e.Minutes)
	assert.Equal(t, 13.0, e.Clock)
	assert.Equal(t, 3600.0, e.Money)
	assert.Equal(t, []string{"Fit another supply"}, e.Repairs)
	assert.Equal(t, 1800.0, e.Price, "what waits for a repair of the model waits for its part")
	assert.Zero(t, e.Worth, "it is on the bench")
	tr.Events = append(tr.Events, trail.Event{N: 5, At: "2026-04-01T09:00:00Z", Kind: trail.End, As: trail.SignedOff, Causes: []model.ModeID{"supply.low"}})
	e = state.EntryOf(m, tr)
	assert.Equal(t, 8000.0, e.Worth)
	assert.Equal(t, []string{"Drive supply: Motor supply sags"}, e.Found)
	assert.Equal(t, "2026-04", e.Month(), "the month it left")
	assert.Empty(t, e.Waits)
	tr.Events = append(tr.Events, trail.Event{N: 6, At: "2026-05-01T09:00:00Z", Kind: trail.Setup, Setup: "open"})
	e = state.EntryOf(m, tr)
	assert.True(t, e.Back)
	assert.Empty(t, e.As)
	assert.Equal(t, "2026-03", e.Month())
	tr.Events = append(tr.Events, trail.Event{N: 7, At: "2026-05-02T09:00:00Z", Kind: trail.End, As: trail.WrittenOff})
	e = state.EntryOf(m, tr)
	assert.True(t, e.Back, "that it had come back stays so")
	assert.Equal(t, 1000.0, e.Worth)
	e = state.EntryOf(nil, tr)
	assert.Equal(t, []string{"swap-supply"}, e.Repairs, "without its model by ids")
}

var book = []state.Entry{
	{ID: "A", Label: "Grey", Model: "Tray", Begun: "2026-03-01T09:00:00Z", Left: "2026-03-02T09:00:00Z", As: trail.SignedOff, Minutes: 30, Clock: 40, Money: 5, Worth: 80, Currency: "EUR", Found: []string{"Belt"}, Repairs: []string{"New belt"}},
	{ID: "B", Label: "Black", Model: "Tray", Begun: "2026-03-01T09:00:00Z", Left: "2026-04-02T09:00:00Z", As: trail.SignedOff, Back: true, Minutes: 20, Clock: 20, Money: 5, Worth: 80, Currency: "EUR", Found: []string{"Belt", "Lens"}, Repairs: []string{"New belt", "Clean"}},
	{ID: "C", Label: "White", Model: "Slot", Begun: "2026-03-03T09:00:00Z", Left: "2026-03-04T09:00:00Z", As: trail.WrittenOff, Minutes: 10, Money: 1, Worth: 10, Currency: "USD", Repairs: []string{"Clean"}},
	{ID: "D", Label: "Red", Model: "Slot", Begun: "2026-03-05T09:00:00Z", Waits: "New belt", Price: 2.5, Minutes: 7, Currency: "EUR", Repairs: []string{"Clean"}},
	{ID: "E", Label: "Blue", Model: "Slot", Begun: "2026-03-05T09:00:00Z", Waits: "new belt ", Price: 2.5, Currency: "EUR"},
	{ID: "F", Label: "Tin", Model: "Slot", Begun: "2026-03-05T09:00:00Z", Waits: "a lens", Currency: "EUR"},
	{ID: state.SampleID, Label: "Sample", Model: "Tray", As: trail.SignedOff, Worth: 1000, Currency: "EUR", Found: []string{"Belt"}, Repairs: []string{"Clean"}},
}

func TestTotalsFaultsAndWhatHeld(t *testing.T) {
	byKind := state.Totals(book, func(e state.Entry) string { return e.Model })
	require.Len(t, byKind, 3, "one line for each kind and currency, without the sample")
	assert.Equal(t, state.Total{Key: "Slot", Currency: "EUR", Units: 3, Open: 3, Minutes: 7}, byKind[0])
	assert.Equal(t, state.Total{Key: "Slot", Currency: "USD", Units: 1, WrittenOff: 1, Minutes: 10, Money: 1, Worth: 10}, byKind[1])
	assert.Equal(t, state.Total{Key: "Tray", Currency: "EUR", Units: 2, SignedOff: 2, Back: 1, Minutes: 50, Clock: 60, Money: 10, Worth: 160}, byKind[2])
	byMonth := state.Totals(book, state.Entry.Month)
	assert.Equal(t, []string{"2026-03", "2026-03", "2026-04"}, []string{byMonth[0].Key, byMonth[1].Key, byMonth[2].Key})
	assert.Equal(t, 4, byMonth[0].Units)
	keys := func(by state.BookBy) (keys []string) {
		for _, t := range by.Sums(book) {
			keys = append(keys, t.Key)
		}
		return keys
	}
	assert.Equal(t, []string{"Slot", "Slot", "Tray"}, keys(state.ByKind))
	assert.Equal(t, []string{"2026-04", "2026-03", "2026-03"}, keys(state.ByMonth), "the latest first")
	assert.Equal(t, []string{"F", "E", "D", "C", "B", "A"}, keys(state.ByUnit), "the latest first")
	assert.Equal(t, []state.Tally{{Name: "Belt", N: 2, Held: 1}, {Name: "Lens", N: 1}}, state.Faults(book))
	assert.Equal(t, []state.Tally{{Name: "Clean", N: 2}, {Name: "New belt", N: 2, Held: 1}}, state.Repairs(book), "of units that left; one came back")
}

func TestWhatToOrder(t *testing.T) {
	assert.Equal(t, []state.Order{
		{Part: "a lens", Count: 1, Currency: "EUR", For: []string{"Tin"}},
		{Part: "New belt", Count: 2, Price: 2.5, Currency: "EUR", For: []string{"Red", "Blue"}},
	}, state.Orders(book))
	assert.Empty(t, state.Orders(nil))
	assert.Empty(t, state.Orders([]state.Entry{{Label: "Red", Waits: "die besitzer"}}), "nobody orders an owner")
}

func TestAPartKeepsItsPriceInEveryLanguage(t *testing.T) {
	m, err := catalog.Load("tray")
	require.NoError(t, err)
	terms := trail.Terms{Currency: "JPY", Exchange: 160}
	waiting := func(label string, wait string, lang string) state.Entry {
		return state.EntryOf(catalog.Speak(m, lang), &trail.Trail{ID: label, Unit: trail.Unit{Label: label}, Terms: terms, Events: []trail.Event{{N: 1, Kind: trail.Wait, For: wait}}})
	}
	for _, lang := range []string{"en", "de", "ja"} {
		belt, _ := catalog.Speak(m, lang).Repair("replace-belt")
		orders := state.Orders([]state.Entry{waiting("Red", "Replace the tray belt", lang), waiting("Blue", "ladenriemen ersetzen", lang)})
		assert.Equal(t, []state.Order{{Part: belt.Title, Count: 2, Price: 160 * belt.Money, Currency: "JPY", For: []string{"Red", "Blue"}}}, orders, "one line, in the words of now")
	}
}

func TestTheBookIsReadAndTakenAway(t *testing.T) {
	s, effects := state.Update(ready(), state.Navigated{Path: "/book"})
	assert.Contains(t, effects, state.ReadBook{Lang: "en"})
	assert.Equal(t, "/book", s.Route.Path())
	s, _ = state.Update(s, state.BookRead{Entries: book, Done: 7, All: 9})
	assert.Equal(t, []int{7, 9}, []int{s.BookDone, s.BookAll})
	s, _ = state.Update(s, state.AddUpBy{By: state.ByMonth})
	assert.Equal(t, state.ByMonth, s.BookBy)
	_, effects = state.Update(s, state.TakeBook{Form: state.FormOrders, Way: state.WayShare})
	assert.Equal(t, []state.Effect{state.TakeBook{Form: state.FormOrders, Way: state.WayShare, Entries: book, Lang: "en"}}, effects)
}
