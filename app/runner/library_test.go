package runner

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// box is a shelf for libraries that says what came.
type box struct {
	held map[string][]byte
	came chan string
}

func (b box) load(key string) []byte { return b.held[key] }

func (b box) keep(key string, saved []byte) {
	b.held[key] = saved
	b.came <- key
}

// What planning needs is grown and kept while a unit's intake is filled in, and after its first answer: that
// of the planner, and of the one that is asked before a unit is given up.
func TestBothLibrariesAreGrownAndKeptBeforeTheyAreWanted(t *testing.T) {
	m, err := catalog.Load("tray")
	require.NoError(t, err)
	unit := &trail.Trail{
		ID: "U1", Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Terms: trail.Terms{MinuteValue: 0.5, Currency: "EUR", Tools: []model.ToolID{"multimeter"}, WorkingValue: 60, AsIsValue: 10, ComebackCost: 40},
	}
	for name, ask := range map[string]func(Engine){
		"the intake": func(e Engine) { e.Grow(state.Grow{Model: m, Trail: unit}) },
		"a unit":     func(e Engine) { e.Reckon(state.Reckon{ID: "U1", Turn: 1, Model: m, Trail: unit}) },
	} {
		t.Run(name, func(t *testing.T) {
			kept := box{map[string][]byte{}, make(chan string, 9)}
			ask(&sliced{tell: func(state.Msg) {}, yield: func() {}, work: slice, kept: kept})
			first, second := <-kept.came, <-kept.came
			assert.NotEqual(t, first, second)

			// Another page takes both up, and grows nothing.
			looked := make(chan bool, 1)
			again := &sliced{work: slice, kept: kept, yield: func() {}, tell: func(msg state.Msg) {
				if _, ok := msg.(state.Looked); ok {
					looked <- true
				}
			}}
			again.Reckon(state.Reckon{ID: "U1", Turn: 1, Model: m, Trail: unit})
			<-looked
			require.Eventually(t, func() bool {
				again.mu.Lock()
				defer again.mu.Unlock()
				for _, p := range again.planners.held {
					return p.Save() != nil && p.Keener().Save() != nil
				}
				return false
			}, time.Minute, time.Millisecond)
			assert.Empty(t, kept.came)
		})
	}
}
