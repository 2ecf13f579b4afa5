package report_test

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/report"
	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/trail"
)

func TestTheBookIsOneLineAUnit(t *testing.T) {
	text := report.Book([]state.Entry{
		{ID: "U1", Label: "Grey, \"one\"", Model: "Tray", As: trail.SignedOff, Minutes: 12.5, Clock: 2.0 / 3, Money: 0.2, Currency: "EUR", Found: []string{"Lens: Dirty", "Lid: Bent"}},
		{ID: "U2", Label: "=1+1", Waits: "@belt"},
	})
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 3)
	at := map[string]int{}
	for i, name := range rows[0] {
		at[name] = i
	}
	assert.Equal(t, "Grey, \"one\"", rows[1][at["label"]])
	assert.Equal(t, "12.5", rows[1][at["minutes_by_model"]])
	assert.Equal(t, "0.67", rows[1][at["minutes_by_clock"]], "no finer than anybody wants to read")
	assert.Equal(t, "Lens: Dirty; Lid: Bent", rows[1][at["found"]])
	assert.Equal(t, "'=1+1", rows[2][at["label"]], "no text becomes a formula")
	assert.Equal(t, "'@belt", rows[2][at["waits_for"]])
}

func TestOrdersAreTextToShare(t *testing.T) {
	text := report.Orders(words.In("en"), []state.Order{
		{Part: "Replace the tray belt", Count: 2, Price: 2.5, Currency: "EUR", For: []string{"Grey", "Black"}},
		{Part: "a\nlens", Count: 1, Currency: "EUR", For: []string{"White"}},
		{Part: "Replace the gear", Count: 1, Price: 800, Currency: "JPY", For: []string{"Red"}},
	})
	assert.Equal(t, []string{
		"2 × part for: Replace the tray belt (€2.50 each): Grey and Black", "1 × a lens: White", "1 × part for: Replace the gear (¥800 each): Red", "Together about €5.00", "Together about ¥800", "",
	}, strings.Split(text, "\n"))
}

func TestABuyerReadsPlainWords(t *testing.T) {
	m, tr, a := told(t)
	tr.Unit.Notes = "Paid 12 for it."
	u := report.Unit{Model: m, Trail: tr, Account: a}
	for _, l := range words.Languages() {
		text := report.Buyer(words.In(l.ID), u)
		assert.NotRegexp(t, `%|deciban|€|EUR`, text, "no odds and no money, in %s", l.Name)
		assert.NotContains(t, text, tr.Unit.Notes, l.Name)
	}
	text := report.Buyer(words.In("en"), u)
	for _, want := range []string{
		"# " + tr.Unit.Label, "## How it came in", "Switch on with the owner's disc: Asks for a disc", "Lens: Film or dust on the lens", "Repaired: Clean the lens",
		"It was not tried after the last work on it.", "mains",
	} {
		assert.Contains(t, text, want)
	}
	tr.Events[6] = trail.Event{N: 7, At: "2026-03-04T10:18:00Z", Kind: trail.Result, Test: "first-boot", Outcome: "boots"}
	assert.Contains(t, report.Buyer(words.In("en"), u), "Switch on with the owner's disc: good 1 of 1 times")
	was, outcome := tr.Events[6], m.Tests[1].Outcomes[0].ID
	m.Tests[1].Outcomes[0].ID = "boots" // a test with the cover off by which it starts
	tr.Events[6] = trail.Event{N: 7, At: "2026-03-04T10:18:00Z", Kind: trail.Result, Test: "rail", Outcome: "boots"}
	assert.Contains(t, report.Buyer(words.In("en"), u), "Motor supply at the connector: good 1 of 1 times")
	assert.NotContains(t, report.Buyer(words.In("en"), u), "not tried")
	tr.Events[6], m.Tests[1].Outcomes[0].ID = was, outcome

	tr.Unit.Label = "<script>alert(1)</script>"
	page := report.BuyerPage(words.In("en"), u, []report.Photo{{At: "2026-03-04T10:18:00Z", Caption: `"><script>alert(2)</script>`, JPEG: "\xff\xd8"}})
	assert.NotContains(t, page, "<script")
	for _, want := range []string{"<h2>How it came in</h2>", "Repaired: Clean the lens</li>", `src="data:image/jpeg;base64,/9g="`, "<figcaption>&quot;&gt;"} {
		assert.Contains(t, page, want)
	}
	assert.NotContains(t, page, "owner's disc: Boots</li>\n</ul>\n<h2>What was found", "a run after the repair is not how it came in")
	assert.NotPanics(t, func() { report.Buyer(words.In("en"), report.Unit{Trail: tr}) }, "without its model")
}
