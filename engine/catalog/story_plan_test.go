//go:build !wasm

// The planner answers the same on every target, which its own tests hold; asking it
// some two hundred times more under wasm would tell nothing new.

package catalog_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/internal/story"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// fitted returns a shipped model, its hypotheses and the stories' terms with every tool at hand.
func fitted(t *testing.T, id string) (*model.Model, *belief.Space, trail.Terms) {
	t.Helper()
	m, err := catalog.Load(id)
	require.NoError(t, err)
	space, err := belief.NewSpace(m)
	require.NoError(t, err)
	terms := (&story.Story{}).Trail(m, 0).Terms
	for _, tool := range m.Tools {
		terms.Tools = append(terms.Tools, tool.ID)
	}
	return m, space, terms
}

// proposal returns what is proposed first after an account.
func proposal(t *testing.T, planner plan.Planner, account *trail.Account) plan.Proposal {
	t.Helper()
	search := planner.Start(plan.Situation{Belief: account.Final, Setup: account.Setup, Tries: account.Tries, Seen: account.Seen})
	for !search.Work(1000) {
	}
	all := search.Proposals()
	require.NotEmpty(t, all)
	return all[0]
}

// first returns the id of the step that is proposed first, or sign-off or write-off.
func first(t *testing.T, m *model.Model, planner plan.Planner, account *trail.Account) string {
	t.Helper()
	return stepID(m, proposal(t, planner, account).Step)
}

func stepID(m *model.Model, s plan.Step) string {
	switch s.Kind {
	case plan.DoTest:
		return string(m.Tests[s.Index].ID)
	case plan.DoRepair:
		return string(m.Repairs[s.Index].ID)
	}
	return string(s.Kind)
}

func TestNothingSillyIsProposedInAStory(t *testing.T) {
	for _, e := range catalog.Models() {
		t.Run(e.ID, func(t *testing.T) {
			m, space, terms := fitted(t, e.ID)
			planner, err := plan.New(space, terms)
			require.NoError(t, err)
			asked := 0
			for _, s := range readStories(t, e.ID) {
				for _, c := range s.Claims {
					if c.Kind != "never" {
						continue
					}
					account, err := trail.Replay(space, s.Trail(m, c.After))
					require.NoError(t, err, c.Where)
					step := first(t, m, planner, account)
					assert.NotContains(t, c.Words, step, "%s: %s: never %s\n%s", s.Title, c.Where, strings.Join(c.Words, " "), suspects(m, account.Lines[len(account.Lines)-1].Odds))
					asked++
				}
			}
			t.Logf("asked %d times", asked)
			assert.GreaterOrEqual(t, asked, 40)
		})
	}
}
