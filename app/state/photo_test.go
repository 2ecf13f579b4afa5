package state_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/trail"
)

// withPhotos is a unit on the screen with photographs B and D.
func withPhotos(t *testing.T) state.State {
	s := onUnit(t)
	s, effects := play(s, state.PhotosRead{Unit: "U1", Photos: []state.Photo{{ID: "B", Caption: "hinge"}, {ID: "D", Of: 1}}})
	require.Empty(t, effects)
	require.Len(t, s.Photos.Photos, 2)
	return s
}

func ids(a state.Album) (ids []string) {
	for _, p := range a.Photos {
		ids = append(ids, p.ID)
	}
	return ids
}

func TestTheLimitsAgree(t *testing.T) {
	assert.Equal(t, browser.PhotosMost, state.PhotosMost)
}

func TestPhotographsAreReadWithTheirUnit(t *testing.T) {
	s := ready()
	s, _ = play(s, state.Navigated{Path: "/unit/U1"})
	unit := &trail.Trail{ID: "U1"}
	s, effects := play(s, state.Opened{Trail: unit})
	assert.Contains(t, effects, state.ReadPhotos{Unit: "U1"})
	s, effects = play(s, state.Opened{Trail: unit})
	assert.NotContains(t, effects, state.ReadPhotos{Unit: "U1"}, "what another window recorded is no reason to read them again")
	s, effects = play(s, state.PhotosElsewhere{ID: "U1"})
	assert.Equal(t, []state.Effect{state.ReadPhotos{Unit: "U1"}}, effects)
	s, effects = play(s, state.PhotosElsewhere{ID: "U2"})
	assert.Empty(t, effects)
	s, effects = play(s, state.PhotosRead{Unit: "U2", Photos: []state.Photo{{ID: "Z"}}})
	assert.Empty(t, effects)
	assert.Empty(t, s.Photos.Photos, "those of another unit come too late")
	s, effects = play(s, state.Navigated{Path: "/unit/U1/report"})
	assert.Contains(t, effects, state.ReadPhotos{Unit: "U1", Full: true}, "the report shows them whole")
	s, effects = play(s, state.Navigated{Path: "/settings"})
	assert.Contains(t, effects, state.ForgetPhotos{})
	assert.Empty(t, s.Photos.Unit)
	_, effects = play(s, state.Navigated{Path: "/unit/U1"})
	assert.Contains(t, effects, state.ReadPhotos{Unit: "U1"})
}

func TestWhereAPhotographBelongs(t *testing.T) {
	for _, row := range []struct {
		name string
		make func(*testing.T) state.State
		want state.KeepPhotos
	}{
		{"at intake", func(*testing.T) state.State { s, _ := play(ready(), state.Navigated{Path: "/new"}); return s },
			state.KeepPhotos{Field: "f", Room: 40}},
		{"on a unit: its last step", withPhotos, state.KeepPhotos{Unit: "U1", Field: "f", Of: 1, Room: 38}},
		{"while a note is written: the note", func(t *testing.T) state.State {
			s, _ := play(withPhotos(t), state.OpenSheet{Sheet: state.SheetNote})
			return s
		}, state.KeepPhotos{Unit: "U1", Field: "f", Of: 2, Room: 38}},
	} {
		t.Run(row.name, func(t *testing.T) {
			s, effects := play(row.make(t), state.TakePhotos{Field: "f"})
			assert.Equal(t, []state.Effect{row.want}, effects)
			assert.Equal(t, 1, s.Album().Busy)
			s, _ = play(s, state.PhotosTaken{Unit: row.want.Unit, Refused: []state.Refusal{{Name: "x", Why: state.PhotoCut}}})
			assert.Zero(t, s.Album().Busy)
			assert.Len(t, s.Album().Refused, 1)
			s, _ = play(s, state.TakePhotos{Field: "f"})
			assert.Empty(t, s.Album().Refused, "what was said of other files goes")
		})
	}
	t.Run("there is none where there is no unit", func(t *testing.T) {
		s, effects := play(ready(), state.TakePhotos{Field: "f"})
		assert.Empty(t, effects)
		assert.Nil(t, s.Album())
	})
}

func TestANoteThatIsNotWrittenLeavesItsPhotographs(t *testing.T) {
	s, _ := play(withPhotos(t), state.OpenSheet{Sheet: state.SheetNote}, state.PhotoTaken{Unit: "U1", Photo: state.Photo{ID: "E", Of: 2, Caption: "c"}})
	_, effects := play(s, state.OpenSheet{Sheet: state.NoSheet})
	assert.Equal(t, []state.Effect{state.RenamePhoto{Unit: "U1", ID: "E", Caption: "c", Of: 1}}, effects)
	s, effects = play(s, state.SetText{Text: "a note"}, state.ConfirmSheet{})
	_, effects = play(s, stored(t, effects))
	for _, e := range effects {
		_, renamed := e.(state.RenamePhoto)
		assert.False(t, renamed, "the note was written")
	}
}

func TestPhotographsStayInOrder(t *testing.T) {
	s, _ := play(withPhotos(t), state.PhotoTaken{Unit: "U1", Photo: state.Photo{ID: "C"}}, state.PhotoTaken{Unit: "U1", Photo: state.Photo{ID: "A"}},
		state.PhotoTaken{Unit: "U1", Photo: state.Photo{ID: "E", Unsaved: true}}, state.PhotoTaken{Unit: "U2", Photo: state.Photo{ID: "X"}})
	assert.Equal(t, []string{"A", "B", "C", "D", "E"}, ids(s.Photos))
	assert.Equal(t, 1, s.Photos.Unsaved())
	before := s
	s, effects := play(s, state.StorePhotos{})
	assert.Equal(t, []state.Effect{state.KeepUnsaved{Unit: "U1"}}, effects)
	s, _ = play(s, state.PhotoTaken{Unit: "U1", Photo: state.Photo{ID: "E"}})
	assert.Zero(t, s.Photos.Unsaved())
	assert.Equal(t, 1, before.Photos.Unsaved(), "a snapshot is not written through")
	s, _ = play(s, state.PhotoGone{Unit: "U1", ID: "B"})
	assert.Equal(t, []string{"A", "C", "D", "E"}, ids(s.Photos))
	assert.Len(t, before.Photos.Photos, 5)
}

func TestAPhotographIsLookedAtNamedAndRemoved(t *testing.T) {
	s, effects := play(withPhotos(t), state.ShowPhoto{ID: "B"})
	assert.Equal(t, []state.Effect{state.OpenPhoto{Unit: "U1", ID: "B"}}, effects)
	assert.Equal(t, "hinge", s.Photos.Caption)
	s, _ = play(s, state.PhotoShown{Unit: "U1", ID: "D", Address: "late"})
	assert.Empty(t, s.Photos.Large)
	s, _ = play(s, state.PhotoShown{Unit: "U1", ID: "B", Address: "here"})
	assert.Equal(t, "here", s.Photos.Large)

	named, effects := play(s, state.SetCaption{Text: " lid "}, state.KeepCaption{})
	assert.Equal(t, []state.Effect{state.ClosePhoto{}, state.RenamePhoto{Unit: "U1", ID: "B", Caption: "lid"}}, effects)
	assert.Empty(t, named.Photos.Shown)

	_, effects = play(s, state.RemovePhoto{})
	assert.Empty(t, effects, "it is asked first")
	_, effects = play(s, state.AskRemove{On: true}, state.AskRemove{}, state.RemovePhoto{})
	assert.Empty(t, effects)
	s, effects = play(s, state.AskRemove{On: true}, state.RemovePhoto{})
	assert.Equal(t, []state.Effect{state.ClosePhoto{}, state.DropPhoto{Unit: "U1", ID: "B"}}, effects)
	s, _ = play(s, state.PhotoGone{Unit: "U1", ID: "B"})
	assert.Empty(t, s.Photos.Shown)
	_, effects = play(s, state.ShowPhoto{ID: "D"}, state.ShowPhoto{ID: "D"})
	assert.Equal(t, []state.Effect{state.ClosePhoto{}}, effects, "tapped again it is put away")
}

func TestThePhotographsOfTheIntakeGoWithTheUnit(t *testing.T) {
	s, _ := play(ready(), state.Navigated{Path: "/new"})
	s, _ = play(s, state.ModelLoaded{ID: "example", Model: example(t)}, state.SetLabel{Text: "Grey one"}, state.Answer{Test: "first-boot", Outcome: "asks"},
		state.TakePhotos{Field: "f"})
	_, effects := play(s, state.StartUnit{})
	assert.Empty(t, effects, "not before every file was looked at")
	s, _ = play(s, state.PhotoTaken{Photo: state.Photo{ID: "A"}}, state.PhotosTaken{})
	elsewhere, _ := play(s, state.Navigated{Path: "/"}, state.Navigated{Path: "/new"})
	assert.Equal(t, []string{"A"}, ids(*elsewhere.Album()), "they wait with the rest of the draft")
	s, effects = play(s, state.StartUnit{})
	require.IsType(t, state.Create{}, effects[0])
	created, _ := play(s, state.Created{Trail: &trail.Trail{ID: "U9"}})
	assert.Empty(t, created.Intake.Photos)

	failed, _ := play(s, state.CreateFailed{Trouble: state.TroubleFull, Trail: &trail.Trail{ID: "U9", Events: []trail.Event{{N: 1, Kind: trail.Note, Text: "x"}}}},
		state.Navigated{Path: "/unit/U9"})
	assert.Equal(t, "U9", failed.Photos.Unit)
	assert.Equal(t, []state.Photo{{ID: "A", Unsaved: true}}, failed.Photos.Photos, "in memory, beside the unit")
}

func TestExportsLeavePhotographsOutUnlessAsked(t *testing.T) {
	for _, on := range []bool{false, true} {
		s, _ := play(withPhotos(t), state.WithPhotos{On: on})
		_, effects := play(s, state.TakeAway{Form: state.FormTrailFull, Way: state.WaySave})
		require.Len(t, effects, 1)
		assert.Equal(t, on, effects[0].(state.TakeOut).Photos)
		_, effects = play(s, state.BackUp{Way: state.WayShare})
		assert.Equal(t, []state.Effect{state.BackUp{Way: state.WayShare, Photos: on}}, effects)
	}
	_, effects := play(withPhotos(t), state.BackUp{Way: state.WaySave})
	assert.Equal(t, []state.Effect{state.BackUp{Way: state.WaySave}}, effects)
}
