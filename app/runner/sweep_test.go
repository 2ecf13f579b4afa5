package runner_test

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// The sweep: an evening at the bench in which the n-th request to the storage fails, for
// every n there is and every way of failing. After each: all that was shown as recorded is
// stored; what was not is told, kept and in the files that are taken away; and once the
// storage takes things again, one tap stores all of it.

// failures are the ways in which a request fails.
var failures = map[string]error{
	"the transaction is undone": errors.New("browser: AbortError"),
	"there is no room":          browser.ErrFull,
	"the connection is closed":  browser.ErrDenied,
	"another window was first":  browser.ErrClash,
}

// A desk is one window of the evening: the page without its views, driven step by step.
type desk struct {
	t       testing.TB
	mu      sync.Mutex
	state   state.State
	runner  *runner.Runner
	device  *browser.Still
	goTo    []string
	model   string         // SHA-256 of the own model that units are begun with
	waiting map[string]int // answers of what goes on beside the queue, by what is asked

	acked map[string][]trail.Event // events that the storage was said to have, by unit
	taps  map[string][]string      // texts that a person recorded, by unit
	told  []string                 // texts whose recording was refused, and the person was told
}

func newDesk(t testing.TB, m *browser.Memory) *desk {
	d := &desk{t: t, device: &browser.Still{At: evening, Languages: []string{"en"}}, waiting: map[string]int{}, acked: map[string][]trail.Event{}, taps: map[string][]string{}}
	d.runner = &runner.Runner{Storage: m, Device: d.device, Send: d.send, Go: func(path string) {
		d.mu.Lock()
		d.goTo = append(d.goTo, path)
		d.mu.Unlock()
	}}
	d.runner.Begin()
	d.settle()
	return d
}

func (d *desk) send(m state.Msg) {
	d.mu.Lock()
	switch m := m.(type) {
	case state.Created:
		d.acked[m.Trail.ID] = append(d.acked[m.Trail.ID], m.Trail.Events...)
	case state.Appended:
		d.acked[m.ID] = append(d.acked[m.ID], m.Events...)
	case state.PhotosTaken:
		d.waiting["photos"]--
	case state.Taken, state.TakeFailed:
		d.waiting["file"]--
	case state.Imported, state.ImportFailed, state.NothingPicked:
		d.waiting["import"]--
	}
	next, effects := state.Update(d.state, m)
	d.state = next
	d.mu.Unlock()
	for _, e := range effects {
		switch e.(type) {
		case state.Reckon, state.DismissLater, state.Persist, state.RunTimer, state.RunSoak:
		default:
			d.runner.Do(e)
		}
	}
}

func (d *desk) now() state.State {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.state
}

// settle waits until nothing is under way any more.
func (d *desk) settle() {
	for range 6 {
		d.runner.Settle()
		for {
			d.mu.Lock()
			paths := d.goTo
			d.goTo = nil
			busy := false
			for _, n := range d.waiting {
				busy = busy || n > 0
			}
			d.mu.Unlock()
			for _, path := range paths {
				d.send(state.Navigated{Path: path})
			}
			d.runner.Settle()
			if len(paths) == 0 && !busy {
				break
			}
		}
	}
}

func (d *desk) do(m state.Msg) state.State {
	d.mu.Lock()
	switch m.(type) {
	case state.TakePhotos:
		d.waiting["photos"]++
	case state.BackUp, state.TakeAway:
		d.waiting["file"]++
	case state.PickImport:
		d.waiting["import"]++
	}
	d.mu.Unlock()
	d.send(m)
	d.settle()
	return d.now()
}

// open shows a unit; a person tries again when it did not come.
func (d *desk) open(unit string) {
	for range 3 {
		if s := d.do(state.Navigated{Path: "/unit/" + unit}); s.Unit != nil {
			return
		}
		d.do(state.Navigated{Path: "/"})
	}
	require.NotNil(d.t, d.now().Unit, "the unit cannot be opened")
}

// note records a note on the unit on the screen. leave: the person is elsewhere before the
// storage answers.
func (d *desk) note(text string, leave bool) {
	unit := d.now().Unit.Trail.ID
	before := d.now().Notice.Serial
	d.do(state.OpenSheet{Sheet: state.SheetNote})
	d.do(state.SetText{Text: text})
	d.taps[unit] = append(d.taps[unit], text)
	if leave {
		d.send(state.ConfirmSheet{})
		d.send(state.Navigated{Path: "/"})
		d.settle()
	} else {
		d.do(state.ConfirmSheet{})
	}
	s := d.now()
	if s.Notice.Kind == state.NoticeClash && s.Notice.Serial > before {
		d.told = append(d.told, text)
	}
}

// shoot takes a photograph and says how it is named.
func (d *desk) shoot(name string) {
	d.device.Lock()
	f := shot(d.t, grey, "")
	f.Name = name
	d.device.Puts = []browser.File{f}
	d.device.Unlock()
	d.do(state.TakePhotos{Field: browser.PhotoField})
}

// begin takes a unit in, with a photograph.
func (d *desk) begin(label string) string {
	d.do(state.Navigated{Path: "/new"})
	d.shoot("intake.jpg")
	for range 3 {
		if s := d.do(state.PickModel{ID: d.model}); s.Draft.Model != nil {
			break
		}
	}
	d.do(state.SetLabel{Text: label})
	intake := d.now().Draft.Model.Tests[d.now().Draft.Model.Intake]
	d.do(state.Answer{Test: intake.ID, Outcome: intake.Outcomes[0].ID})
	s := d.do(state.StartUnit{})
	for range 3 {
		if s.Unit != nil {
			break
		}
		// It is stored and could not be shown: a person finds it on the list.
		require.NotEmpty(d.t, d.acked, "the unit is neither shown nor stored")
		for id := range d.acked {
			s = d.do(state.Navigated{Path: "/unit/" + id})
		}
		if s.Unit == nil {
			s = d.do(state.Navigated{Path: "/"})
		}
	}
	require.NotNil(d.t, s.Unit)
	return s.Unit.Trail.ID
}

// evenings plays the whole evening on a storage, in two windows.
func playEvening(t testing.TB, m *browser.Memory, own browser.ModelRecord) (one, two *desk, unit string) {
	one = newDesk(t, m)
	one.model = own.SHA256
	if one.runner.Storage != browser.Storage(m) { // which could not be opened
		require.NoError(t, one.runner.Storage.KeepModel(own, "{}"))
	}
	unit = one.begin("Grey one")
	one.note("first", false)
	one.shoot("board.jpg")
	if a := one.now().Album(); a != nil && len(a.Photos) > 0 {
		one.do(state.ShowPhoto{ID: a.Photos[len(a.Photos)-1].ID})
		one.do(state.SetCaption{Text: "the board"})
		one.do(state.KeepCaption{})
	}
	one.note("as I leave", true)
	one.open(unit)
	one.note("back again", false)
	one.do(state.TakeBack{N: 1})

	// The second window is of the same bench only if the first could open it.
	two = newDesk(t, m)
	two.do(state.Navigated{Path: "/"})
	if _, _, err := m.Unit(unit); err == nil && !two.now().Storage.Memory && one.runner.Storage == browser.Storage(m) {
		two.open(unit)
		two.note("from the other window", false)
		m.Tell(browser.Change{Unit: unit})
		one.settle()
	}
	if one.now().Unit == nil {
		one.open(unit)
	}
	one.note("and on", false)
	one.do(state.SetArchived{ID: unit, On: true})
	one.do(state.Navigated{Path: "/"})
	one.do(state.BackUp{Way: state.WaySave})
	one.do(state.Navigated{Path: "/unit/" + unit + "/report"})
	one.do(state.Navigated{Path: "/"})
	return one, two, unit
}

// notes are the texts of the notes of some events.
func notes(events []trail.Event) (all []string) {
	for _, e := range events {
		if e.Kind == trail.Note {
			all = append(all, e.Text)
		}
	}
	return all
}

// storedTrail is what a storage has of a unit, the zero Trail if it has none.
func storedTrail(s browser.Storage, unit string) *trail.Trail {
	u, events, err := s.Unit(unit)
	if err != nil {
		return &trail.Trail{}
	}
	t, _, err := browser.Assemble(u, events)
	if err != nil {
		return &trail.Trail{}
	}
	return t
}

// losses says what a window has lost.
func (d *desk) losses() (lost []string) {
	s := d.now()
	memory := map[string]*state.Unit{}
	for _, u := range s.InMemory() {
		memory[u.Trail.ID] = u
	}
	for unit, events := range d.acked {
		there := storedTrail(d.runner.Storage, unit)
		for _, e := range events {
			if e.N > len(there.Events) || !reflect.DeepEqual(there.Events[e.N-1], e) {
				lost = append(lost, fmt.Sprintf("event %d of %s was shown as recorded and is not stored", e.N, unit))
			}
		}
	}
	if len(memory) > 0 && s.Storage.Trouble == state.NoTrouble {
		lost = append(lost, "something is only in memory, and nobody was told")
	}
	for unit, texts := range d.taps {
		have := notes(storedTrail(d.runner.Storage, unit).Events)
		if u := memory[unit]; u != nil {
			have = append(have, notes(u.Trail.Events)...)
		}
		for _, text := range texts {
			if !contains(have, text) && !contains(d.told, text) {
				lost = append(lost, fmt.Sprintf("%q of %s is neither stored nor in memory", text, unit))
			}
		}
	}
	// What is in memory goes into a file.
	d.device.Lock()
	before := len(d.device.Saved)
	d.device.Unlock()
	d.do(state.BackUp{Way: state.WaySave})
	d.device.Lock()
	saved := d.device.Saved
	d.device.Unlock()
	file := ""
	if len(saved) > before {
		file = saved[len(saved)-1].Text
	}
	for _, texts := range d.taps {
		for _, text := range texts {
			if !strings.Contains(file, fmt.Sprintf("%q", text)) && !contains(d.told, text) {
				lost = append(lost, fmt.Sprintf("%q is in no file that is taken away", text))
			}
		}
	}
	// One tap stores it, now that the storage takes things again.
	d.do(state.SaveAgain{})
	s = d.now()
	for _, u := range s.InMemory() {
		lost = append(lost, fmt.Sprintf("%d steps of %s cannot be stored", u.Unsaved, u.Trail.ID))
	}
	for unit, texts := range d.taps {
		have := notes(storedTrail(d.runner.Storage, unit).Events)
		for _, text := range texts {
			if !contains(have, text) && !contains(d.told, text) {
				lost = append(lost, fmt.Sprintf("%q of %s is not stored in the end", text, unit))
			}
			if n := count(have, text); n > 1 {
				lost = append(lost, fmt.Sprintf("%q of %s is stored %d times", text, unit, n))
			}
		}
	}
	if s.Storage.Trouble != state.NoTrouble && !s.Storage.Memory {
		lost = append(lost, fmt.Sprintf("the trouble %q stays, and all is stored", s.Storage.Trouble))
	}
	return lost
}

func contains(all []string, text string) bool { return count(all, text) > 0 }

func count(all []string, text string) (n int) {
	for _, one := range all {
		if one == text {
			n++
		}
	}
	return n
}

// photosLost says which photographs of the unit are neither stored nor held in memory.
func (d *desk) photosLost(unit string) (lost []string) {
	d.open(unit)
	a := d.now().Album()
	if a == nil {
		return []string{"no photographs are shown"}
	}
	for range 2 { // some may have been refused once more
		d.do(state.StorePhotos{})
	}
	ids, err := d.runner.Storage.PhotoIDs(unit)
	if err != nil || len(ids) != 2 {
		lost = append(lost, fmt.Sprintf("%d photographs are stored, want 2 (%v)", len(ids), err))
	}
	return lost
}

func TestWhateverRequestFailsNothingIsLost(t *testing.T) {
	example, err := model.Load([]byte(exampleText(t)))
	require.NoError(t, err)
	own := browser.OfModel(example)
	fresh := func() *browser.Memory {
		m := browser.NewMemory()
		require.NoError(t, m.KeepModel(own, `{"id":"example","revision":"1","added":"2026-03-04T18:00:00Z"}`))
		return m
	}
	m := fresh()
	total := 0
	m.Refuse(func(string) error { total++; return nil })
	one, _, unit := playEvening(t, m, own)
	m.Refuse(nil)
	require.Empty(t, one.losses(), "an evening without a failure")
	require.Empty(t, one.photosLost(unit))
	require.Greater(t, total, 60, "requests of the evening")

	losses, runs, every := 0, 0, 1
	if testing.Short() {
		every = 5
	}
	for name, failure := range failures {
		for n := 1; n <= total; n += every {
			m := fresh()
			asked, which := 0, ""
			var mu sync.Mutex
			m.Refuse(func(call string) error {
				mu.Lock()
				defer mu.Unlock()
				if asked++; asked == n {
					if errors.Is(failure, browser.ErrClash) && call != "append" {
						which = "none"
						return nil // only this can be refused so
					}
					which = call
					return failure
				}
				return nil
			})
			one, two, unit := playEvening(t, m, own)
			m.Refuse(nil)
			if which == "none" {
				continue
			}
			runs++
			for window, d := range map[string]*desk{"first": one, "second": two} {
				lost := d.losses()
				if window == "first" && len(lost) == 0 {
					lost = d.photosLost(unit)
				}
				losses += len(lost)
				for _, l := range lost {
					t.Errorf("%s, request %d (%s), %s window: %s", name, n, which, window, l)
				}
			}
			if losses > 20 {
				t.FailNow()
			}
		}
	}
	t.Logf("%d requests an evening, %d evenings with one that fails, %d losses", total, runs, losses)
}
