//go:build js

package main

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"sync"
	"syscall/js"

	"pitwise/app/browser"
	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/engine/trail"
)

// A window is one window of an evening at the bench, driven step by step on the browser's
// own storage, while window.failing lets one of its requests fail.
type window struct {
	mu     sync.Mutex
	state  state.State
	runner *runner.Runner
	goTo   []string
	busy   map[string]int

	acked map[string][]trail.Event // events that were shown as recorded, by unit
	taps  map[string][]string      // what the person recorded, by unit
	told  map[string]bool          // what another window was said to be before of
	saved string                   // the last file that was handed out
}

// hands are a device that hands out no file and takes a picture by itself.
type hands struct {
	*browser.Page
	w *window
}

func (h hands) Save(f browser.File) error { h.w.saved = f.Text; return nil }

func (h hands) Chosen(string) []browser.Chosen {
	return []browser.Chosen{{Name: "shot.jpg", Size: 4, Read: func() ([]byte, error) { return []byte("shot"), nil }}}
}

func (h hands) Shrink([]byte) (browser.Picture, error) {
	return browser.Picture{Width: 4, Height: 3, Image: "\xff\xd8\xff\xd9", Small: "\xff\xd8\xff\xd9"}, nil
}

func newWindow() *window {
	w := &window{busy: map[string]int{}, acked: map[string][]trail.Event{}, taps: map[string][]string{}, told: map[string]bool{}}
	w.runner = &runner.Runner{Storage: browser.NewIndexedDB(), Device: hands{browser.NewPage(), w}, Send: w.send, Go: func(path string) {
		w.mu.Lock()
		defer w.mu.Unlock()
		w.goTo = append(w.goTo, path)
	}}
	w.runner.Begin()
	w.settle()
	return w
}

func (w *window) send(m state.Msg) {
	w.mu.Lock()
	switch m := m.(type) {
	case state.Created:
		w.acked[m.Trail.ID] = append(w.acked[m.Trail.ID], m.Trail.Events...)
	case state.Appended:
		w.acked[m.ID] = append(w.acked[m.ID], m.Events...)
	case state.PhotosTaken:
		w.busy["photos"]--
	case state.Taken, state.TakeFailed:
		w.busy["file"]--
	}
	next, effects := state.Update(w.state, m)
	w.state = next
	w.mu.Unlock()
	for _, e := range effects {
		switch e.(type) {
		case state.Reckon, state.Grow, state.Rest, state.DismissLater, state.Persist, state.ShowTop:
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

// settle waits until nothing is under way any more.
func (w *window) settle() {
	for quiet := 0; quiet < 3; {
		w.runner.Settle()
		w.mu.Lock()
		paths, busy := w.goTo, w.busy["photos"]+w.busy["file"] > 0
		w.goTo = nil
		w.mu.Unlock()
		for _, path := range paths {
			w.send(state.Navigated{Path: path})
		}
		if quiet++; busy || len(paths) > 0 {
			quiet = 0
		}
		browser.Yield()
	}
}

func (w *window) do(m state.Msg) state.State {
	w.mu.Lock()
	switch m.(type) {
	case state.TakePhotos:
		w.busy["photos"]++
	case state.BackUp:
		w.busy["file"]++
	}
	w.mu.Unlock()
	w.send(m)
	w.settle()
	return w.now()
}

func (w *window) open(unit string) bool {
	for range 3 {
		if s := w.do(state.Navigated{Path: "/unit/" + unit}); s.Unit != nil {
			return true
		}
		w.do(state.Navigated{Path: "/"})
	}
	return false
}

func (w *window) note(text string, leave bool) {
	s := w.now()
	if s.Unit == nil {
		return // a person cannot record either
	}
	unit, before := s.Unit.Trail.ID, s.Notice.Serial
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
	if s := w.now(); s.Notice.Kind == state.NoticeClash && s.Notice.Serial > before {
		w.told[text] = true
	}
}

// evening plays one: how many requests it made, and what was lost.
func evening(fail string) any {
	failing := js.Global().Get("failing")
	failing.Invoke(fail)
	one := newWindow()
	one.do(state.Navigated{Path: "/new"})
	one.do(state.TakePhotos{Field: browser.PhotoField})
	for range 3 {
		if one.do(state.PickModel{ID: "top-loader"}).Draft.Model != nil {
			break
		}
	}
	intake := one.now().Draft.Model.Tests[one.now().Draft.Model.Intake]
	one.do(state.SetLabel{Text: "Grey one"})
	one.do(state.Answer{Test: intake.ID, Outcome: intake.Outcomes[0].ID})
	one.do(state.StartUnit{})
	unit := ""
	if s := one.now(); s.Unit != nil {
		unit = s.Unit.Trail.ID
	}
	for id := range one.acked {
		unit = id
	}
	if unit == "" || !one.open(unit) {
		return report(failing, []string{"the unit that was begun is neither stored nor shown"})
	}
	one.note("first", false)
	one.do(state.TakePhotos{Field: browser.PhotoField})
	one.note("as I leave", true)
	one.open(unit)
	one.note("back again", false)
	two := newWindow()
	if !one.now().Storage.Memory && !two.now().Storage.Memory && len(one.acked[unit]) > 0 && two.open(unit) {
		two.note("from the other window", false)
		two.settle()
	}
	one.settle()
	one.open(unit)
	one.note("and on", false)
	one.do(state.SetArchived{ID: unit, On: true})
	one.do(state.Navigated{Path: "/"})
	one.do(state.BackUp{Way: state.WaySave})
	failing.Invoke("")
	var lost []string
	for name, w := range map[string]*window{"first": one, "second": two} {
		for _, l := range w.losses() {
			lost = append(lost, name+" window: "+l)
		}
	}
	if one.open(unit) {
		one.do(state.StorePhotos{})
		if ids, err := one.runner.Storage.PhotoIDs(unit); err != nil || len(ids) != 2 {
			lost = append(lost, fmt.Sprintf("%d photographs, want 2 (%v)", len(ids), err))
		}
	} else {
		lost = append(lost, "the unit cannot be opened in the end")
	}
	for _, w := range []*window{one, two} {
		if d, ok := w.runner.Storage.(*browser.IndexedDB); ok {
			d.Close()
		}
	}
	return report(failing, lost)
}

func report(failing js.Value, lost []string) any {
	failing.Invoke("")
	text, _ := json.Marshal(struct {
		Requests int
		Failed   string // the request that was made to fail
		Lost     []string
	}{js.Global().Get("requests").Int(), js.Global().Get("failed").String(), lost})
	return string(text)
}

// losses says what a window has lost, as the sweep of app/runner does.
func (w *window) losses() (lost []string) {
	trails := func(unit string) *trail.Trail {
		u, events, err := w.runner.Storage.Unit(unit)
		if err != nil {
			return &trail.Trail{}
		}
		t, _, err := browser.Assemble(u, events)
		if err != nil {
			return &trail.Trail{}
		}
		return t
	}
	s := w.now()
	for unit, events := range w.acked {
		there := trails(unit)
		for _, e := range events {
			if e.N > len(there.Events) || !reflect.DeepEqual(there.Events[e.N-1], e) {
				lost = append(lost, fmt.Sprintf("event %d was shown as recorded and is not stored", e.N))
			}
		}
	}
	if s.Unsaved() > 0 && s.Storage.Trouble == state.NoTrouble {
		lost = append(lost, "something is only in memory, and nobody was told")
	}
	w.do(state.BackUp{Way: state.WaySave})
	for _, texts := range w.taps {
		for _, text := range texts {
			if !w.told[text] && !strings.Contains(w.saved, fmt.Sprintf("%q", text)) {
				lost = append(lost, fmt.Sprintf("%q is in no file that is taken away", text))
			}
		}
	}
	w.do(state.SaveAgain{})
	if n := w.now().Unsaved(); n > 0 {
		lost = append(lost, fmt.Sprintf("%d steps cannot be stored", n))
	}
	for unit, texts := range w.taps {
		n := map[string]int{}
		for _, e := range trails(unit).Events {
			n[e.Text]++
		}
		for _, text := range texts {
			if !w.told[text] && n[text] != 1 {
				lost = append(lost, fmt.Sprintf("%q is stored %d times in the end", text, n[text]))
			}
		}
	}
	return lost
}
