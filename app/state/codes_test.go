package state_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/state"
)

func TestCodesOfAUnit(t *testing.T) {
	s, effects := play(onUnit(t), state.OpenSheet{Sheet: state.SheetCodes})
	require.Equal(t, []state.Effect{state.ShowTop{}, state.MakeCodes{Trail: s.Unit.Trail}}, effects, "a sheet shows from its top")
	three := make([]state.Code, 3)
	id := s.Unit.Trail.ID
	showing, _ := play(s, state.CodesMade{ID: id, Codes: three})
	at := func(s state.State) int { return s.Unit.Codes.At }

	t.Run("they are turned by hand, and no further than there are", func(t *testing.T) {
		s, effects := play(showing, state.TurnCode{To: 2}, state.TurnCode{To: 3}, state.TurnCode{To: -1})
		assert.Empty(t, effects)
		assert.Equal(t, 2, at(s))
	})
	t.Run("they turn by themselves, round and round, until a person turns or stops them", func(t *testing.T) {
		s, effects := play(showing, state.PlayCodes{On: true})
		for _, want := range []int{1, 2, 0, 1} {
			require.Len(t, effects, 1)
			s, effects = play(s, state.CodeTurned(effects[0].(state.TurnLater)))
			assert.Equal(t, want, at(s))
		}
		late := state.CodeTurned(effects[0].(state.TurnLater))
		for _, stop := range []state.Msg{state.TurnCode{To: 0}, state.PlayCodes{}, state.OpenSheet{}} {
			stopped, none := play(s, stop)
			assert.Empty(t, none)
			assert.False(t, stopped.Unit.Codes.Turning)
			after, none := play(stopped, late)
			assert.Empty(t, none)
			assert.Equal(t, at(stopped), at(after), "what was on its way comes too late")
		}
		again, effects := play(s, state.PlayCodes{}, state.PlayCodes{On: true})
		require.Len(t, effects, 1)
		after, none := play(again, late)
		assert.Empty(t, none, "an older turning does not make a newer one twice as fast")
		assert.Equal(t, at(again), at(after))
	})
	t.Run("one code does not turn", func(t *testing.T) {
		one, _ := play(s, state.CodesMade{ID: id, Codes: three[:1]})
		one, effects := play(one, state.PlayCodes{On: true})
		assert.Empty(t, effects)
		assert.False(t, one.Unit.Codes.Turning)
	})
	t.Run("a unit without codes is too long for them", func(t *testing.T) {
		large, _ := play(s, state.CodesMade{ID: id})
		assert.True(t, large.Unit.Codes.Large)
	})
	t.Run("codes of another unit, or that nobody waits for any more, are dropped", func(t *testing.T) {
		other, _ := play(s, state.CodesMade{ID: "another", Codes: three})
		assert.Empty(t, other.Unit.Codes.List)
		closed, _ := play(s, state.OpenSheet{}, state.CodesMade{ID: id, Codes: three})
		assert.Empty(t, closed.Unit.Codes.List)
	})
}

func TestTheCameraLooksNoLongerThanItsScreenIsThere(t *testing.T) {
	looking, effects := play(ready(), state.Navigated{Path: "/move"}, state.LookForCodes{})
	require.Equal(t, []state.Effect{state.WatchCodes{}}, effects)
	require.True(t, looking.Reader.Camera)
	seen, _ := play(looking, state.CodesSeen{Of: 3, Missing: []int{2}, Said: state.ReaderForeign})
	t.Run("leaving the screen ends it, and what was read stays", func(t *testing.T) {
		s, effects := play(seen, state.Navigated{Path: "/"})
		assert.Contains(t, effects, state.StopCodes{})
		assert.Equal(t, state.Reader{Of: 3, Missing: []int{2}}, s.Reader)
		_, effects = play(s, state.Navigated{Path: "/settings"})
		assert.NotContains(t, effects, state.StopCodes{}, "once is enough")
	})
	t.Run("a camera that cannot be used looks no more", func(t *testing.T) {
		s, _ := play(looking, state.CodesSeen{Said: state.ReaderBlind})
		assert.Equal(t, state.Reader{Said: state.ReaderBlind}, s.Reader)
	})
	t.Run("begun anew nothing was read", func(t *testing.T) {
		s, effects := play(seen, state.CodesAnew{})
		assert.Equal(t, []state.Effect{state.StopCodes{}, state.ForgetCodes{}}, effects)
		assert.Equal(t, state.Reader{}, s.Reader)
	})
	t.Run("the unit that was read is gone to", func(t *testing.T) {
		s, effects := play(seen, state.Imported{ID: "U9", New: 4})
		assert.Contains(t, effects, state.GoTo{Path: "/unit/U9"})
		assert.Equal(t, state.Reader{}, s.Reader)
	})
}

func TestAMoveEndsWithWhatIsHere(t *testing.T) {
	held := state.Held{Units: 2, Steps: 9, Check: "4f2a 91c0"}
	s, _ := play(ready(), state.Navigated{Path: "/move"}, state.Taken{Way: state.WaySave, Bench: true, At: "2026-03-04T12:00:00Z", Held: &held})
	require.Equal(t, &held, s.Moving.Out)
	s, effects := play(s, state.Imported{Bench: true, New: 9})
	assert.True(t, s.Moving.Checking)
	for _, e := range effects {
		_, away := e.(state.GoTo)
		assert.False(t, away, "the check is said on the screen of the move")
	}
	s, _ = play(s, state.Moved{Held: held})
	assert.False(t, s.Moving.Checking)
	assert.Equal(t, &held, s.Moving.In)
	_, effects = play(s, state.Navigated{Path: "/"}, state.Imported{Bench: true, New: 9})
	assert.Contains(t, effects, state.GoTo{Path: "/"}, "elsewhere it leads to the bench")
}
