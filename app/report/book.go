package report

import (
	"encoding/csv"
	"fmt"
	"math"
	"strings"

	"pitwise/app/state"
	"pitwise/app/words"
)

// Book is the whole bench as CSV (RFC 4180), one unit a line. Numbers have a point and no
// grouping, whatever the language; minutes are minutes, money and worth are in currency.
func Book(entries []state.Entry) string {
	var b strings.Builder
	out := csv.NewWriter(&b)
	out.UseCRLF = true
	// A strings.Builder does not fail, so neither does the writer.
	_ = out.Write([]string{"id", "label", "kind", "begun", "left", "as", "came_back", "waits_for", "minutes_by_model", "minutes_by_clock",
		"money", "worth", "currency", "found", "repairs"})
	for _, e := range entries {
		_ = out.Write([]string{cell(e.ID), cell(e.Label), cell(e.Model), cell(e.Begun), cell(e.Left), string(e.As), fmt.Sprint(e.Back), cell(e.Waits),
			hundredths(e.Minutes), hundredths(e.Clock), hundredths(e.Money), hundredths(e.Worth), cell(e.Currency),
			cell(strings.Join(e.Found, "; ")), cell(strings.Join(e.Repairs, "; "))})
	}
	out.Flush()
	return b.String()
}

// hundredths writes a number no finer than that.
func hundredths(x float64) string { return fmt.Sprint(math.Round(100*x) / 100) }

// Orders is what to order as plain text, one part a line, with the sum of what is priced, by currency.
func Orders(w *words.Words, orders []state.Order) string {
	var b strings.Builder
	sums := map[string]float64{}
	var currencies []string
	for _, o := range orders {
		line := w.Say(words.OrderLine, o.Count, PartOf(w, o))
		if o.Price > 0 {
			line = w.Say(words.OrderPriced, line, w.Money(o.Price, o.Currency))
			if _, is := sums[o.Currency]; !is {
				currencies = append(currencies, o.Currency)
			}
			sums[o.Currency] += o.Price * float64(o.Count)
		}
		b.WriteString(oneLine(w.Say(words.EventResult, line, w.List(o.For...))) + "\n")
	}
	for _, c := range currencies {
		b.WriteString(w.Say(words.OrderSum, w.Money(sums[c], c)) + "\n")
	}
	return b.String()
}

// PartOf says what an order is of: a part is named by the repair that it is for.
func PartOf(w *words.Words, o state.Order) string {
	if o.Price > 0 {
		return w.Say(words.OrderPart, o.Part)
	}
	return o.Part
}

// oneLine keeps a person's text on its line.
func oneLine(s string) string { return strings.Join(strings.Fields(Plain(s)), " ") }
