package runner_test

import (
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/state"
)

// note writes a note and waits until it is stored, or is in memory.
func (b *bench) note(text string) state.State {
	b.t.Helper()
	n := len(b.now().Unit.Trail.Events)
	b.send(state.OpenSheet{Sheet: state.SheetNote})
	b.send(state.SetText{Text: text})
	b.send(state.ConfirmSheet{})
	return b.until("the note is on the trail", func(s state.State) bool { return !s.Unit.Saving && len(s.Unit.Trail.Events) == n+1 })
}

// sameAsShown requires that the storage holds exactly the trail on the screen.
func (b *bench) sameAsShown() {
	b.t.Helper()
	s := b.now()
	u, events, err := b.storage.Unit(s.Unit.Trail.ID)
	require.NoError(b.t, err)
	got, aside, err := browser.Assemble(u, events)
	require.NoError(b.t, err)
	assert.Empty(b.t, aside)
	assert.Equal(b.t, s.Unit.Trail, got)
}

func TestTheBrowserClearsTheStorageUnderThePage(t *testing.T) {
	for name, quiet := range map[string]bool{"and says so": false, "and says nothing": true} {
		t.Run(name, func(t *testing.T) {
			m := browser.NewMemory()
			b := sampled(t, m)
			b.note("before")
			if quiet {
				m.Wipe()
			} else {
				m.Clear()
				s := b.until("the person is told", func(s state.State) bool { return s.Storage.Trouble == state.TroubleLost })
				assert.Equal(t, 3, s.Unit.Unsaved, "all of it is only in memory")
			}
			text := b.saves(state.TakeAway{Form: state.FormTrail, Way: state.WaySave}).Text
			assert.Contains(t, text, "before", "it can be taken away at once")
			if quiet {
				s := b.note("after")
				assert.Equal(t, state.TroubleLost, s.Storage.Trouble)
				assert.Equal(t, 4, s.Unit.Unsaved)
				b.send(state.SaveAgain{})
			} else {
				b.note("after") // stores the whole unit
			}
			s := b.until("it is stored again", func(s state.State) bool { return s.Unit.Unsaved == 0 && !s.Unit.Saving })
			assert.Equal(t, state.NoTrouble, s.Storage.Trouble)
			assert.Len(t, s.Unit.Trail.Events, 4)
			b.sameAsShown()
			_, err := b.storage.Model(s.Unit.Trail.Model.SHA256)
			require.NoError(t, err, "its model too")
			b.note("and on")
			b.sameAsShown()
		})
	}
	t.Run("between two loads: there is no such unit, and nothing breaks", func(t *testing.T) {
		b := newBench(t, browser.NewMemory())
		b.send(state.Navigated{Path: "/unit/" + state.SampleID})
		b.until("the person is told", func(s state.State) bool { return s.Absent == state.TroubleGone })
		b.send(state.Navigated{Path: "/"})
		b.runner.Settle()
		assert.Empty(t, b.now().Cards)
	})
}

func TestAUnitBegunWithNoRoomIsStoredOnceThereIs(t *testing.T) {
	m := browser.NewMemory()
	b := newBench(t, m)
	var full atomic.Bool
	full.Store(true)
	m.Refuse(func(call string) error {
		if full.Load() && (call == "create" || call == "append" || call == "add-photo") {
			return browser.ErrFull
		}
		return nil
	})
	b.send(state.Navigated{Path: "/new"})
	b.put(shot(t, grey, ""))
	b.send(state.PickModel{ID: "top-loader"})
	b.until("the model is there", func(s state.State) bool { return s.Draft.Model != nil })
	b.send(state.SetLabel{Text: "Grey one"})
	b.complain()
	b.send(state.StartUnit{})
	s := b.until("the unit is in memory", func(s state.State) bool {
		return s.Unit != nil && s.Unit.Unsaved == 1 && s.Route.Unit == s.Unit.Trail.ID
	})
	assert.Equal(t, state.TroubleFull, s.Storage.Trouble)
	assert.Equal(t, 1, s.Photos.Unsaved(), "and so is its photograph")
	b.note("while there is no room")
	b.send(state.SaveAgain{})
	b.runner.Settle()
	assert.Equal(t, 2, b.now().Unit.Unsaved)
	full.Store(false)
	b.send(state.SaveAgain{})
	s = b.until("it is stored", func(s state.State) bool { return s.Unit.Unsaved == 0 && !s.Unit.Saving })
	assert.Equal(t, state.NoTrouble, s.Storage.Trouble)
	b.sameAsShown()
	b.send(state.StorePhotos{})
	b.until("the photograph too", func(s state.State) bool { return s.Photos.Unsaved() == 0 })
	assert.Len(t, inStore(t, m, s.Unit.Trail.ID), 1)
}

func TestADamagedUnitGoesOn(t *testing.T) {
	m := browser.NewMemory()
	b := sampled(t, m)
	b.note("three")
	b.note("four")
	m.Spoil(state.SampleID, 3, func(e *browser.EventRecord) { e.JSON = strings.Replace(e.JSON, "three", "thref", 1) })

	other := newBench(t, m)
	other.send(state.Navigated{Path: "/unit/" + state.SampleID})
	other.shows(state.SampleID)
	s := other.now()
	require.Len(t, s.Unit.Trail.Events, 2)
	require.Len(t, s.Unit.Damaged, 2)
	s = other.note("instead")
	assert.Equal(t, state.NoticeRecorded, s.Notice.Kind, "no other window is blamed")
	other.sameAsShown()

	third := newBench(t, m)
	third.send(state.Navigated{Path: "/unit/" + state.SampleID})
	third.shows(state.SampleID)
	s = third.now()
	assert.Len(t, s.Unit.Trail.Events, 3)
	require.Len(t, s.Unit.Damaged, 2, "what was set aside stays, as it was")
	text := third.saves(state.TakeAway{Form: state.FormDamaged, Way: state.WaySave}).Text
	assert.Contains(t, text, "thref")
	assert.Contains(t, text, "four")
}

func TestOnlyDamageIsSetAside(t *testing.T) {
	m := browser.NewMemory()
	one := sampled(t, m)
	two := sampled(t, m)
	one.note("mine")
	two.send(state.OpenSheet{Sheet: state.SheetNote})
	two.send(state.SetText{Text: "late"})
	two.send(state.ConfirmSheet{})
	two.until("the second writer is told", func(s state.State) bool { return s.Notice.Kind == state.NoticeClash })
	two.runner.Settle()
	aside, err := m.Aside(state.SampleID)
	require.NoError(t, err)
	assert.Empty(t, aside)
	two.sameAsShown()
}

func TestAUnitWhoseHeadCannotBeRead(t *testing.T) {
	m := browser.NewMemory()
	b := sampled(t, m)
	b.note("kept")
	m.SpoilHead(state.SampleID, func(u *browser.UnitRecord) { u.Head = u.Head[:20] })
	other := newBench(t, m)
	other.send(state.Navigated{Path: "/"})
	other.until("the list says so", func(s state.State) bool { return len(s.Cards) == 1 && s.Cards[0].Damaged })
	other.send(state.Navigated{Path: "/unit/" + state.SampleID})
	other.until("the person is told", func(s state.State) bool { return s.Absent == state.TroubleRead })
	text := other.saves(state.SaveRaw{ID: state.SampleID}).Text
	assert.Len(t, strings.Split(strings.TrimSpace(text), "\n"), 4, "the head and every event")
	assert.Contains(t, text, "kept")
}

func TestTheBenchIsToBeTakenAwayWhereItMayBeCleared(t *testing.T) {
	m := browser.NewMemory()
	b := newBench(t, m)
	assert.False(t, b.now().Unbacked(), "there is nothing to lose")
	b.intake()
	b.send(state.SetLabel{Text: "Grey one"})
	b.complain()
	b.send(state.StartUnit{})
	b.until("the promise was refused", func(s state.State) bool { return s.Unit != nil && s.Storage.Asked && !s.Storage.Persisted })
	b.send(state.Navigated{Path: "/"})
	b.until("the person is asked", func(s state.State) bool { return s.Unbacked() })
	b.saves(state.BackUp{Way: state.WaySave})
	b.until("and not any more", func(s state.State) bool { return !s.Unbacked() })
	b.runner.Settle()
	again := newBench(t, m)
	assert.False(t, again.now().Unbacked(), "also after another load")
	again.send(state.Navigated{Path: "/unit/" + again.now().Cards[0].ID})
	again.until("the unit is there", func(s state.State) bool { return s.Unit != nil })
	again.runner.Settle()
	again.device.Lock()
	again.device.At = again.device.At.AddDate(0, 0, 1)
	again.device.Unlock()
	again.note("something new")
	again.send(state.Navigated{Path: "/"})
	again.until("what is new is in no file", func(s state.State) bool { return s.Unbacked() })

	forgetful := newBench(t, m)
	forgetful.runner.Settle()
	forgetful.device.Lock()
	forgetful.device.Forgetful = true
	forgetful.device.Unlock()
	forgetful.send(state.Persist{})
	forgetful.until("the person is told how the page stays", func(s state.State) bool { return s.Storage.Forgets && s.Unbacked() })

	kept := newBench(t, m)
	kept.runner.Settle()
	kept.device.Lock()
	kept.device.Persists = true
	kept.device.Unlock()
	kept.send(state.Persist{})
	s := kept.until("the promise is given", func(s state.State) bool { return s.Storage.Persisted })
	assert.False(t, s.Unbacked())
	assert.False(t, s.Storage.Forgets)
	assert.Positive(t, s.Storage.Room)
}

func TestRoomIsMeasuredWithoutHidingATrouble(t *testing.T) {
	m := browser.NewMemory()
	m.Refuse(func(call string) error {
		if call == "open" {
			return browser.ErrBlocked
		}
		return nil
	})
	b := newBench(t, m)
	assert.Equal(t, state.TroubleOld, b.now().Storage.Trouble)
	b.send(state.Navigated{Path: "/settings"})
	s := b.until("the room is measured", func(s state.State) bool { return s.Storage.Room > 0 })
	assert.Equal(t, state.TroubleOld, s.Storage.Trouble)
}

func TestAStepThatIsOnlyInMemoryOutlivesTheBenchList(t *testing.T) {
	m := browser.NewMemory()
	var full atomic.Bool
	full.Store(false)
	m.Refuse(func(call string) error {
		if full.Load() && (call == "append" || call == "create") {
			return browser.ErrFull
		}
		return nil
	})
	b := sampled(t, m)
	full.Store(true)
	b.note("no room")
	b.send(state.Navigated{Path: "/"})
	b.until("it is on the list as what it is", func(s state.State) bool { return s.Unit == nil && len(s.Shown()) == 1 && s.Shown()[0].Unsaved == 1 })
	text := b.saves(state.BackUp{Way: state.WaySave}).Text
	assert.Contains(t, text, "no room", "it goes into a back-up")
	b.send(state.Navigated{Path: "/unit/" + state.SampleID})
	b.until("it is there again", func(s state.State) bool { return s.Unit != nil && s.Unit.Unsaved == 1 })
	b.send(state.Navigated{Path: "/"})
	full.Store(false)
	b.send(state.SaveAgain{})
	b.until("it is stored", func(s state.State) bool {
		return s.Unsaved() == 0 && len(s.Pending) == 0 && s.Storage.Trouble == state.NoTrouble
	})
	_, events, err := m.Unit(state.SampleID)
	require.NoError(t, err)
	assert.Contains(t, events[len(events)-1].JSON, "no room")
}

func TestThePhotographOfADraftIsNotTheSamples(t *testing.T) {
	m := browser.NewMemory()
	b := newBench(t, m)
	b.intake()
	b.send(state.SetLabel{Text: "Black one"})
	b.put(shot(t, grey, ""))
	b.send(state.CreateSample{})
	b.shows(state.SampleID)
	b.runner.Settle()
	assert.Empty(t, inStore(t, m, state.SampleID))
	b.send(state.Navigated{Path: "/new"})
	s := b.now()
	assert.Equal(t, "Black one", s.Draft.Label)
	assert.Len(t, s.Intake.Photos, 1)
	b.complain()
	b.send(state.StartUnit{})
	s = b.until("the unit is begun", func(s state.State) bool { return s.Unit != nil && s.Unit.Trail.Unit.Label == "Black one" })
	b.runner.Settle()
	assert.Len(t, inStore(t, m, s.Unit.Trail.ID), 1)
}
