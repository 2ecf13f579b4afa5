package sweep

import (
	"fmt"
	"slices"
	"sync"

	"pitwise/app/browser"
	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/engine/catalog"
	"pitwise/engine/learn"
	"pitwise/engine/trail"
)

// A window is one window of the evening: the page without its views, driven step by step.
type window struct {
	runner *runner.Runner

	mu    sync.Mutex
	state state.State
	goTo  []string
	busy  int          // answers that are waited for of what goes on beside the runner's queue
	made  string       // the unit that was begun here, as it was stored
	saved string       // the last file that was handed out
	offer browser.File // the one that is chosen when one is read in

	acked map[string][]trail.Event // events that were shown as recorded, by unit
	taps  map[string][]string      // texts that the person recorded, by unit
	told  []string                 // those of which the person was told that another window was first

	tried, untold []string // benches whose counts were read in, and those of which nothing was said then
}

// hands are a device that keeps the last file it hands out, and takes a picture by itself.
type hands struct {
	browser.Device
	w *window
}

func (h hands) Save(f browser.File) error { h.w.saved = f.Text; return nil }

func (h hands) Pick(int) (browser.File, error) { return h.w.offer, nil }

func (h hands) Chosen(string) []browser.Chosen {
	return []browser.Chosen{{Name: "shot.jpg", Size: 4, Read: func() ([]byte, error) { return []byte("shot"), nil }}}
}

func (h hands) Shrink([]byte) (browser.Picture, error) {
	return browser.Picture{Width: 4, Height: 3, Image: "\xff\xd8\xff\xd9", Small: "\xff\xd8\xff\xd9"}, nil
}

func newWindow(b Bench) *window {
	w := &window{acked: map[string][]trail.Event{}, taps: map[string][]string{}}
	w.runner = &runner.Runner{Storage: b.Storage(), Device: hands{b.Device, w}, Send: w.send, Go: func(path string) {
		w.mu.Lock()
		defer w.mu.Unlock()
		w.goTo = append(w.goTo, path)
	}}
	w.runner.Begin()
	w.do(state.Navigated{Path: "/"})
	return w
}

func (w *window) send(m state.Msg) {
	w.mu.Lock()
	switch m := m.(type) {
	case state.Created:
		w.made = m.Trail.ID
		w.acked[m.Trail.ID] = append(w.acked[m.Trail.ID], m.Trail.Events...)
	case state.Appended:
		w.acked[m.ID] = append(w.acked[m.ID], m.Events...)
	case state.PhotosTaken, state.Taken, state.TakeFailed, state.Imported, state.ImportFailed:
		w.busy--
	}
	next, effects := state.Update(w.state, m)
	w.state = next
	w.mu.Unlock()
	for _, e := range effects {
		switch e.(type) {
		case state.Reckon, state.Grow, state.Rest, state.DismissLater, state.Persist, state.RunTimer, state.RunSoak, state.ShowTop:
		default:
			w.runner.Do(e)
		}
	}
}

func (w *window) now() state.State {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.state
}

// shown is the unit on the screen, "" for none.
func (w *window) shown() string {
	if u := w.now().Unit; u != nil {
		return u.Trail.ID
	}
	return ""
}

// settle waits until nothing is under way any more.
func (w *window) settle() {
	for quiet := 0; quiet < 3; quiet++ {
		w.runner.Settle()
		w.mu.Lock()
		paths, busy := w.goTo, w.busy > 0
		w.goTo = nil
		w.mu.Unlock()
		for _, path := range paths {
			w.send(state.Navigated{Path: path})
		}
		if busy || len(paths) > 0 {
			quiet = 0
		}
		w.runner.Device.Yield()
	}
}

// do does something and waits for all that comes of it.
func (w *window) do(m state.Msg) state.State {
	w.mu.Lock()
	switch m.(type) {
	case state.TakePhotos, state.BackUp, state.PickImport:
		w.busy++
	}
	w.mu.Unlock()
	w.send(m)
	w.settle()
	return w.now()
}

// open shows a unit; a person tries again when it did not come.
func (w *window) open(unit string) bool {
	for range 3 {
		if w.do(state.Navigated{Path: "/unit/" + unit}).Unit != nil {
			return true
		}
		w.do(state.Navigated{Path: "/"})
	}
	return false
}

// note records a note on the unit on the screen, if one is there. leave: the person is
// elsewhere before the storage answers.
func (w *window) note(text string, leave bool) {
	unit, before := w.shown(), w.now().Notice.Serial
	if unit == "" {
		return
	}
	w.do(state.OpenSheet{Sheet: state.SheetNote})
	w.do(state.SetText{Text: text})
	w.taps[unit] = append(w.taps[unit], text)
	if leave {
		w.send(state.ConfirmSheet{})
		w.send(state.Navigated{Path: "/"})
		w.settle()
	} else {
		w.do(state.ConfirmSheet{})
	}
	if n := w.now().Notice; n.Kind == state.NoticeClash && n.Serial > before {
		w.told = append(w.told, text)
	}
}

// lend reads in the counts of a bench.
func (w *window) lend(bench string, units int) {
	m, err := catalog.Load(lentModel)
	if err != nil {
		return // the evening then has no counts, which losses tells
	}
	row := make([]float64, 1+m.Components[0].ModeCount)
	row[1] = float64(units)
	c := learn.Counts{Format: learn.CountsFormat, Version: learn.CountsNewest, Model: m.ID, SHA256: m.SHA256,
		Benches: []learn.Bench{{ID: bench, Units: units, Counts: map[string][]float64{"prior/" + string(m.Components[0].ID): row}}}}
	w.offer = browser.File{Name: "counts.json", Text: string(c.Encode())}
	w.tried = append(w.tried, bench)
	before := w.now().Notice.Serial
	if n := w.do(state.PickImport{}).Notice; n.Serial == before || n.Kind != state.NoticeLent && n.Kind != state.NoticeTrouble {
		w.untold = append(w.untold, bench)
	}
}

// lentModel is the model that counts are read in for.
const lentModel = "tray"

// lender is a bench as it is shown among those whose counts are held; the zero Lender if it is not.
func (w *window) lender(bench string) state.Lender {
	for _, l := range w.now().Lenders(lentModel) {
		if l.ID == bench {
			return l
		}
	}
	return state.Lender{}
}

// drop takes the counts of a bench out.
func (w *window) drop(bench string) {
	w.do(state.DropBench{Model: lentModel, SHA256: w.lender(bench).SHA256, ID: bench})
}

// dropAndRestore takes them out and brings them back; a person taps again where that did not work.
func (w *window) dropAndRestore(bench string) {
	w.drop(bench)
	for range 2 {
		if l := w.lender(bench); l.Out {
			w.do(state.RestoreBench{Model: lentModel, SHA256: l.SHA256, ID: bench})
		}
	}
}

// begin takes a unit in, with a photograph, and shows it; its id, "" if it is nowhere.
func (w *window) begin(label string) string {
	w.do(state.Navigated{Path: "/new"})
	w.do(state.TakePhotos{Field: browser.PhotoField})
	for range 3 {
		if w.do(state.PickModel{ID: "top-loader"}).Draft.Model != nil {
			break
		}
	}
	m := w.now().Draft.Model
	if m == nil {
		return ""
	}
	intake := m.Tests[m.Intake]
	w.do(state.SetLabel{Text: label})
	w.do(state.Answer{Test: intake.ID, Outcome: intake.Outcomes[0].ID})
	w.do(state.StartUnit{})
	if unit := w.shown(); unit != "" {
		return unit
	}
	// It is stored and could not be shown: a person finds it on the list.
	if w.made == "" || !w.open(w.made) {
		return ""
	}
	return w.made
}

// losses says what the window has lost of what it was said to have; stored is the bench as a
// new window finds it.
func (w *window) losses(stored browser.Storage) (lost []string) {
	miss := func(format string, args ...any) { lost = append(lost, fmt.Sprintf(format, args...)) }
	s := w.now()
	if s.Storage.Memory {
		stored = w.runner.Storage // as the person was told
	}
	if s.Storage.Trouble == state.NoTrouble && (s.Storage.Memory || s.Unsaved() > 0) {
		miss("something is only in memory, and nobody was told")
	}
	memory := map[string]*state.Unit{}
	for _, u := range s.InMemory() {
		memory[u.Trail.ID] = u
	}
	for unit, events := range w.acked {
		there := trailIn(stored, unit)
		for _, e := range events {
			if !stores(there, e) {
				miss("event %d of %s was shown as recorded and is not stored", e.N, unit)
			}
		}
	}
	w.each(func(unit, text string) {
		n := count(trailIn(stored, unit), text)
		if u := memory[unit]; u != nil {
			n += count(u.Trail, text)
		}
		if n == 0 {
			miss("%q of %s is neither stored nor in memory", text, unit)
		}
	})
	w.do(state.BackUp{Way: state.WaySave})
	file := w.saved
	kept, err := stored.Kept("counts/" + lentModel)
	for _, bench := range w.tried {
		l := w.lender(bench)
		if shown := l.ID != "" && !l.Out; shown != holds(kept, bench) || shown != holds(file, bench) || err != nil {
			miss("counts of %s: shown %t, stored %t, in the file %t (%v)", bench, shown, holds(kept, bench), holds(file, bench), err)
		}
	}
	for _, bench := range w.untold {
		miss("nobody was told what became of the counts of %s", bench)
	}
	w.each(func(unit, text string) {
		if !holds(file, text) {
			miss("%q of %s is in no file that is taken away", text, unit)
		}
	})
	// One tap stores it, now that the storage takes things again.
	s = w.do(state.SaveAgain{})
	for _, u := range s.InMemory() {
		miss("%d steps of %s cannot be stored", u.Unsaved, u.Trail.ID)
	}
	w.each(func(unit, text string) {
		if n := count(trailIn(stored, unit), text); n != 1 {
			miss("%q of %s is stored %d times in the end", text, unit, n)
		}
	})
	if s.Storage.Trouble != state.NoTrouble && !s.Storage.Memory {
		miss("the trouble %q stays, and all is stored", s.Storage.Trouble)
	}
	return lost
}

// each calls f with every text that was recorded here and is to be found again.
func (w *window) each(f func(unit, text string)) {
	for unit, texts := range w.taps {
		for _, text := range texts {
			if !slices.Contains(w.told, text) {
				f(unit, text)
			}
		}
	}
}

// photographs says which of the unit's two are not stored once they were stored again.
func (w *window) photographs(unit string) []string {
	if !w.open(unit) {
		return []string{"the unit cannot be opened in the end"}
	}
	w.do(state.StorePhotos{})
	ids, err := w.runner.Storage.PhotoIDs(unit)
	if err != nil || len(ids) != 2 {
		return []string{fmt.Sprintf("%d photographs are stored, want 2 (%v)", len(ids), err)}
	}
	return nil
}
