package view

import (
	"slices"
	"strings"
	"testing"

	"github.com/maxence-charriere/go-app/v9/pkg/app"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// TestEveryCautionIsDrawnBeforeItsStep walks every step of the shipped families, from every
// setup, with the way taken and as the unit stands: a person who reads on sees each caution that
// the engine names on a screen of its own, and nothing of the step before; who has read
// all sees the most severe one in a line beside the step; and who has it read aloud hears them first.
func TestEveryCautionIsDrawnBeforeItsStep(t *testing.T) {
	v, drawn := english(), 0
	for _, e := range catalog.Models() {
		m, err := catalog.Load(e.ID)
		require.NoError(t, err)
		var all []plan.Step
		for i := range m.Tests {
			if !m.Tests[i].Told {
				all = append(all, plan.Step{Kind: plan.DoTest, Index: i})
			}
		}
		for i := range m.Repairs {
			all = append(all, plan.Step{Kind: plan.DoRepair, Index: i})
		}
		all = append(all, plan.Step{Kind: plan.SignOff})
		odds := trail.Odds{Modes: make([]float64, len(m.Modes))}
		for from := range m.Setups {
			for _, s := range all {
				for _, here := range []bool{false, true} {
					tr := &trail.Trail{Events: []trail.Event{{N: 1, Kind: trail.Setup, Setup: m.Setups[from].ID}}}
					u := &state.Unit{Unit: bench.Unit{Model: m, Trail: tr, Account: &trail.Account{Setup: from, Lines: []trail.Line{{Odds: odds}}}}, Settled: true}
					p := plan.Proposal{Step: s, Way: u.Unit.Way(s)}
					p.Reason.Separates = [2]int{-1, -1}
					u.Proposals = []plan.Proposal{p}
					u.Chosen, u.HasChosen, u.InPlace = s, true, here
					want := u.Unit.Cautions(s)
					if here {
						want = u.CautionsHere(s)
					}
					for _, c := range want {
						text := app.HTMLString(v.proposal(u, p, state.Habits{}, state.Speech{}))
						require.Contains(t, plainText(text), plainText(c.Title), "%s: %v from %s", e.ID, s, m.Setups[from].ID)
						require.Contains(t, plainText(text), plainText(c.Text))
						require.NotContains(t, text, "button-outcome")
						u.Marks.Seen = append(u.Marks.Seen, c.ID)
						drawn++
					}
					heard := v.tells(u, p, v.taskOf(u, p), want)
					for i, c := range want {
						require.Contains(t, heard, c.Text, "read aloud too")
						require.Less(t, slices.Index(heard, c.Text), slices.Index(heard, v.taskOf(u, p).title), "%d: before the step", i)
					}
					if len(want) > 0 && s.Kind != plan.DoRepair {
						require.Contains(t, plainText(app.HTMLString(v.cautionFold(want, false))), plainText(want[0].Title))
					}
				}
			}
		}
	}
	assert.Greater(t, drawn, 3000)
}

// TestCautionsAreShort: what to do and what not, in a breath.
func TestCautionsAreShort(t *testing.T) {
	for _, e := range catalog.Models() {
		m, err := catalog.Load(e.ID)
		require.NoError(t, err)
		for _, c := range m.Cautions {
			assert.LessOrEqual(t, len(strings.Fields(c.Text+" "+strings.Join(c.Steps, " "))), 40, "%s: %s", e.ID, c.ID)
		}
	}
}

// plainText is text without what HTML writes otherwise.
func plainText(s string) string {
	return strings.NewReplacer("&#39;", "'", "&#34;", `"`, "&amp;", "&").Replace(s)
}
