package runner_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitwise/app/browser"
	"pitwise/app/runner"
	"pitwise/app/state"
)

// busy is a storage that is archiving a unit until it is let go, and tells what it keeps.
type busy struct {
	*browser.Memory
	gate chan struct{}
	kept chan string
}

func (b busy) Archive(string, bool) error { <-b.gate; return nil }

func (b busy) Keep(key, value string) error { b.kept <- value; return b.Memory.Keep(key, value) }

func TestMarksAreKeptWhileOtherWorkWaits(t *testing.T) {
	storage := busy{browser.NewMemory(), make(chan struct{}), make(chan string, 4)}
	r := &runner.Runner{Storage: storage, Device: &browser.Still{}, Send: func(state.Msg) {}, Go: func(string) {}}
	r.Do(state.SetArchived{ID: "U1", On: true})
	for _, runs := range []string{"+", "++", "++-", "+++"} {
		r.Do(state.KeepMarks{ID: "U1", Marks: state.Marks{Soak: state.Soak{Test: "five", Runs: runs}}})
	}
	for kept := ""; kept != `{"soak":{"test":"five","runs":"+++"}}`; {
		kept = <-storage.kept
	}
	close(storage.gate)
	r.Settle()
	assert.Empty(t, storage.kept, "the latest are kept last")
}
