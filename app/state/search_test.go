package state_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/catalog"
	"pitwise/engine/plan"
)

// TestASearchFindsWhatStandsInTheSteps looks for words of the trade where they stand: in titles, in what is to be
// done, in what may be seen.
func TestASearchFindsWhatStandsInTheSteps(t *testing.T) {
	m, err := catalog.Load("tray")
	require.NoError(t, err)
	u := &state.Unit{}
	u.Model = m
	for i := range m.Tests {
		if !m.Tests[i].Told {
			u.Proposals = append(u.Proposals, plan.Proposal{Step: plan.Step{Kind: plan.DoTest, Index: i}})
		}
	}
	for i := range m.Repairs {
		u.Proposals = append(u.Proposals, plan.Proposal{Step: plan.Step{Kind: plan.DoRepair, Index: i}})
	}
	u.Proposals = append(u.Proposals, plan.Proposal{Step: plan.Step{Kind: plan.SignOff}})
	find := func(search, lang string) (titles []string) {
		u.Find = search
		for _, p := range u.FindSteps(lang) {
			titles = append(titles, words.In(lang).Step(m, p.Step))
		}
		return titles
	}
	assert.Len(t, find(" ", "en"), len(u.Proposals))
	assert.Empty(t, find("zebra", "en"))
	fuse := find("fuse", "en")
	assert.Equal(t, []string{"Fusible part, unplugged", "Replace the fusible part"}, fuse[:2], "by the place, before what somebody refuses")
	assert.Equal(t, "Look at the tray belt", find("BELT look", "en")[0])
	assert.Equal(t, []string{"Logic supply", "Ripple on the logic supply"}, find("5 V", "en"), "not 1.5 V, and not every step with a v")
	assert.Contains(t, find("freigeben", "de"), words.In("de").Say(words.SignOff), "in the person's language")
}
