package runner

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// offered are the units that libraries are shipped for: taken in with nothing changed, and with every tool at hand, in each
// family; and the sample.
func offered(t *testing.T) (all []*trail.Trail) {
	for _, e := range catalog.Models() {
		m, err := catalog.Load(e.ID)
		require.NoError(t, err)
		s, _ := state.Update(state.State{}, state.Started{Lang: "en"})
		var grows []*trail.Trail
		send := func(msg state.Msg) {
			var effects []state.Effect
			s, effects = state.Update(s, msg)
			for _, e := range effects {
				if grow, ok := e.(state.Grow); ok {
					grows = append(grows, grow.Trail)
				}
			}
		}
		send(state.Navigated{Path: "/new"})
		send(state.PickModel{ID: e.ID})
		send(state.ModelLoaded{ID: e.ID, Model: m})
		for _, tool := range m.BenchTools() {
			send(state.SetTool{ID: tool.ID, On: true})
		}
		require.Greater(t, len(grows), 2)
		all = append(all, grows[0], grows[len(grows)-1])
		if m.ID == sampleModel {
			taken := sample(m)
			all = append(all, &taken)
		}
	}
	return all
}

// planners are those that a unit is worked out with.
func planners(t *testing.T, m *model.Model, unit *trail.Trail) []plan.Planner {
	space, err := belief.NewSpace(m)
	require.NoError(t, err)
	unit.Model = trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256}
	u, err := bench.Open(space, unit)
	require.NoError(t, err)
	planner, err := u.Planner(space)
	require.NoError(t, err)
	return []plan.Planner{planner, planner.Keener()}
}

const grownFile = "../../web/grown.bin"

// What is shipped is what grows, to the bit. A planner that grows other plans under the same key would leave
// every device with those that it kept.
func TestWhatIsShippedIsWhatGrows(t *testing.T) {
	renew := os.Getenv("PITWISE_RENEW") == "1"
	shipped, err := os.ReadFile(grownFile)
	if !renew {
		require.NoError(t, err)
	}
	var now []byte
	for _, unit := range offered(t) {
		m, err := catalog.Load(unit.Model.ID)
		require.NoError(t, err)
		for _, p := range planners(t, m, unit) {
			for !p.Grow() {
			}
			saved := p.Save()
			now = addLibrary(now, saved)
			if old := shippedLibrary(shipped, p.Key()); old != nil {
				require.True(t, bytes.Equal(old, saved), "%s: the planner grows other plans than it did; change edition in engine/plan/save.go, then renew the file", m.ID)
			}
		}
	}
	if renew {
		require.NoError(t, os.WriteFile(grownFile, now, 0o644))
		return
	}
	require.True(t, bytes.Equal(now, shipped), "of other models, other terms or another edition; renew it: PITWISE_RENEW=1 go test ./app/runner -run %s", t.Name())
}

// With what is shipped the first advice waits for no growth, and nothing of it is kept once more.
func TestTheFirstUnitGrowsNothing(t *testing.T) {
	file, err := os.ReadFile(grownFile)
	require.NoError(t, err)
	kept := box{map[string][]byte{}, make(chan string, 1)}
	s := &sliced{shipped: func() []byte { return file }, kept: kept}
	for _, unit := range offered(t) {
		m, err := catalog.Load(unit.Model.ID)
		require.NoError(t, err)
		for _, p := range planners(t, m, unit) {
			require.Nil(t, p.Save())
			s.takeUp(p)
			require.NotNil(t, p.Save())
			s.keep(p)
		}
	}
	assert.Empty(t, kept.held)
}

func TestAFileOfLibrariesThatIsCutOffHasNoneOfItsRest(t *testing.T) {
	file := addLibrary(addLibrary(nil, []byte("one and its plans")), []byte("two and its plans"))
	assert.Equal(t, "one and its plans", string(shippedLibrary(file, "one")))
	assert.Equal(t, "two and its plans", string(shippedLibrary(file, "two")))
	assert.Nil(t, shippedLibrary(file, "three"))
	for n := range file {
		assert.Nil(t, shippedLibrary(file[:n], "two"), "%d bytes", n)
	}
}
