package runner_test

import (
	"encoding/json"
	"errors"
	"os"
	"strconv"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/runner/sweep"
)

// failures are the ways in which a request to the storage fails.
var failures = map[string]error{
	"the transaction is undone": errors.New("browser: AbortError"),
	"there is no room":          browser.ErrFull,
	"the connection is closed":  browser.ErrDenied,
	"another window was first":  browser.ErrClash, // storing events alone is refused so
}

// versionOne is a bench as the first version of the schema has stored it, and how many events
// each of its units has. It had no cards.
func versionOne(t testing.TB) (fresh func() *browser.Memory, events map[string]int) {
	text, err := os.ReadFile("../../testdata/schema/version-1.json")
	require.NoError(t, err)
	var bench struct {
		Tables struct {
			Units  []browser.UnitRecord
			Events []browser.EventRecord
			Models []browser.ModelRecord
			Kept   []struct{ Key, Value string }
		}
	}
	require.NoError(t, json.Unmarshal(text, &bench))
	events = map[string]int{}
	for _, e := range bench.Tables.Events {
		events[e.Unit]++
	}
	return func() *browser.Memory {
		m := browser.NewMemory()
		for _, u := range bench.Tables.Units {
			var of []browser.EventRecord
			for _, e := range bench.Tables.Events {
				if e.Unit == u.ID {
					of = append(of, e)
				}
			}
			require.NoError(t, m.Create(u, bench.Tables.Models[0], of, browser.CardRecord{}))
		}
		for _, k := range bench.Tables.Kept {
			require.NoError(t, m.Keep(k.Key, k.Value))
		}
		return m
	}, events
}

// TestWhateverRequestFailsNothingIsLost plays the evening of package sweep on the fake once
// for every third request and every way of failing, or every so many-th with PITWISE_SWEEP_EVERY.
func TestWhateverRequestFailsNothingIsLost(t *testing.T) {
	fresh, before := versionOne(t)
	require.Len(t, before, 2)
	play := func(refuse func(call string) error) []string {
		m := fresh()
		var mu sync.Mutex
		m.Refuse(func(call string) error {
			mu.Lock()
			defer mu.Unlock()
			return refuse(call)
		})
		return sweep.Evening(sweep.Bench{
			Storage: func() browser.Storage { return m },
			Device:  &browser.Still{At: evening, Languages: []string{"en"}},
			Mended:  func() { m.Refuse(nil) },
			Tell:    func(unit string) { m.Tell(browser.Change{Unit: unit}) },
			Before:  before,
		})
	}
	requests, kinds := 0, map[string]bool{}
	require.Empty(t, play(func(call string) error { requests++; kinds[call] = true; return nil }), "an evening without a failure")
	require.Greater(t, requests, 80, "requests of the evening")

	losses, runs, every := 0, 0, 3
	if asked := os.Getenv("PITWISE_SWEEP_EVERY"); asked != "" {
		var err error
		every, err = strconv.Atoi(asked)
		require.NoError(t, err)
	}
	for name, failure := range failures {
		for n := 1; n <= requests; n += every {
			asked, failed := 0, ""
			lost := play(func(call string) error {
				if asked++; asked == n && (call == "append" || !errors.Is(failure, browser.ErrClash)) {
					failed = call
					return failure
				}
				return nil
			})
			if failed == "" {
				continue
			}
			runs++
			losses += len(lost)
			assert.Empty(t, lost, "%s, request %d (%s)", name, n, failed)
			require.LessOrEqual(t, losses, 20)
		}
	}
	t.Logf("%d requests of %d kinds an evening, %d evenings with one that fails, %d losses", requests, len(kinds), runs, losses)
}
