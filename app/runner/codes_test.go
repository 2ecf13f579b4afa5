package runner_test

import (
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/parcel"
	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/engine/trail"
)

// moved is a unit of some length, and its codes as a camera reads them.
func moved(t *testing.T, seed int) (*trail.Trail, []string) {
	m := shelfPlayer(t)
	b := newBench(t, browser.NewMemory())
	b.readIn(m)
	s := b.begin("Green player, read by its codes")
	tr := *s.Unit.Trail
	for n := len(tr.Events) + 1; n < 30; n++ {
		tr.Events = append(tr.Events, trail.Event{N: n, At: fmt.Sprintf("2026-03-04T11:%02d:00Z", n), Kind: trail.Note, Text: fmt.Sprintf("%d turns, %x", n*n, sha256.Sum256([]byte{byte(n), byte(seed)}))})
	}
	parts, err := parcel.Split(tr.Encode())
	require.NoError(t, err)
	require.Greater(t, len(parts), 3)
	return &tr, parts
}

func TestAUnitComesInByItsCodes(t *testing.T) {
	tr, parts := moved(t, 1)
	backwards := slices.Clone(parts)
	slices.Reverse(backwards)
	here := func(t *testing.T, b *bench) {
		t.Helper()
		s := b.until("the unit is here", func(s state.State) bool { return s.Unit != nil && s.Unit.Trail.ID == tr.ID })
		assert.Equal(t, tr.Encode(), s.Unit.Trail.Encode())
		assert.Equal(t, state.Reader{}, s.Reader)
	}
	t.Run("by the camera, in any order, twice, with other codes between and one read wrongly", func(t *testing.T) {
		b := newBench(t, browser.NewMemory())
		for i, part := range backwards {
			b.device.Sights = append(b.device.Sights, []string{part}, []string{part}, nil)
			if i == 1 {
				b.device.Sights = append(b.device.Sights, []string{"a menu of the pub next door"}, []string{part[:len(part)-1] + "Z"}, backwards[:1])
			}
		}
		var said []state.ReaderSaid
		b.hear(func(m state.Msg) {
			if m, ok := m.(state.CodesSeen); ok {
				said = append(said, m.Said)
			}
		})
		b.send(state.Navigated{Path: "/move"})
		b.send(state.LookForCodes{})
		here(t, b)
		assert.Contains(t, said, state.ReaderForeign)
		assert.Contains(t, said, state.ReaderDamaged)
		assert.Len(t, said, len(parts)+3, "a code that still stands there is read once")
	})
	t.Run("by photographs, in two goes", func(t *testing.T) {
		b := newBench(t, browser.NewMemory())
		b.send(state.Navigated{Path: "/move"})
		b.device.Puts = []browser.File{{Name: "one.jpg", Text: strings.Join(parts[2:], "\n")}, {Name: "cup.jpg"}, {Name: "broken.jpg", Text: "%"}, {Name: "two.jpg", Text: parts[0]}}
		b.send(state.PickCodes{})
		s := b.until("all but one are here", func(s state.State) bool { return slices.Equal(s.Reader.Missing, []int{2}) })
		assert.Equal(t, len(parts), s.Reader.Of)
		b.device.Lock()
		b.device.Puts = []browser.File{{Name: "three.jpg", Text: parts[1]}}
		b.device.Unlock()
		b.send(state.PickCodes{})
		here(t, b)
	})
	t.Run("a code of another unit is told and changes nothing", func(t *testing.T) {
		_, others := moved(t, 2)
		b := newBench(t, browser.NewMemory())
		b.send(state.Navigated{Path: "/move"})
		b.device.Puts = []browser.File{{Name: "one.jpg", Text: parts[0] + "\n" + others[1]}}
		b.send(state.PickCodes{})
		s := b.until("it is told", func(s state.State) bool { return s.Reader.Said == state.ReaderOther })
		assert.Equal(t, len(parts)-1, len(s.Reader.Missing))
		b.send(state.CodesAnew{})
		b.device.Lock()
		b.device.Puts = []browser.File{{Name: "one.jpg", Text: others[1]}}
		b.device.Unlock()
		b.send(state.PickCodes{})
		b.until("it is the first of another", func(s state.State) bool { return s.Reader.Of == len(others) && s.Reader.Said == state.ReaderNothing })
	})
	t.Run("no camera is told", func(t *testing.T) {
		b := newBench(t, browser.NewMemory())
		b.send(state.LookForCodes{})
		b.until("it is told", func(s state.State) bool { return s.Reader.Said == state.ReaderBlind && !s.Reader.Camera })
	})
	t.Run("a camera that was stopped reads nothing more", func(t *testing.T) {
		b := newBench(t, browser.NewMemory())
		b.device.Sights = [][]string{{parts[0]}}
		b.send(state.LookForCodes{})
		b.until("one is read", func(s state.State) bool { return s.Reader.Of > 0 })
		b.send(state.StopLooking{})
		assert.False(t, b.now().Reader.Camera)
	})
}

func TestAUnitTooLongForCodesHasNone(t *testing.T) {
	tr, parts := moved(t, 1)
	codes, err := runner.Codes(tr)
	require.NoError(t, err)
	assert.Len(t, codes, len(parts))
	for _, c := range codes {
		assert.Len(t, c.Dark, c.Side*c.Side)
	}
	long := *tr
	for n := range 4000 {
		long.Events = append(long.Events, trail.Event{N: len(long.Events) + 1, At: "2026-03-04T12:00:00Z", Kind: trail.Note, Text: fmt.Sprintf("%x", sha256.Sum256([]byte{byte(n), byte(n >> 8)}))})
	}
	_, err = runner.Codes(&long)
	assert.ErrorIs(t, err, parcel.ErrLarge)
}

func TestAMoveOfABenchIsProvedByWhatIsReadBack(t *testing.T) {
	old := newBench(t, browser.NewMemory())
	old.readIn(shelfPlayer(t))
	first := old.begin("Green player").Unit.Trail
	old.send(state.Navigated{Path: "/new"})
	second := old.begin("Red player").Unit.Trail
	require.NotEqual(t, first.ID, second.ID)
	old.send(state.Navigated{Path: "/move"})
	old.send(state.BackUp{Way: state.WaySave})
	out := old.until("the file is made", func(s state.State) bool { return s.Moving.Out != nil }).Moving.Out
	assert.Equal(t, state.Held{Units: 2, Steps: len(first.Events) + len(second.Events), Models: 1, Check: out.Check}, *out)
	assert.Regexp(t, `^[0-9a-f]{4} [0-9a-f]{4}$`, out.Check)
	file := old.device.Saved[0].Text
	arrive := func(t *testing.T, b *bench, file string) state.Held {
		t.Helper()
		b.send(state.Navigated{Path: "/move"})
		b.readIn(file)
		return *b.until("it is checked", func(s state.State) bool { return s.Moving.In != nil && !s.Moving.Checking }).Moving.In
	}

	t.Run("on an empty device all of it is here", func(t *testing.T) {
		b := newBench(t, browser.NewMemory())
		assert.Equal(t, *out, arrive(t, b, file))
		assert.Equal(t, state.ScreenMove, b.now().Route.Screen)
		t.Run("and read in again as well, with work that was done since", func(t *testing.T) {
			b.send(state.Navigated{Path: "/unit/" + first.ID})
			b.rested()
			b.tap(state.SawOutcome{Test: "start", Outcome: "asks"})
			assert.Equal(t, *out, arrive(t, b, file))
		})
	})
	t.Run("a unit that is another here is lacking", func(t *testing.T) {
		b := newBench(t, browser.NewMemory())
		other := *first
		other.Events = slices.Clone(first.Events)
		other.Events[0].Outcome = "plays"
		b.readIn(string(other.Encode()))
		b.send(state.Navigated{Path: "/move"})
		b.readIn(file)
		in := b.until("it is checked", func(s state.State) bool { return s.Moving.In != nil }).Moving.In
		assert.Equal(t, 1, in.Lacking)
		assert.Equal(t, 1, in.Units)
		assert.NotEqual(t, out.Check, in.Check)
	})
	t.Run("a unit that cannot be read in is lacking", func(t *testing.T) {
		b := newBench(t, browser.NewMemory())
		text, err := runner.Backup([]string{string(first.Encode()), `{"format": "pitwise/trail"}`}, nil)
		require.NoError(t, err)
		b.send(state.Navigated{Path: "/move"})
		b.readIn(text)
		in := b.until("it is checked", func(s state.State) bool { return s.Moving.In != nil }).Moving.In
		assert.Equal(t, 1, in.Lacking)
		assert.Equal(t, 1, in.Units)
	})
}
