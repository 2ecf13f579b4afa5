package runner

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
	"pitwise/engine/worth"
)

// told runs an engine on a unit and returns what it tells, until it has looked back.
func told(t *testing.T, e state.Reckon, begin func(tell func(state.Msg)) Engine) (all []state.Msg) {
	t.Helper()
	came := make(chan state.Msg, 16)
	begin(func(m state.Msg) { came <- m }).Reckon(e)
	for m := range came {
		all = append(all, m)
		switch m := m.(type) {
		case state.Looked:
			return all
		case state.Reckoned:
			if m.Conflict.Kind != state.NoConflict {
				return all
			}
		}
	}
	return all
}

func exampleReckon(t testing.TB) state.Reckon {
	t.Helper()
	text, err := os.ReadFile("../../engine/model/testdata/example.json")
	require.NoError(t, err)
	m, err := model.Load(text)
	require.NoError(t, err)
	low := 4.4
	return state.Reckon{ID: "U1", Turn: 3, Model: m, Trail: &trail.Trail{
		ID: "U1", Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Terms: trail.Terms{MinuteValue: 0.5, Currency: "EUR", Tools: []model.ToolID{"multimeter"}, WorkingValue: 60, AsIsValue: 10, ComebackCost: 40},
		Events: []trail.Event{
			{N: 1, At: "2026-03-04T10:12:00Z", Kind: trail.Result, Test: "first-boot", Outcome: "asks"},
			{N: 2, At: "2026-03-04T10:13:00Z", Kind: trail.Setup, Setup: "open"},
			{N: 3, At: "2026-03-04T10:14:00Z", Kind: trail.Result, Test: "rail", Reading: &low},
			{N: 4, At: "2026-03-04T10:15:00Z", Kind: trail.Void, Of: 3, Reason: "slipped"},
		},
	}}
}

// TestWhatAnotherThreadTellsIsTheSameToTheBit: every message of an engine goes through the
// wire and comes out as it went in, but for the belief, which stays behind.
func TestWhatAnotherThreadTellsIsTheSameToTheBit(t *testing.T) {
	e := exampleReckon(t)
	here := told(t, e, func(tell func(state.Msg)) Engine { return &sliced{tell: tell, yield: func() {}, work: 1} })
	require.Len(t, here, 3, "what was done, what to do, and a look back")
	var came []state.Msg
	far := &beside{tell: func(m state.Msg) { came = append(came, m) }}
	for _, m := range here {
		far.hear(ToWire(answerOf(m)))
	}
	require.Len(t, came, 3)
	account := *here[0].(state.Reckoned).Account
	account.Final = nil
	assert.Equal(t, state.Reckoned{ID: "U1", Turn: 3, Account: &account}, came[0])
	thought := here[1].(state.Thought)
	assert.True(t, thought.Settled)
	assert.NotEmpty(t, thought.Proposals)
	// NaN is not equal to itself; the rest is.
	require.Len(t, came[1].(state.Thought).Proposals, len(thought.Proposals))
	for i, p := range came[1].(state.Thought).Proposals {
		want := thought.Proposals[i]
		assert.Equal(t, math.Float64bits(want.Reason.Proof), math.Float64bits(p.Reason.Proof))
		want.Reason.Proof, p.Reason.Proof = 0, 0
		assert.Equal(t, want, p)
	}
	assert.Equal(t, here[2], came[2])

	var back order
	require.NoError(t, FromWire(ToWire(order{Reckon: true, ID: "U1", Turn: 3, SHA256: e.Model.SHA256, Text: "{", Trail: e.Trail}), &back))
	assert.Equal(t, e.Trail, back.Trail)
	for cut := range 40 {
		text := ToWire(order{Trail: e.Trail})
		require.ErrorIs(t, FromWire(text[:len(text)-1-cut], &back), errWire)
	}
}

// TestWhatAUnitHangsOnAndWhatToolsAreWorthComeFromTheThread: the same as here, to the bit; and Rest ends both.
func TestWhatAUnitHangsOnAndWhatToolsAreWorthComeFromTheThread(t *testing.T) {
	e := exampleReckon(t)
	came := make(chan state.Msg, 10_000)
	s := &sliced{tell: func(m state.Msg) { came <- m }, yield: func() {}, work: slice}
	s.Hang(state.Hang{ID: "U1", Turn: 3, Trail: e.Trail, Model: e.Model})
	hung := (<-came).(state.Hung)
	require.NotNil(t, hung.Lead)
	assert.NotEmpty(t, hung.Lead.Leader)
	assert.NotEmpty(t, hung.Step.Step.Kind)

	s.Weigh(Weigh{Turn: 2, Model: e.Model, Terms: e.Trail.Terms})
	var found state.Weighed
	for found.Units == 0 {
		found = (<-came).(state.Weighed)
		assert.Equal(t, 2, found.Turn)
	}
	assert.Equal(t, weighRound, found.Units)
	assert.Len(t, found.Tools, len(worth.Tools(e.Model, e.Trail.Terms)))
	assert.Equal(t, found.All, found.Done)
	s.Rest()

	var told []state.Msg
	far := &beside{tell: func(m state.Msg) { told = append(told, m) }}
	far.hear(ToWire(answerOf(hung)))
	far.hear(ToWire(answerOf(found)))
	require.Len(t, told, 2)
	want, err := json.Marshal(hung)
	require.NoError(t, err)
	got, err := json.Marshal(told[0])
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got))
	assert.Equal(t, found, told[1])
}

// TestSlicesDoNotChangeWhatIsTold: the settled answer is the same however it is cut.
func TestSlicesDoNotChangeWhatIsTold(t *testing.T) {
	e := exampleReckon(t)
	var first []plan.Proposal
	for _, work := range []int{1, slice, threadSlice, 1 << 20} {
		all := told(t, e, func(tell func(state.Msg)) Engine { return &sliced{tell: tell, yield: func() {}, work: work} })
		proposals := all[1].(state.Thought).Proposals
		for i := range proposals {
			proposals[i].Reason.Proof = 0 // may be NaN
		}
		if first == nil {
			first = proposals
		}
		assert.Equal(t, first, proposals, "slices of %d", work)
	}
}

// TestAThreadThatEndsIsReplaced: what it had not done is done here.
func TestAThreadThatEndsIsReplaced(t *testing.T) {
	e := exampleReckon(t)
	var posted [][]byte
	all := told(t, e, func(tell func(state.Msg)) Engine {
		b := &beside{tell: tell, here: &sliced{tell: tell, yield: func() {}, work: slice}, known: map[string]bool{}}
		b.post = func(text []byte) {
			posted = append(posted, text)
			go b.over()
		}
		return b
	})
	assert.Len(t, all, 3)
	require.Len(t, posted, 1)
	var o order
	require.NoError(t, FromWire(posted[0], &o))
	assert.Equal(t, string(e.Model.Text), o.Text, "the thread is told the model")
}

func TestWhatWasUsedLastIsHeld(t *testing.T) {
	var s shelf[int]
	for i, key := range []string{"a", "b", "c"} {
		s.put(key, i, 2)
	}
	_, ok := s.get("a")
	assert.False(t, ok)
	_, ok = s.get("b")
	assert.True(t, ok)
	s.put("d", 4, 2)
	_, ok = s.get("c")
	assert.False(t, ok, "b was used after it")
	_, ok = s.get("b")
	assert.True(t, ok)
}

// TestPlannersOfSeveralUnitsStandBesideEachOther: the terms of one unit do not throw out what
// was grown for another's.
func TestPlannersOfSeveralUnitsStandBesideEachOther(t *testing.T) {
	e := exampleReckon(t)
	s := &sliced{tell: func(state.Msg) {}, yield: func() {}, work: slice}
	reckon := func(minute float64) plan.Planner {
		trail := *e.Trail
		trail.Terms.MinuteValue = minute
		never := func() bool { return false }
		space, u, _ := s.reckon(state.Reckon{ID: "U1", Turn: 1, Model: e.Model, Trail: &trail}, never)
		planner, err := s.grown(space, u, never)
		require.NoError(t, err)
		return planner
	}
	first := reckon(0.5)
	for i := range plannersHeld - 1 {
		require.NotSame(t, first, reckon(1+float64(i)))
	}
	assert.Same(t, first, reckon(0.5))
	for i := range plannersHeld {
		reckon(100 + float64(i))
	}
	assert.NotSame(t, first, reckon(0.5), "only so many are held")
}

// noted is a store in memory, which counts what is asked of them.
type noted struct {
	saved        map[string][]byte
	loads, keeps int
}

func (n *noted) load(key string) []byte { n.loads++; return n.saved[key] }
func (n *noted) keep(key string, saved []byte) {
	n.keeps++
	n.saved[key] = saved
}

func TestWhatAPlannerGrewIsTakenUpAgain(t *testing.T) {
	e := exampleReckon(t)
	kept := &noted{saved: map[string][]byte{}}
	fresh := func() []state.Msg {
		return told(t, e, func(tell func(state.Msg)) Engine {
			return &sliced{tell: tell, yield: func() {}, work: slice, kept: kept}
		})
	}
	first := fresh()
	require.Equal(t, 1, kept.keeps)
	second := fresh()
	assert.Equal(t, 2, kept.loads)
	assert.Equal(t, 1, kept.keeps, "nothing was grown again")
	assert.Equal(t, ToWire(answerOf(first[1])), ToWire(answerOf(second[1])), "the same to the bit")
	for key := range kept.saved {
		kept.saved[key] = []byte("damaged")
	}
	third := fresh()
	assert.Equal(t, 2, kept.keeps, "what is damaged is grown anew")
	assert.Equal(t, ToWire(answerOf(first[1])), ToWire(answerOf(third[1])))
}

func TestOnlySoManyLibrariesAreKept(t *testing.T) {
	m := browser.NewMemory()
	r := &Runner{Storage: m, Device: &browser.Still{}, Send: func(state.Msg) {}, Go: func(string) {}}
	for i := range libraryCloset.most + 3 {
		shelved{r, libraryCloset, ""}.keep(fmt.Sprint(i), []byte{byte(i)})
	}
	r.Settle()
	for i := range libraryCloset.most + 3 {
		if i < 3 {
			assert.Nil(t, shelved{r, libraryCloset, ""}.load(fmt.Sprint(i)), "the first are dropped")
		} else {
			assert.Equal(t, []byte{byte(i)}, shelved{r, libraryCloset, ""}.load(fmt.Sprint(i)))
		}
	}
}
