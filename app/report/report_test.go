package report_test

import (
	"encoding/csv"
	"os"
	"regexp"
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
	text := report.Markdown(words.In("en"), m, tr, a)
	for _, want := range []string{
		"# Grey one, shelf 3\n", "Signed off on 4 Mar 2026", "Found: Lens: Film or dust on the lens",
		"| 1 | 10:12 | Switch on with the owner's disc | Asks for a disc |",
		"4.7\u00a0V", "taken back", "slipped", "smells of smoke", "no meter", "Nothing wrong",
	} {
		assert.Contains(t, text, want)
	}
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
	text := report.Markdown(words.In("en"), nil, tr, nil)
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

		md := report.Markdown(words.In("en"), m, tr, a)
		assert.False(t, steer.MatchString(md), "%.40q steers", text)
		for i, line := range strings.Split(strings.TrimRight(md, "\n"), "\n") {
			ours := line == "" || strings.HasPrefix(line, "# ") || strings.HasPrefix(line, "## ") || strings.HasPrefix(line, "- ") || strings.HasPrefix(line, "|")
			assert.True(t, ours, "%.40q begins line %d of its own: %.60q", text, i, line)
		}
		// Whatever is left after taking escaped signs out has no sign that means something.
		bare := regexp.MustCompile(`\\.`).ReplaceAllString(md, "")
		for _, line := range strings.Split(bare, "\n") {
			line = strings.TrimLeft(line, "#- ")
			assert.NotRegexp(t, `^\d+[.)] |^\+ |(?i)www\.`, line, "%.40q", text)
			if !strings.HasPrefix(line, "|") {
				assert.NotRegexp(t, "[<>\\[\\]`*_]|://", line, "%.40q", text)
			} else {
				assert.Contains(t, []int{3, 6}, strings.Count(line, "|"), "%.40q changes the table: %.60q", text, line)
			}
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
