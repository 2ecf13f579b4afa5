//go:build js

// Command tabs is the page without its views: state, runner and the browser's storage,
// for tests that let several tabs record at speed.
//
// It gives the window nine functions, which return promises:
//
//	tabOpen(unit)    begins the sample unit if unit is "", and shows the unit; its id
//	tabWrite(mark, n) records n notes "mark 1" to "mark n", each again until it is
//	                 recorded; how often it was told that another tab was first
//	tabStore(unit, mark, n)
//	                 the same with the storage alone
//	tabLend(mark, n) takes the counts of n other benches in, one after the other, "mark 1" to
//	                 "mark n"; what then is kept of them
//	tabRead(unit)    the texts of the notes in the storage
//	tabContract()    what of the contract of a Storage the browser's does not hold to, by name
//	tabAtOnce(n)     reads n times at once, and how many of the reads failed
//	tabEvening(fail, before)
//	                 plays the evening of package sweep, of which window.failing lets a request
//	                 fail, and says what was lost
//	tabShown()       the texts of the notes on the trail that is shown, once nothing is
//	                 under way any more
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"sync/atomic"
	"syscall/js"
	"time"

	"pitwise/app/browser"
	"pitwise/app/browser/contract"
	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/engine/learn"
	"pitwise/engine/trail"
)

type tab struct {
	mu      sync.Mutex
	state   state.State
	clashes int
	runner  *runner.Runner
}

func (t *tab) send(m state.Msg) {
	t.mu.Lock()
	next, effects := state.Update(t.state, m)
	if next.Notice.Kind == state.NoticeClash && next.Notice.Serial != t.state.Notice.Serial {
		t.clashes++
	}
	t.state = next
	t.mu.Unlock()
	for _, e := range effects {
		switch e.(type) {
		case state.Reckon, state.DismissLater, state.ReadBench, state.Persist:
			// No odds, no timers, no list: what is looked at here is what is recorded.
		default:
			t.runner.Do(e)
		}
	}
}

func (t *tab) now() state.State {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.state
}

func (t *tab) until(ok func(state.State) bool) state.State {
	for {
		if s := t.now(); ok(s) {
			return s
		}
		t.runner.Device.Yield()
	}
}

func (t *tab) open(unit string) any {
	if unit == "" {
		t.send(state.CreateSample{})
		unit = state.SampleID
	} else {
		t.send(state.Navigated{Path: "/unit/" + unit})
	}
	t.until(func(s state.State) bool { return s.Unit != nil && s.Unit.Trail.ID == unit })
	return unit
}

func has(s state.State, text string) bool {
	for i := len(s.Unit.Trail.Events) - 1; i >= 0; i-- {
		if s.Unit.Trail.Events[i].Text == text {
			return true
		}
	}
	return false
}

func (t *tab) write(mark string, n int) any {
	alone := false
	for i := 1; i <= n; i++ {
		text := fmt.Sprintf("%s %d", mark, i)
		for {
			t.mu.Lock()
			told := t.clashes
			t.mu.Unlock()
			t.send(state.OpenSheet{Sheet: state.SheetNote})
			t.send(state.SetText{Text: text})
			t.send(state.ConfirmSheet{})
			clash := false
			s := t.until(func(s state.State) bool {
				t.mu.Lock()
				clash = t.clashes > told
				t.mu.Unlock()
				return !s.Unit.Saving && (clash || has(s, text))
			})
			if has(s, text) {
				pause()
				if i%3 == 0 && !alone {
					alone = !t.another(mark)
				}
				break
			}
			// As a person would: look at what the other tab recorded, and tap again.
			t.runner.Settle()
		}
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.clashes
}

// pause lets the other tab have its turn: the one that was first would else be first
// again, while the other still reads what it missed.
func pause() { time.Sleep(time.Duration(rand.IntN(20)) * time.Millisecond) }

// another waits until the last note is the other tab's, which on a slow machine is still
// reading what it missed while this one writes on; false if that one has no more to say.
func (t *tab) another(mark string) bool {
	for end := time.Now().Add(5 * time.Second); time.Now().Before(end); t.runner.Device.Yield() {
		events := t.now().Unit.Trail.Events
		if e := events[len(events)-1]; e.Kind == trail.Note && !strings.HasPrefix(e.Text, mark) {
			return true
		}
	}
	return false
}

// read returns the notes in the storage.
func (t *tab) read(unit string) any {
	u, events, err := t.runner.Storage.Unit(unit)
	if err != nil {
		return err.Error()
	}
	tr, _, err := browser.Assemble(u, events)
	if err != nil {
		return err.Error()
	}
	return notes(tr)
}

// notes are the texts of the notes of a trail, as JSON.
func notes(tr *trail.Trail) string {
	var texts []string
	for _, e := range tr.Events {
		if e.Kind == trail.Note {
			texts = append(texts, e.Text)
		}
	}
	text, _ := json.Marshal(texts)
	return string(text)
}

// store records with the page's storage code alone.
func (t *tab) store(unit, mark string, n int) any {
	clashes, next := 0, 1
	for i := 1; i <= n; i++ {
		for {
			records := browser.OfEvents(unit, []trail.Event{{
				N: next, At: t.runner.Device.Now().UTC().Format(time.RFC3339), Kind: trail.Note, Text: fmt.Sprintf("%s %d", mark, i),
			}})
			err := t.runner.Storage.Append(unit, records, browser.CardRecord{})
			if err == nil {
				next++
				pause()
				break
			}
			if !errors.Is(err, browser.ErrClash) {
				return err.Error()
			}
			clashes++
			_, events, err := t.runner.Storage.Unit(unit)
			if err != nil {
				return err.Error()
			}
			next = len(events) + 1
		}
	}
	return clashes
}

// lend takes counts in as the page does.
func (t *tab) lend(mark string, n int) any {
	for i := 1; i <= n; i++ {
		t.runner.Do(state.Lend{Counts: learn.Counts{Model: "tray", Benches: []learn.Bench{{ID: fmt.Sprintf("%s %d", mark, i), Units: 1}}}})
	}
	t.runner.Settle()
	kept, err := t.runner.Storage.Kept("counts/tray")
	if err != nil {
		return err.Error()
	}
	return kept
}

func (t *tab) shown() any {
	t.runner.Settle()
	return notes(t.until(func(s state.State) bool { return !s.Unit.Saving }).Unit.Trail)
}

// atOnce reads with the page's storage code from many goroutines.
func (t *tab) atOnce(n int) any {
	var failed atomic.Int64
	var wg sync.WaitGroup
	for range n {
		wg.Go(func() {
			if _, err := t.runner.Storage.Kept("lang"); err != nil {
				failed.Add(1)
			}
		})
	}
	wg.Wait()
	return int(failed.Load())
}

// promised makes f a function of the window.
func promised(name string, f func(args []js.Value) any) {
	js.Global().Set(name, js.FuncOf(func(_ js.Value, args []js.Value) any {
		return js.Global().Get("Promise").New(js.FuncOf(func(_ js.Value, then []js.Value) any {
			go func() { then[0].Invoke(f(args)) }()
			return nil
		}))
	}))
}

func main() {
	if browser.InThread() {
		runner.ServeEngine()
	}
	t := &tab{}
	t.runner = &runner.Runner{Storage: browser.NewIndexedDB(), Device: browser.NewPage(), Send: t.send,
		Go: func(path string) { go t.send(state.Navigated{Path: path}) }}
	t.runner.Begin()
	t.until(func(s state.State) bool { return s.Ready })
	promised("tabOpen", func(args []js.Value) any { return t.open(args[0].String()) })
	promised("tabWrite", func(args []js.Value) any { return t.write(args[0].String(), args[1].Int()) })
	promised("tabStore", func(args []js.Value) any { return t.store(args[0].String(), args[1].String(), args[2].Int()) })
	promised("tabLend", func(args []js.Value) any { return t.lend(args[0].String(), args[1].Int()) })
	promised("tabRead", func(args []js.Value) any { return t.read(args[0].String()) })
	promised("tabContract", func([]js.Value) any {
		text, _ := json.Marshal(contract.Run(t.runner.Storage))
		return string(text)
	})
	promised("tabAtOnce", func(args []js.Value) any { return t.atOnce(args[0].Int()) })
	promised("tabEvening", func(args []js.Value) any { return evening(args[0].String(), args[1].String()) })
	promised("tabShown", func([]js.Value) any { return t.shown() })
	js.Global().Set("tabReady", true)
	select {}
}
