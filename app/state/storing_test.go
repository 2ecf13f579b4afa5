package state_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
	"pitwise/engine/trail"
)

// refused answers the Append among the effects as a storage that fails would.
func refused(t *testing.T, effects []state.Effect, trouble state.Trouble) state.AppendFailed {
	t.Helper()
	a := stored(t, effects)
	return state.AppendFailed{ID: a.ID, Events: a.Events, Trouble: trouble, Detail: "no room"}
}

// asked returns what the effects ask to be stored of a unit.
func asked(effects []state.Effect, id string) (all []state.Append) {
	for _, e := range effects {
		if a, ok := e.(state.Append); ok && a.ID == id {
			all = append(all, a)
		}
	}
	return all
}

func TestAFailureIsToldAfterThePersonLeftTheScreen(t *testing.T) {
	for name, path := range map[string]string{"to the bench": "/", "to the intake": "/new", "to another unit": "/unit/U2"} {
		t.Run(name, func(t *testing.T) {
			before, effects := play(onUnit(t), state.SawOutcome{Test: "first-boot", Outcome: "still"})
			answer := refused(t, effects, state.TroubleFull)
			kept := before.Unit.Trail
			s, _ := play(before, state.Navigated{Path: path}, answer)
			assert.Nil(t, s.Unit)
			assert.Equal(t, state.TroubleFull, s.Storage.Trouble, "the person is told")
			assert.Equal(t, 1, s.Unsaved(), "and how much it is")
			assert.Len(t, kept.Events, 1, "the state before is as it was")

			s, effects = play(s, state.Navigated{Path: "/unit/U1"})
			require.NotNil(t, s.Unit, "it is here, whatever the storage does")
			assert.Len(t, s.Unit.Trail.Events, 2)
			assert.Contains(t, effects, state.Open{ID: "U1"})
			s, effects = play(s, state.Opened{Trail: kept, Model: s.Unit.Model})
			require.Len(t, s.Unit.Trail.Events, 2, "put after what is stored")
			assert.Equal(t, 1, s.Unit.Unsaved)
			assert.Equal(t, trail.Result, s.Unit.Trail.Events[1].Kind)
			assert.Empty(t, s.Pending)
			assert.Empty(t, asked(effects, "U1"), "nobody asked to store it again")
		})
	}
}

func TestAFailureOfAUnitThatNobodyHoldsChangesNothing(t *testing.T) {
	before := onUnit(t)
	s, effects := play(before, state.AppendFailed{ID: "U7", Events: []trail.Event{{N: 1}}, Trouble: state.TroubleFull})
	assert.Equal(t, before, s)
	assert.Empty(t, effects)
}

func TestStepsInMemoryOutliveTheWayBackToTheBench(t *testing.T) {
	s, effects := play(onUnit(t), state.SawOutcome{Test: "first-boot", Outcome: "still"})
	s, _ = play(s, refused(t, effects, state.TroubleFull))
	one := s.Unit.Trail
	s, _ = play(s, state.Navigated{Path: "/"})
	assert.Equal(t, 1, s.Unsaved())
	require.Len(t, s.Shown(), 1, "the list has it")
	assert.Equal(t, 1, s.Shown()[0].Unsaved)

	// A second unit cannot be stored either.
	s, _ = play(s, state.Navigated{Path: "/unit/U2"}, state.Opened{Model: example(t), Trail: &trail.Trail{ID: "U2", Model: one.Model}})
	s, effects = play(s, state.Move{To: "open"})
	s, _ = play(s, refused(t, effects, state.TroubleFull))
	assert.Equal(t, 2, s.Unsaved(), "all of them are counted")

	t.Run("both go into a back-up", func(t *testing.T) {
		_, effects := play(s, state.BackUp{Way: state.WaySave})
		require.Len(t, effects, 1)
		memory := effects[0].(state.BackUp).Memory
		require.Len(t, memory, 2)
		assert.Equal(t, one, memory[0].Trail)
	})
	t.Run("one tap stores both", func(t *testing.T) {
		s, effects := play(s, state.SaveAgain{})
		require.Len(t, asked(effects, "U1"), 1)
		require.Len(t, asked(effects, "U2"), 1)
		s, more := play(s, state.Appended{ID: "U1", Events: asked(effects, "U1")[0].Events})
		assert.Empty(t, asked(more, "U2"), "it is on its way already")
		assert.Equal(t, state.TroubleFull, s.Storage.Trouble, "not all is stored")
		s, _ = play(s, state.Appended{ID: "U2", Events: asked(effects, "U2")[0].Events})
		assert.Zero(t, s.Unsaved())
		assert.Empty(t, s.Pending)
		assert.Equal(t, state.NoTrouble, s.Storage.Trouble)
	})
	t.Run("when there is room for one the others are tried too", func(t *testing.T) {
		s, effects := play(s, state.Move{To: "closed"})
		s, effects = play(s, stored(t, effects))
		assert.Zero(t, s.Unit.Unsaved)
		require.Len(t, asked(effects, "U1"), 1)
		assert.Equal(t, one.Events[1:], asked(effects, "U1")[0].Events)
		s, _ = play(s, stored(t, effects))
		assert.Empty(t, s.Pending)
		assert.Equal(t, state.NoTrouble, s.Storage.Trouble)
	})
	t.Run("another window wrote meanwhile: it is read, and ours put after it", func(t *testing.T) {
		s, effects := play(s, state.SaveAgain{})
		s, effects = play(s, refused(t, asked2(effects, "U1"), state.TroubleClash))
		assert.Equal(t, []state.Effect{state.Open{ID: "U1"}}, effects)
		assert.NotEqual(t, state.NoticeClash, s.Notice.Kind, "no tap was lost")
		theirs := *one
		theirs.Events = append(append([]trail.Event(nil), one.Events[:1]...), trail.Event{N: 2, At: "2026-03-04T10:15:00Z", Kind: trail.Note, Text: "theirs"})
		s, effects = play(s, state.Opened{Trail: &theirs, Model: s.Unit.Model})
		require.Len(t, asked(effects, "U1"), 1)
		assert.Equal(t, 3, asked(effects, "U1")[0].Events[0].N)
		assert.Equal(t, "U2", s.Unit.Trail.ID, "the screen stays what it is")
	})
	t.Run("what is stored after all is not stored twice", func(t *testing.T) {
		s, _ := play(s, state.Navigated{Path: "/unit/U1"}, state.Opened{Trail: one, Model: s.Unit.Model})
		assert.Zero(t, s.Unit.Unsaved)
		assert.Equal(t, one.Events, s.Unit.Trail.Events)
	})
	t.Run("a storage that cannot be read takes nothing off the screen", func(t *testing.T) {
		s, _ := play(s, state.Navigated{Path: "/unit/U1"}, state.OpenFailed{ID: "U1", Trouble: state.TroubleOther})
		require.NotNil(t, s.Unit)
		assert.Equal(t, one, s.Unit.Trail)
		assert.Equal(t, state.NoticeTrouble, s.Notice.Kind)
	})
	t.Run("the storage is cleared: all of both is in memory only", func(t *testing.T) {
		s, _ := play(s, state.StorageLost{})
		assert.Equal(t, len(one.Events)+len(s.Unit.Trail.Events), s.Unsaved())
	})
}

// asked2 is the effects that ask to store of one unit.
func asked2(effects []state.Effect, id string) (all []state.Effect) {
	for _, a := range asked(effects, id) {
		all = append(all, a)
	}
	return all
}

func TestAUnitThatLivesInMemoryOnlyIsOnTheBench(t *testing.T) {
	made := &trail.Trail{ID: "U9", Unit: trail.Unit{Label: "Blue one"}, Events: []trail.Event{{N: 1, Kind: trail.Result, Test: "first-boot", Outcome: "asks"}}}
	s, _ := play(ready(), state.Navigated{Path: "/new"}, state.CreateFailed{Trouble: state.TroubleFull, Trail: made, Model: example(t)},
		state.Navigated{Path: "/unit/U9"}, state.Navigated{Path: "/"})
	require.Len(t, s.Shown(), 1)
	assert.Equal(t, "Blue one", s.Shown()[0].Label)
	s, effects := play(s, state.Navigated{Path: "/unit/U9"})
	require.NotNil(t, s.Unit)
	assert.NotContains(t, effects, state.Open{ID: "U9"}, "there is nothing to read")
	_, effects = play(s, state.SaveAgain{})
	require.Len(t, asked(effects, "U9"), 1)
	assert.True(t, asked(effects, "U9")[0].Whole)
}

func TestTheSampleLeavesTheDraftAlone(t *testing.T) {
	draft, _ := play(ready(), state.Navigated{Path: "/new"}, state.ModelLoaded{ID: "example", Model: example(t)},
		state.SetLabel{Text: "Black one, shelf 3"}, state.PhotoTaken{Photo: state.Photo{ID: "P1"}}, state.Navigated{Path: "/"})
	sampled := &trail.Trail{ID: state.SampleID, Events: []trail.Event{{N: 1, Kind: trail.Note, Text: "x"}}}
	for name, answer := range map[string]state.Msg{
		"stored":     state.Created{Trail: sampled, Sample: true},
		"not stored": state.CreateFailed{Trail: sampled, Trouble: state.TroubleFull, Sample: true},
	} {
		t.Run(name, func(t *testing.T) {
			s, _ := play(draft, state.CreateSample{}, answer)
			assert.Equal(t, "Black one, shelf 3", s.Draft.Label)
			assert.Len(t, s.Intake.Photos, 1)
			assert.Empty(t, s.Photos.Photos)
		})
	}
	t.Run("and is shown under its own model", func(t *testing.T) {
		other := *example(t)
		other.ID = "of the sample"
		s, _ := play(draft, state.CreateFailed{Trail: sampled, Trouble: state.TroubleFull, Model: &other, Sample: true})
		assert.Equal(t, "of the sample", s.Unit.Model.ID)
	})
}
