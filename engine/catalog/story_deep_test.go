//go:build deep

// Holding the planner against plain plans takes a minute: run it with
// go test -tags deep -run Plain ./engine/catalog after a change of a model or of the planner.

package catalog_test

import (
	"slices"
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

// A plain plan is what anybody would do who is sure of a fault: one repair, back to the
// root, a start of the good disc, of the owner's disc, and five starts; signing off if all
// went well, writing off at the first that did not. cost returns its expected total, worked
// out over the whole belief: no planner may do worse.
type plain struct {
	model *model.Model
	terms trail.Terms
}

func (p *plain) cost(t *testing.T, b *belief.Belief, setup int, repair *model.Repair) float64 {
	t.Helper()
	m := p.model
	b = b.Clone()
	total := 0.0
	step := func(s *model.Step) {
		total += s.Minutes*p.terms.MinuteValue + s.Money
		require.NoError(t, b.Apply(s.Change))
	}
	move := func(from, to int) {
		for _, mv := range m.Way(from, to) {
			work, _ := m.Move(mv)
			step(work)
		}
	}
	move(setup, repair.At)
	step(&model.Step{Minutes: repair.Minutes, Money: repair.Money, Change: repair.Change})
	move(repair.At, m.Root)
	loss := p.terms.WorkingValue - p.terms.AsIsValue
	reached := 1.0
	for _, id := range []model.TestID{"known-disc", "first-boot", "five-starts"} {
		test, ok := m.Test(id)
		require.True(t, ok)
		good := b.Predict(nil, test.Index)[0]
		total += reached * (test.Minutes*p.terms.MinuteValue + test.Money + (1-good)*loss)
		reached *= good
		require.NoError(t, b.Observe(test.Index, belief.Named(test, 0)))
	}
	return total + reached*(1-b.Sound())*(p.terms.ComebackCost+loss)
}

func TestNoPlainPlanIsCheaperThanWhatIsProposed(t *testing.T) {
	for _, e := range catalog.Models() {
		t.Run(e.ID, func(t *testing.T) {
			m, space, terms := fitted(t, e.ID)
			planner, err := plan.New(space, terms)
			require.NoError(t, err)
			p := plain{m, terms}
			asked, worse, missed := 0, 0, 0.0
			for _, s := range readStories(t, e.ID) {
				for n := 1; n <= len(s.Events); n++ {
					if !slices.ContainsFunc(s.Claims, func(c story.Claim) bool { return c.After == n }) {
						continue
					}
					account, err := trail.Replay(space, s.Trail(m, n))
					require.NoError(t, err)
					suspects := leading(m, account.Lines[len(account.Lines)-1].Modes)[:2]
					first := proposal(t, planner, account)
					asked++
					for i := range m.Repairs {
						r := &m.Repairs[i]
						if !slices.ContainsFunc(r.Change.Fixes, func(c model.Chance) bool { return slices.Contains(suspects, m.Modes[c.Mode].ID) }) {
							continue
						}
						cost := p.cost(t, account.Final, account.Setup, r)
						if !assert.LessOrEqual(t, first.Total, cost*1.01, "%s, after event %d: %s is proposed, and a plain %s is cheaper", s.Where, n, stepID(m, first.Step), r.ID) {
							worse++
							missed += first.Total - cost
							break
						}
					}
				}
			}
			t.Logf("asked %d times; a plain plan was cheaper %d times, by %.1f in all", asked, worse, missed)
		})
	}
}
