package runner_test

import (
	"errors"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A bench is the page without its views: state, runner and the fakes.
type bench struct {
	t       *testing.T
	mu      sync.Mutex
	state   state.State
	runner  *runner.Runner
	storage *browser.Memory
	device  *browser.Still
	seen    []state.Msg
	heard   func(state.Msg) // of every message, before it is answered
	changed *sync.Cond      // on mu: a message was answered, or the time of a wait is over
}

func newBench(t *testing.T, storage *browser.Memory) *bench {
	b := &bench{t: t, storage: storage, device: &browser.Still{
		At: time.Date(2026, 3, 4, 10, 0, 0, 0, time.UTC), Languages: []string{"en-GB"}, Shares: true,
	}}
	b.changed = sync.NewCond(&b.mu)
	b.runner = &runner.Runner{Storage: storage, Device: b.device, Send: b.send, Go: func(path string) { go b.send(state.Navigated{Path: path}) }}
	b.runner.Begin()
	b.until("the bench is ready", func(s state.State) bool { return s.Ready })
	return b
}

func (b *bench) send(m state.Msg) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.heard != nil {
		b.heard(m)
	}
	next, effects := state.Update(b.state, m)
	b.state = next
	b.seen = append(b.seen, m)
	for _, e := range effects {
		if r, ok := e.(state.Reckon); ok && r.ID == state.SampleID {
			// Of the sample unit these tests look at what is recorded. A plan for a shipped
			// model takes half a second to grow.
			continue
		}
		b.runner.Do(e)
	}
	b.changed.Broadcast()
}

func (b *bench) now() state.State {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.state
}

// until waits for a message after which ok holds.
func (b *bench) until(what string, ok func(state.State) bool) state.State {
	b.t.Helper()
	over := false
	limit := time.AfterFunc(time.Minute, func() { b.mu.Lock(); over = true; b.mu.Unlock(); b.changed.Broadcast() })
	defer limit.Stop()
	b.mu.Lock()
	defer b.mu.Unlock()
	for !ok(b.state) {
		require.False(b.t, over, "%s: not after a minute", what)
		b.changed.Wait()
	}
	return b.state
}

// handed waits until the device was handed what ok looks for.
func (b *bench) handed(ok func() bool) {
	b.t.Helper()
	b.until("it is handed out", func(state.State) bool { b.device.Lock(); defer b.device.Unlock(); return ok() })
}

// hear lets f be called with every message.
func (b *bench) hear(f func(state.Msg)) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.heard = f
}

// tap sends a message and waits until the unit is worked out again.
func (b *bench) tap(m state.Msg) state.State {
	b.t.Helper()
	b.send(m)
	return b.rested()
}

func (b *bench) rested() state.State {
	b.t.Helper()
	return b.until("the unit is worked out", func(s state.State) bool {
		return s.Unit != nil && s.Route.Unit == s.Unit.Trail.ID && !s.Unit.Saving && (s.Unit.Settled && s.Unit.Doubts != nil || s.Unit.Conflict.Kind != state.NoConflict)
	})
}

// readIn offers a file and returns the state with its answer.
func (b *bench) readIn(text string) state.State {
	b.t.Helper()
	before := b.now().Notice.Serial
	b.device.Lock()
	b.device.Offers = []browser.File{{Name: "file.json", Text: text}}
	b.device.Unlock()
	b.send(state.PickImport{})
	s := b.until("an answer", func(s state.State) bool { return s.Notice.Serial > before })
	b.runner.Settle()
	return s
}

// exampleText is the three-part model of the formats page.
func exampleText(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile("../../engine/model/testdata/example.json")
	require.NoError(t, err)
	return string(text)
}

// intake goes to the intake screen with the three-part model picked.
func (b *bench) intake() {
	b.t.Helper()
	b.readIn(exampleText(b.t))
	b.until("the model is there", func(s state.State) bool {
		return s.Route.Screen == state.ScreenIntake && s.Draft.Model != nil && s.Draft.Model.ID == "example"
	})
}

// takeIn takes a unit of the three-part model in.
func (b *bench) takeIn() state.State {
	b.t.Helper()
	b.intake()
	b.send(state.SetLabel{Text: "Grey one"})
	b.complain()
	b.send(state.SetTool{ID: "multimeter", On: true})
	b.send(state.StartUnit{})
	return b.rested()
}

// complain answers the intake test of the model that is picked with its second outcome.
func (b *bench) complain() {
	b.t.Helper()
	s := b.until("the intake, with its model", func(s state.State) bool {
		return s.Route.Screen == state.ScreenIntake && s.Draft.Model != nil
	})
	intake := &s.Draft.Model.Tests[s.Draft.Model.Intake]
	b.send(state.Answer{Test: intake.ID, Outcome: intake.Outcomes[1].ID})
}

func TestOneUnitFromIntakeToSignOff(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	s := b.takeIn()
	require.Equal(t, state.ScreenUnit, s.Route.Screen)
	require.NotEmpty(t, s.Unit.Proposals)
	id := s.Unit.Trail.ID
	assert.Equal(t, 1, len(s.Unit.Trail.Events))

	s = b.tap(state.SawOutcome{Test: "first-boot", Outcome: "asks"})
	s = b.tap(state.Repaired{ID: "clean-lens"})
	s = b.tap(state.TakeBack{N: 2})
	s = b.tap(state.TakeBack{N: 4})
	b.send(state.OpenSheet{Sheet: state.SheetSignOff})
	b.send(state.SetCause{Mode: "lens.dirty", On: true})
	s = b.tap(state.ConfirmSheet{})
	require.Len(t, s.Unit.Trail.Events, 6)
	end, ended := s.Unit.Ended()
	require.True(t, ended)
	assert.Equal(t, []model.ModeID{"lens.dirty"}, end.Causes, "what the person ticked, and no more")

	t.Run("the storage holds exactly the trail that is shown", func(t *testing.T) {
		u, events, err := b.storage.Unit(id)
		require.NoError(t, err)
		got, aside, err := browser.Assemble(u, events)
		require.NoError(t, err)
		assert.Empty(t, aside)
		assert.Equal(t, s.Unit.Trail, got)
	})
	t.Run("an export with its model loads and replays to the same numbers", func(t *testing.T) {
		b.send(state.TakeAway{Form: state.FormTrailFull, Way: state.WaySave})
		b.handed(func() bool { return len(b.device.Saved) == 1 })
		out, err := trail.Load([]byte(b.device.Saved[0].Text))
		require.NoError(t, err)
		m, err := model.Load([]byte(out.ModelText))
		require.NoError(t, err)
		require.NoError(t, out.Check(m))
		space, err := belief.NewSpace(m)
		require.NoError(t, err)
		account, err := trail.Replay(space, out)
		require.NoError(t, err)
		require.Equal(t, len(s.Unit.Account.Lines), len(account.Lines))
		for i := range account.Lines {
			assert.Equal(t, s.Unit.Account.Lines[i].Odds, account.Lines[i].Odds)
		}
	})
	t.Run("the bench list tells it", func(t *testing.T) {
		b.send(state.Navigated{Path: "/"})
		s := b.until("the card has changed", func(s state.State) bool { return len(s.Cards) == 1 && s.Cards[0].Status == state.StatusSignedOff })
		assert.Equal(t, 6, s.Cards[0].Events)
		assert.Greater(t, s.Cards[0].Minutes, 0.0)
	})
}

func TestTheSampleUnit(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	b.send(state.CreateSample{})
	b.shows(state.SampleID)
	s := b.now()
	assert.Equal(t, state.SampleID, s.Unit.Trail.ID)
	require.NoError(t, s.Unit.Trail.Check(s.Unit.Model))
	space, err := belief.NewSpace(s.Unit.Model)
	require.NoError(t, err)
	_, err = trail.Replay(space, s.Unit.Trail)
	require.NoError(t, err)
	b.note("one more")
	b.send(state.Navigated{Path: "/"})
	b.send(state.CreateSample{})
	s = b.until("it is the same unit", func(s state.State) bool { return s.Unit != nil && s.Unit.Trail.ID == state.SampleID })
	assert.Len(t, s.Unit.Trail.Events, 3, "opening it again must not make it anew")
}

func TestStorageThatFails(t *testing.T) {
	t.Run("denied from the start: the page works in memory and says so", func(t *testing.T) {
		m := browser.NewMemory()
		m.Refuse(func(call string) error {
			if call == "open" {
				return browser.ErrDenied
			}
			return nil
		})
		b := newBench(t, m)
		assert.Equal(t, state.TroubleDenied, b.now().Storage.Trouble)
		s := b.takeIn()
		assert.NotNil(t, s.Unit)
	})
	t.Run("full in the middle: the step stays, and is stored when there is room again", func(t *testing.T) {
		m := browser.NewMemory()
		b := newBench(t, m)
		s := b.takeIn()
		id := s.Unit.Trail.ID
		var full atomic.Bool
		full.Store(true)
		m.Refuse(func(call string) error {
			if full.Load() && call == "append" {
				return browser.ErrFull
			}
			return nil
		})
		s = b.tap(state.SawOutcome{Test: "first-boot", Outcome: "asks"})
		assert.Equal(t, 1, s.Unit.Unsaved)
		assert.Equal(t, state.TroubleFull, s.Storage.Trouble)
		_, events, _ := m.Unit(id)
		assert.Len(t, events, 1)
		full.Store(false)
		b.send(state.SaveAgain{})
		s = b.until("it is stored", func(s state.State) bool { return s.Unit.Unsaved == 0 && !s.Unit.Saving })
		_, events, _ = m.Unit(id)
		assert.Len(t, events, 2)
		assert.Equal(t, state.NoTrouble, s.Storage.Trouble)
	})
}

func TestTwoWindows(t *testing.T) {
	m := browser.NewMemory()
	one := newBench(t, m)
	s := one.takeIn()
	id := s.Unit.Trail.ID
	two := newBench(t, m)
	two.send(state.Navigated{Path: "/unit/" + id})
	two.rested()

	one.tap(state.SawOutcome{Test: "first-boot", Outcome: "asks"})
	// The second window has not heard of it yet, and taps.
	two.send(state.SawOutcome{Test: "first-boot", Outcome: "boots"})
	s = two.until("the second writer is told", func(s state.State) bool { return s.Notice.Kind == state.NoticeClash })
	s = two.until("it reads again", func(s state.State) bool { return len(s.Unit.Trail.Events) == 2 })
	assert.Equal(t, model.OutcomeID("asks"), s.Unit.Trail.Events[1].Outcome)
	two.rested()
	two.tap(state.SawOutcome{Test: "first-boot", Outcome: "boots"})
	m.Tell(browser.Change{Unit: id})
	s = one.until("the first window follows", func(s state.State) bool { return len(s.Unit.Trail.Events) == 3 })
	assert.Equal(t, model.OutcomeID("boots"), s.Unit.Trail.Events[2].Outcome)
}

func TestDamageIsShownAndKeptAside(t *testing.T) {
	m := browser.NewMemory()
	b := newBench(t, m)
	id := b.takeIn().Unit.Trail.ID
	b.tap(state.SawOutcome{Test: "first-boot", Outcome: "asks"})
	b.tap(state.SawOutcome{Test: "first-boot", Outcome: "boots"})
	m.Spoil(id, 2, func(e *browser.EventRecord) { e.JSON = "{" })

	other := newBench(t, m)
	require.Len(t, other.now().Cards, 1)
	other.send(state.Navigated{Path: "/"})
	other.until("the list says so", func(s state.State) bool { return len(s.Cards) == 1 && s.Cards[0].Damaged })
	other.send(state.Navigated{Path: "/unit/" + id})
	s := other.rested()
	assert.Len(t, s.Unit.Trail.Events, 1)
	require.Len(t, s.Unit.Damaged, 2)
	other.send(state.TakeAway{Form: state.FormDamaged, Way: state.WaySave})
	other.handed(func() bool { return len(other.device.Saved) == 1 })
	assert.Contains(t, other.device.Saved[0].Text, `"json":"{"`)
}

func TestReadingATrailIn(t *testing.T) {
	m, err := catalog.Load("top-loader")
	require.NoError(t, err)
	text, _ := catalog.Text("top-loader")
	made := func(events int, with bool) string {
		tr := trail.Trail{
			ID: "01ARYZ6S410000000000000000", Created: "2026-03-04T10:11:12Z",
			Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
			Unit:  trail.Unit{Label: "From elsewhere"}, Terms: trail.Terms{Currency: "EUR"},
			Events: []trail.Event{
				{N: 1, At: "2026-03-04T10:12:00Z", Kind: trail.Result, Test: "first-boot", Outcome: "asks"},
				{N: 2, At: "2026-03-04T10:13:00Z", Kind: trail.Note, Text: "a"},
				{N: 3, At: "2026-03-04T10:14:00Z", Kind: trail.Note, Text: "b"},
			}[:events],
		}
		if with {
			tr.ModelText = string(text)
		}
		return string(tr.Encode())
	}
	b := newBench(t, browser.NewMemory())
	read := b.readIn
	s := read(made(2, true))
	assert.Equal(t, state.NoticeImported, s.Notice.Kind)
	assert.Equal(t, 2, s.Notice.N)
	s = read(made(2, true))
	assert.Equal(t, state.NoticeSame, s.Notice.Kind, "the same file again changes nothing")
	s = read(made(3, false))
	assert.Equal(t, 1, s.Notice.N, "a newer file adds what is new")
	s = read(made(1, false))
	assert.Equal(t, state.NoticeSame, s.Notice.Kind, "an older file loses nothing newer")
	_, events, err := b.storage.Unit("01ARYZ6S410000000000000000")
	require.NoError(t, err)
	assert.Len(t, events, 3)
	for _, bad := range []string{"", "{", "[]", `{"format":"pitwise/model"}`, made(3, false)[:200], string([]byte{0xff, 0xfe})} {
		s = read(bad)
		assert.Equal(t, state.NoticeTrouble, s.Notice.Kind, "%.20q", bad)
		assert.Equal(t, state.TroubleImport, s.Notice.Trouble)
	}
}

func TestTheWholeBenchInOneFile(t *testing.T) {
	one := newBench(t, browser.NewMemory())
	id := one.takeIn().Unit.Trail.ID
	one.tap(state.SawOutcome{Test: "first-boot", Outcome: "asks"})
	one.send(state.Navigated{Path: "/"})
	one.send(state.CreateSample{})
	one.until("the sample is there", func(s state.State) bool { return s.Unit != nil && s.Unit.Trail.ID == state.SampleID })
	one.send(state.SetArchived{ID: id, On: true})
	one.runner.Settle()
	saved := func() string {
		t.Helper()
		before := len(one.device.Saved)
		one.send(state.BackUp{Way: state.WaySave})
		one.handed(func() bool { return len(one.device.Saved) > before })
		return one.device.Saved[before].Text
	}
	first := saved()

	two := newBench(t, browser.NewMemory())
	read := two.readIn
	same := func() {
		t.Helper()
		units, err := one.storage.Units()
		require.NoError(t, err)
		theirs, err := two.storage.Units()
		require.NoError(t, err)
		require.Equal(t, units, theirs)
		for _, u := range units {
			_, want, err := one.storage.Unit(u.ID)
			require.NoError(t, err)
			_, got, err := two.storage.Unit(u.ID)
			require.NoError(t, err)
			require.Equal(t, want, got)
		}
	}
	s := read(first)
	assert.Equal(t, state.NoticeImported, s.Notice.Kind)
	assert.Equal(t, 4, s.Notice.N)
	same()
	assert.Equal(t, state.NoticeSame, read(first).Notice.Kind, "twice changes nothing")
	same()

	one.send(state.Navigated{Path: "/unit/" + state.SampleID})
	one.shows(state.SampleID)
	one.note("one more")
	assert.Equal(t, 1, read(saved()).Notice.N, "a newer one adds what is new")
	same()
	assert.Equal(t, state.NoticeSame, read(first).Notice.Kind, "an older one loses nothing newer")
	same()

	for name, bad := range map[string]string{
		"a changed letter": strings.Replace(first, "Grey one", "Grey two", 1),
		"cut":              first[:len(first)/2],
		"another version":  strings.Replace(first, `"version": 2`, `"version": 3`, 1),
		"an unknown field": strings.Replace(first, `"made"`, `"maid": 1, "made"`, 1),
	} {
		t.Run(name+" is refused and changes nothing", func(t *testing.T) {
			assert.Equal(t, state.TroubleImport, read(bad).Notice.Trouble)
			same()
		})
	}
}

func TestADeviceThatRefuses(t *testing.T) {
	b := newBench(t, browser.NewMemory())
	b.takeIn()
	b.device.Lock()
	b.device.Refuses = errors.New("not allowed")
	b.device.Unlock()
	b.send(state.TakeAway{Form: state.FormTrail, Way: state.WayCopy})
	s := b.until("the person is told", func(s state.State) bool { return s.Notice.Kind == state.NoticeTrouble })
	assert.Equal(t, state.TroubleShare, s.Notice.Trouble)
}
