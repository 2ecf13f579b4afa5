package report

import (
	"encoding/csv"
	"fmt"
	"strings"

	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// Steps is the trail as CSV (RFC 4180), one event a line, with the odds after it.
// Numbers have a point and no grouping, whatever the language.
func Steps(w *words.Words, m *model.Model, t *trail.Trail, a *trail.Account) string {
	var b strings.Builder
	out := csv.NewWriter(&b)
	out.UseCRLF = true
	// A strings.Builder does not fail, so neither does the writer.
	_ = out.Write([]string{"n", "at", "kind", "live", "step", "result", "reading", "sound", "leading", "leading_probability"})
	live := t.Live()
	for i, e := range t.Events {
		step, seen := w.Told(m, t, e)
		cells := []string{fmt.Sprint(e.N), e.At, string(e.Kind), fmt.Sprint(live[i]), step, seen, "", "", "", ""}
		if e.Reading != nil {
			cells[6] = fmt.Sprint(*e.Reading)
		}
		if a != nil && m != nil && i+1 < len(a.Lines) {
			o := a.Lines[i+1].Odds
			best := 0
			for j, p := range o.Modes {
				if p > o.Modes[best] {
					best = j
				}
			}
			cells[7] = fmt.Sprint(o.Sound)
			cells[8] = string(m.Modes[best].ID)
			cells[9] = fmt.Sprint(o.Modes[best])
		}
		for j := range cells {
			if j == 6 || j == 7 || j == 9 {
				continue // our own numbers
			}
			cells[j] = cell(cells[j])
		}
		_ = out.Write(cells)
	}
	out.Flush()
	return b.String()
}

// cell makes text mean itself in a spreadsheet: one that begins like a formula
// gets an apostrophe in front.
func cell(s string) string {
	s = strings.ReplaceAll(Plain(s), "\t", " ")
	if trimmed := strings.TrimLeft(s, " \n\r"); trimmed != "" && strings.ContainsRune("=+-@|％＝＋－＠", []rune(trimmed)[0]) {
		return "'" + s
	}
	return s
}
