package runner

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/bench"
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

// TestTwoWindowsListWhatTheyKeep: a library that is kept and not on the list would never be let go of.
func TestTwoWindowsListWhatTheyKeep(t *testing.T) {
	m := browser.NewMemory()
	m.Refuse(func(string) error { time.Sleep(time.Millisecond); return nil }) // whoever may come in between does
	windows := []*Runner{{Storage: m, Device: &browser.Still{}}, {Storage: m, Device: &browser.Still{}}}
	each := libraryCloset.most
	for i := range each {
		for w, r := range windows {
			shelved{r, libraryCloset, ""}.keep(fmt.Sprintf("%d %d", w, i), []byte("grown"))
		}
	}
	for _, r := range windows {
		r.Settle()
	}
	text, err := m.Kept(libraryCloset.list)
	require.NoError(t, err)
	var listed, kept []string
	require.NoError(t, json.Unmarshal([]byte(text), &listed))
	require.Len(t, listed, libraryCloset.most)
	for i := range each {
		for w := range windows {
			key := fmt.Sprintf("%d %d", w, i)
			if text, err := m.Kept(libraryCloset.head + key); err == nil && text != "" {
				kept = append(kept, key)
			}
		}
	}
	assert.ElementsMatch(t, listed, kept)
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

// What the keener planner grew in a decision is kept, and taken up by the decision of another page that asks it.
func TestWhatADecisionGrewIsKeptAndTakenUp(t *testing.T) {
	m, err := catalog.Load("slot-in")
	require.NoError(t, err)
	terms := bench.DefaultTerms(m)
	terms.Currency, terms.Tools = "EUR", []model.ToolID{"good-disc", "screwdriver", "multimeter", "alcohol"}
	unit := &trail.Trail{ID: "U1", Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256}, Terms: terms, Events: []trail.Event{
		{N: 1, Kind: trail.Result, Test: "complaint", Outcome: "still"},
		{N: 2, Kind: trail.Result, Test: "onset", Outcome: "shelf"},
		{N: 3, Kind: trail.Result, Test: "heard", Outcome: "silent"},
		{N: 4, Kind: trail.Result, Test: "known-disc", Outcome: "still"},
		{N: 5, Kind: trail.Result, Test: "listen", Outcome: "silent"},
		{N: 6, Kind: trail.Result, Test: "eject-press", Outcome: "silent"},
	}}
	kept := box{map[string][]byte{}, make(chan string, 9)}
	decided := func(kept store) (grown map[string]bool) {
		s := &sliced{tell: func(state.Msg) {}, yield: func() {}, work: slice, kept: kept}
		space, err := s.space(m)
		require.NoError(t, err)
		u, err := bench.Open(space, unit)
		require.NoError(t, err)
		_, planner, err := s.advise(space, u, func() bool { return false })
		require.NoError(t, err)
		require.NotNil(t, planner.Keener().Save(), "nobody keener was asked")
		return map[string]bool{planner.Key(): true, planner.Keener().Key(): true}
	}
	both := decided(kept)
	require.Len(t, both, 2)
	assert.Equal(t, both, map[string]bool{<-kept.came: true, <-kept.came: true})

	again := listening{kept, map[string]bool{}}
	decided(again)
	assert.Equal(t, both, again.wanted)
	assert.Empty(t, kept.came, "grown anew")
}

// listening is a box that hears what is wanted of it.
type listening struct {
	box
	wanted map[string]bool
}

func (l listening) load(key string) []byte {
	l.wanted[key] = true
	return l.box.load(key)
}
