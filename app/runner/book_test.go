package runner_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/engine/trail"
)

func TestAFileIsNamedByLabelAndDay(t *testing.T) {
	for _, row := range []struct{ label, want string }{
		{"Grey top-loader, box 7 (sample)", "pitwise-grey-top-loader-box-7-sample-2026-03-04-nz2t"},
		{"  ..//..\\..  ", "pitwise-2026-03-04-nz2t"},
		{"Weiß Nr. 3", "pitwise-weiß-nr-3-2026-03-04-nz2t"},
		{"黒い機器", "pitwise-黒い機器-2026-03-04-nz2t"},
		{strings.Repeat("w", 500), "pitwise-" + strings.Repeat("w", 40) + "-2026-03-04-nz2t"},
		{"a\u202eb\nc\"<x>", "pitwise-a-b-c-x-2026-03-04-nz2t"},
	} {
		tr := &trail.Trail{ID: "01ARYZ6S41TPTWXQQCJDG5NZ2T", Created: "2026-03-04T10:11:12Z", Unit: trail.Unit{Label: row.label}}
		names := map[string]bool{}
		for _, form := range []state.Form{state.FormTrail, state.FormTrailFull, state.FormReport, state.FormBuyer, state.FormSteps, state.FormDamaged} {
			name := runner.File(state.TakeOut{Form: form, Trail: tr, Lang: "en"}).Name
			assert.True(t, strings.HasPrefix(name, row.want), "%q", name)
			assert.False(t, names[name], "two exports have the name %s", name)
			names[name] = true
		}
	}
}

func TestTheBookHoldsEveryUnit(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	b.send(state.CreateSample{})
	b.until("the unit is there", func(s state.State) bool { return s.Unit != nil })
	b.send(state.Navigated{Path: "/book"})
	s := b.until("the book is read", func(s state.State) bool { return s.BookAll > 0 && s.BookDone == s.BookAll })
	require.Len(t, s.Book, 1)
	assert.Equal(t, state.SampleID, s.Book[0].ID)
	assert.Positive(t, s.Book[0].Minutes)
	f := b.saves(state.TakeBook{Form: state.FormBook, Way: state.WaySave})
	assert.Equal(t, 2, strings.Count(f.Text, "\r\n"))
	assert.Contains(t, f.Text, state.SampleID)
}
