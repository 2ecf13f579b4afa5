package plan

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
	"pitwise/engine/model"
)

func grown(t testing.TB, p *Problem) Planner {
	planner, err := New(p.Space(), p.Terms)
	require.NoError(t, err)
	assert.Nil(t, planner.Save(), "there is nothing to save yet")
	for !planner.Grow() {
	}
	return planner
}

// The settled answer is the same to the last bit from a planner that grew its plans and from one
// that took them up.
func TestARestoredPlannerAnswersTheSame(t *testing.T) {
	subjects := map[string]*Problem{}
	for _, e := range catalog.Models() {
		if e.ID == "top-loader" || testing.Short() && e.ID != "tray" {
			continue // half a minute each on a busy machine
		}
		m, err := catalog.Load(e.ID)
		require.NoError(t, err)
		subjects[e.ID] = problem(t, m, everyTool(m))
	}
	m, err := model.Load([]byte(stubborn))
	require.NoError(t, err)
	subjects["stubborn"] = problem(t, m, stubbornTerms)
	for name, p := range subjects {
		t.Run(name, func(t *testing.T) {
			one := grown(t, p)
			saved := one.Save()
			assert.Less(t, len(saved), 64<<10, "bytes of a kept library")
			two, err := New(p.Space(), p.Terms)
			require.NoError(t, err)
			require.NoError(t, two.Restore(saved))
			assert.True(t, two.Grow(), "it is grown")
			assert.Equal(t, saved, two.Save())
			rng := rand.New(rand.NewPCG(4, 4))
			for range 6 {
				at := wander(t, p, rng, rng.IntN(5))
				a, b := one.Start(at), two.Start(at)
				for !a.Work(1 << 20) {
				}
				for !b.Work(1 << 20) {
				}
				require.Equal(t, a.Proposals(), b.Proposals())
			}
			if one.Keener() == nil {
				return
			}
			for !one.Keener().Grow() {
			}
			require.NoError(t, two.Keener().Restore(one.Keener().Save()))
			assert.NotEqual(t, one.Key(), one.Keener().Key())
			at := wander(t, p, rng, 4)
			a, b := one.Keener().Start(at), two.Keener().Start(at)
			for !a.Work(1 << 20) {
			}
			for !b.Work(1 << 20) {
			}
			require.Equal(t, a.Proposals(), b.Proposals())
			t.Logf("%d bytes", len(saved))
		})
	}
}

func TestADamagedLibraryIsRefused(t *testing.T) {
	m, err := model.Load([]byte(stubborn))
	require.NoError(t, err)
	p := problem(t, m, stubbornTerms)
	saved := grown(t, p).Save()
	fresh, err := New(p.Space(), p.Terms)
	require.NoError(t, err)
	for i := range saved {
		bad := append([]byte(nil), saved...)
		bad[i] ^= 0x41
		require.ErrorIs(t, fresh.Restore(bad), ErrLibrary, "byte %d", i)
	}
	for n := range saved {
		require.ErrorIs(t, fresh.Restore(saved[:n]), ErrLibrary)
	}
	other := stubbornTerms
	other.WorkingValue++
	foreign, err := New(p.Space(), other)
	require.NoError(t, err)
	require.ErrorIs(t, foreign.Restore(saved), ErrLibrary, "other terms")
	other = stubbornTerms
	other.Tools = []model.ToolID{"lamp", "something-else"}
	same, err := New(p.Space(), other)
	require.NoError(t, err)
	assert.NoError(t, same.Restore(saved), "a tool that bears on nothing")
}
