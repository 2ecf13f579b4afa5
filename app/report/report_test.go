package report_test

import (
	"encoding/csv"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/report"
	"pitwise/app/words"
	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

func example(t testing.TB) *model.Model {
	t.Helper()
	text, err := os.ReadFile("../../engine/model/testdata/example.json")
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	return m
}

func told(t testing.TB) (*model.Model, *trail.Trail, *trail.Account) {
	t.Helper()
	m := example(t)
	x := 4.7
	tr := &trail.Trail{
		ID: "U1", Created: "2026-03-04T10:11:12Z",
		Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Unit:  trail.Unit{Label: "Grey one, shelf 3"}, Terms: trail.Terms{Currency: "EUR", Tools: []model.ToolID{"multimeter"}},
		Events: []trail.Event{
			{N: 1, At: "2026-03-04T10:12:00Z", Kind: trail.Result, Test: "first-boot", Outcome: "asks"},
			{N: 2, At: "2026-03-04T10:13:00Z", Kind: trail.Setup, Setup: "open"},
			{N: 3, At: "2026-03-04T10:14:00Z", Kind: trail.Result, Test: "rail", Reading: &x},
			{N: 4, At: "2026-03-04T10:15:00Z", Kind: trail.Void, Of: 3, Reason: "slipped"},
			{N: 5, At: "2026-03-04T10:16:00Z", Kind: trail.Repair, Repair: "clean-lens"},
			{N: 6, At: "2026-03-04T10:17:00Z", Kind: trail.Skip, Test: "rail", Reason: "no meter"},
			{N: 7, At: "2026-03-04T10:18:00Z", Kind: trail.Note, Text: "smells of smoke"},
			{N: 8, At: "2026-03-04T10:19:00Z", Kind: trail.End, As: trail.SignedOff, Causes: []model.ModeID{"lens.dirty"}},
		},
	}
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	a, err := trail.Replay(s, tr)
	require.NoError(t, err)
	return m, tr, a
}

func TestMarkdownTellsTheWholeUnit(t *testing.T) {
	m, tr, a := told(t)
	text := report.Markdown(words.In("en"), report.Unit{Model: m, Trail: tr, Account: a})
	for _, want := range []string{
		"# Grey one, shelf 3\n", "Signed off on 4 Mar 2026", "Found: Lens: Film or dust on the lens",
		"| 1 | 10:12 | Switch on with the owner's disc | Asks for a disc |",
		"4.7\u00a0V", "taken back", "slipped", "smells of smoke", "no meter", "Nothing wrong",
	} {
		assert.Contains(t, text, want)
	}
}

// section returns the section of a kind, and fails if there is none.
func section(t testing.TB, r report.Report, k report.Kind) report.Section {
	t.Helper()
	for _, s := range r.Sections {
		if s.Kind == k {
			return s
		}
	}
	require.Fail(t, "the report has no section "+string(k))
	return report.Section{}
}

func cells(s report.Section) (all [][]string) {
	for _, r := range s.Rows {
		all = append(all, r.Cells)
	}
	return all
}

func TestTheReportSaysWhatWasFoundWhyAndWhatItCost(t *testing.T) {
	m, tr, a := told(t)
	tr.Terms.MinuteValue, tr.Terms.WorkingValue = 0.5, 60
	space, err := belief.NewSpace(m)
	require.NoError(t, err)
	origin, err := trail.Origin(space, tr)
	require.NoError(t, err)
	r := report.Of(words.In("en"), report.Unit{Model: m, Trail: tr, Account: a, Origin: &origin})

	assert.Equal(t, []string{
		"Signed off on 4 Mar 2026", "Found: Lens: Film or dust on the lens", "Repaired: Clean the lens (step 4)",
		"Chance that nothing is wrong: " + words.In("en").Percent(a.Lines[8].Sound),
	}, section(t, r, report.AboutFound).Lines)

	// By hand: one test of 2 minutes and one taken back, 6 minutes to take the cover
	// off, a repair of 4 minutes and 0.20; 12 minutes at 0.50.
	cost := section(t, r, report.AboutCost)
	assert.Equal(t, [][]string{
		{"Tests", "1", "2\u00a0min", "€0.00"}, {"Taking apart and putting together", "1", "6\u00a0min", "€0.00"},
		{"Repairs", "1", "4\u00a0min", "€0.20"}, {"Together", "3", "12\u00a0min", "€0.20"},
	}, cells(cost))
	assert.Contains(t, cost.Lines[0], "€6.00; with the parts, to €6.20")

	// The cover is off from step 2 on; the reading at step 3 was taken back; what takes it back
	// is no step, and step 4 was done with the cover off.
	assert.Equal(t, [][]string{{"Mains voltage inside. ...", "2, 4"}}, cells(section(t, r, report.AboutCautions)))

	odds := section(t, r, report.AboutOdds)
	require.Equal(t, []string{"Suspect", "Believed then", "As it came in, by what is known now", "Now"}, odds.Head)
	assert.Equal(t, "Lens: Film or dust on the lens", odds.Rows[0].Cells[0], "it led when the unit came in")
	lens, _ := m.Mode("lens.dirty")
	assert.Equal(t, []float64{a.Lines[1].Modes[lens.Index], origin.Modes[lens.Index], a.Lines[8].Modes[lens.Index]}, odds.Rows[0].Bars[1:],
		"what was believed after the intake is told apart from hindsight")

	lid := slices.IndexFunc(odds.Rows, func(r report.Row) bool { return strings.HasPrefix(r.Cells[0], "Lid switch") })
	assert.Equal(t, -1, lid, "what nobody need suspect is one line")
	assert.Equal(t, "One more, below 5%", odds.Rows[len(odds.Rows)-1].Cells[0])

	evidence := section(t, r, report.AboutEvidence)
	require.Equal(t, "Switch on with the owner's disc: Asks for a disc", evidence.Rows[0].Cells[2])
	assert.Equal(t, "× "+words.In("en").Decimal(math.Pow(10, a.Lines[1].Decibans[lens.Index]/10), 0), evidence.Rows[0].Cells[3])

	steps := section(t, r, report.AboutSteps)
	require.Len(t, steps.Rows, len(tr.Events))
	assert.True(t, steps.Rows[2].Gone)
	assert.NotEmpty(t, steps.Rows[4].Cells[4])
	assert.Empty(t, steps.Rows[6].Cells[4], "a note moves nothing, so that nothing is said again")
	assert.False(t, steps.Rows[3].Gone)
}

func TestTimesOfAnotherDaySayTheDay(t *testing.T) {
	m, tr, a := told(t)
	tr.Events[7].At = "2026-03-05T08:00:00Z"
	rows := section(t, report.Of(words.In("en"), report.Unit{Model: m, Trail: tr, Account: a}), report.AboutSteps).Rows
	assert.Equal(t, "10:18", rows[6].Cells[1])
	assert.Equal(t, "5 Mar 2026 08:00", rows[7].Cells[1])
}

func TestWarningsAreSaidInThePersonsLanguage(t *testing.T) {
	m, tr, _ := told(t)
	// The lens is cleaned with the cover on, and the supply is measured so.
	tr.Events[1] = trail.Event{N: 2, At: "2026-03-04T10:13:00Z", Kind: trail.Note, Text: "forgot the cover"}
	tr.Events[3] = trail.Event{N: 4, At: "2026-03-04T10:15:00Z", Kind: trail.Note, Text: "left as it is"}
	space, err := belief.NewSpace(m)
	require.NoError(t, err)
	a, err := trail.Replay(space, tr)
	require.NoError(t, err)
	require.Len(t, a.Warnings, 2)
	for lang, want := range map[string]string{
		"en": "Step 3, “Clean the lens”: it belongs to “Cover off”; the unit stood at “Cover on”.",
		"de": "Schritt 3, „Clean the lens“: gehört zu „Cover off“; das Gerät stand auf „Cover on“.",
		"es": "Paso 3, «Clean the lens»: corresponde a «Cover off»; el aparato estaba en «Cover on».",
		"ja": "手順 3「Clean the lens」：本来は「Cover off」の状態で行いますが、そのときは「Cover on」の状態でした。",
	} {
		lines := section(t, report.Of(words.In(lang), report.Unit{Model: m, Trail: tr, Account: a}), report.AboutWarnings).Lines
		require.Len(t, lines, 2, lang)
		assert.Equal(t, want, lines[1], lang)
		for _, l := range lines {
			assert.NotContains(t, l, "belongs to setup", lang)
		}
	}
	assert.Equal(t, "3: odd", words.In("de").Warned(m, tr, trail.Warning{N: 3, Text: "odd"}), "what has no words stays as it is")
}

func TestStepsAreOneLineEachWithTheOdds(t *testing.T) {
	m, tr, a := told(t)
	rows, err := csv.NewReader(strings.NewReader(report.Steps(words.In("en"), m, tr, a))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 1+len(tr.Events))
	assert.Equal(t, "lens.dirty", rows[1][8])
	assert.Equal(t, "4.7", rows[3][6], "a reading has a point, whatever the language")
	assert.Equal(t, "false", rows[3][3])
}

func TestAReportNeedsNeitherModelNorAccount(t *testing.T) {
	_, tr, _ := told(t)
	text := report.Markdown(words.In("en"), report.Unit{Trail: tr})
	assert.Contains(t, text, "first-boot")
	_, err := csv.NewReader(strings.NewReader(report.Steps(words.In("en"), nil, tr, nil))).ReadAll()
	require.NoError(t, err)
}

// hostile are texts that would do something if they were not made to mean themselves.
var hostile = []string{
	"<script>alert(1)</script>", "<img src=x onerror=alert(1)>", "[a](javascript:alert(1))", "![a](http://x.example/p.png)",
	"# heading", "- item", "| a | b |", "`code`", "*bold*", "http://x.example/", "a@x.example", "&lt;b&gt;", "\\", "$$x$$",
	"line\nbreak", "line\r\n\r\n# heading", "a\tb", "\u202egnp.exe", "zero\u200bwidth\u200d\ufeff", "bell\a", "para\u2029graph",
	"=1+1", "1. first", "12) twelfth", "www.x.example", "+ more", "+1", "-1", "@SUM(A1)", "\t=1", " =1", "＝1", "'x", "\"; DROP", strings.Repeat("w", 1<<20),
}

func TestHostileTextMeansItself(t *testing.T) {
	m, tr, a := told(t)
	steer := regexp.MustCompile(`[\x00-\x08\x0b-\x1f\x7f\x{200b}-\x{200f}\x{202a}-\x{202e}\x{2028}\x{2029}\x{feff}]`)
	for _, text := range hostile {
		tr.Unit.Label, tr.Unit.Notes = text, text
		tr.Events[5].Reason, tr.Events[6].Text, tr.Events[3].Reason = text, text, text

		md := report.Markdown(words.In("en"), report.Unit{Model: m, Trail: tr, Account: a})
		assert.False(t, steer.MatchString(md), "%.40q steers", text)
		for i, line := range strings.Split(strings.TrimRight(md, "\n"), "\n") {
			ours := line == "" || strings.HasPrefix(line, "# ") || strings.HasPrefix(line, "## ") || strings.HasPrefix(line, "- ") || strings.HasPrefix(line, "|")
			assert.True(t, ours, "%.40q begins line %d of its own: %.60q", text, i, line)
		}
		// Whatever is left after taking escaped signs out has no sign that means something.
		bare := regexp.MustCompile(`\\.`).ReplaceAllString(md, "")
		columns := 0 // of the table that a line is in, by its head
		for _, line := range strings.Split(bare, "\n") {
			line = strings.TrimLeft(line, "#- ")
			assert.NotRegexp(t, `^\d+[.)] |^\+ |(?i)www\.`, line, "%.40q", text)
			if !strings.HasPrefix(line, "|") {
				columns = 0
				assert.NotRegexp(t, "[<>\\[\\]`*_]|://", line, "%.40q", text)
				continue
			}
			if columns == 0 {
				columns = strings.Count(line, "|")
			}
			assert.Equal(t, columns, strings.Count(line, "|"), "%.40q changes the table: %.60q", text, line)
		}

		rows, err := csv.NewReader(strings.NewReader(report.Steps(words.In("en"), m, tr, a))).ReadAll()
		require.NoError(t, err, "%.40q", text)
		require.Len(t, rows, 1+len(tr.Events), "%.40q", text)
		for _, row := range rows {
			for _, cell := range row {
				assert.NotRegexp(t, `^[\s]*[=+@|\x{ff1d}\x{ff0b}\x{ff20}]`, cell, "%.40q", text)
				assert.NotRegexp(t, `^\s*-\D`, cell, "%.40q", text)
				assert.False(t, steer.MatchString(cell), "%.40q steers", text)
			}
		}
	}
}
