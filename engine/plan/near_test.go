package plan

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// slotIn returns the shipped model and a settled search after some results, every tool at hand.
func slotIn(t *testing.T, events ...trail.Event) (*model.Model, *search) {
	t.Helper()
	text, ok := catalog.Text("slot-in")
	require.True(t, ok)
	m, err := catalog.Load("slot-in")
	require.NoError(t, err)
	terms := everyTool(m)
	s, at := evening(t, string(text), terms, events...)
	p, err := New(s, terms)
	require.NoError(t, err)
	search := p.Start(at).(*search)
	for !search.Work(1 << 20) {
	}
	return m, search
}

// Where the order of two repairs costs nothing the one that mends twice as much for its cost goes first: in a drive that stays
// silent the cable is seated before the lens is cleaned, though the lens may have to be cleaned too.
func TestOfTwoRepairsTheOneThatMendsMoreForItsCostGoesFirst(t *testing.T) {
	m, search := slotIn(t, result("complaint", "still"), result("onset", "shelf"), result("listen", "silent"), result("first-boot", "still"),
		result("known-disc", "still"), result("cold-warm", "same"), result("eject-press", "runs"), result("no-disc", "nothing"), result("feed-watch", "smooth"), result("feed-push", "alone"))
	of := func(id string) int {
		return slices.IndexFunc(search.options, func(o option) bool { return o.step.Kind == DoRepair && string(m.Repairs[o.step.Index].ID) == id })
	}
	seat, clean := search.options[of("reseat-flex")], search.options[of("clean-lens")]
	clean.value = seat.value - search.within()/2
	search.options = []option{clean, seat}
	search.prefer()
	assert.Equal(t, seat.step, search.options[0].step)
	search.options = []option{seat, clean}
	search.prefer()
	assert.Equal(t, seat.step, search.options[0].step)
}

// What was run gives way to what was not, so that a test is not told to come again at once, though a plan may run it again: by its plans a disc
// is fed in with a push twice where it first went in without one.
func TestATestIsNotToldToComeAgainAtOnce(t *testing.T) {
	_, search := slotIn(t, result("complaint", "refuses"), result("onset", "slowly"))
	told := 0
	for _, p := range search.Proposals() {
		for _, f := range p.Outcomes {
			if f.Next != (Step{}) {
				told++
			}
			assert.True(t, p.Step.Kind != DoTest || f.Next != p.Step, "%v after outcome %d of itself", p.Step, f.Outcome)
		}
	}
	assert.Greater(t, told, 100)
}

// What is next whatever a test shows goes before that test, and of two that are next to each other the one that came first stays, however many
// steps are on offer.
func TestOfTwoThatLeadToEachOtherTheFirstStays(t *testing.T) {
	pairs := 0
	_, search := slotIn(t, result("complaint", "now-and-then"), result("onset", "slowly"), result("heard", "silent"), result("inside", "nobody"), result("their-disc", "here"), result("discs", "home-made"))
	for range 2 { // with one step more on offer, and without
		for i := range search.options {
			j := search.leads(i)
			if j == i || search.leads(j) != i {
				continue
			}
			pairs++
			assert.Equal(t, i, search.anyhow(i))
			assert.Equal(t, j, search.anyhow(j))
		}
		search.options = search.options[:len(search.options)-1]
	}
	require.GreaterOrEqual(t, pairs, 4)
}
