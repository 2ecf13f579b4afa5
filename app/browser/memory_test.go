package browser_test

import (
	"errors"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/engine/trail"
)

// The contract of Storage, on the fake. The browser tests hold IndexedDB to it.
func TestStorage(t *testing.T) {
	open := func(t *testing.T) (*browser.Memory, browser.UnitRecord, []browser.EventRecord) {
		m := browser.NewMemory()
		require.NoError(t, m.Open())
		u, events := records(t, someTrail())
		require.NoError(t, m.Create(u, browser.ModelRecord{SHA256: "aa", Text: "model"}, events[:1]))
		return m, u, events
	}
	t.Run("a unit comes back as it was stored", func(t *testing.T) {
		m, u, events := open(t)
		require.NoError(t, m.Append(u.ID, events[1:]))
		gotUnit, gotEvents, err := m.Unit(u.ID)
		require.NoError(t, err)
		assert.Equal(t, u, gotUnit)
		assert.Equal(t, events, gotEvents)
		text, err := m.Model("aa")
		require.NoError(t, err)
		assert.Equal(t, "model", string(text))
	})
	t.Run("an id is used once", func(t *testing.T) {
		m, u, events := open(t)
		require.ErrorIs(t, m.Create(u, browser.ModelRecord{}, events), browser.ErrExists)
		_, got, _ := m.Unit(u.ID)
		assert.Len(t, got, 1)
	})
	t.Run("only the next event is taken", func(t *testing.T) {
		m, u, events := open(t)
		require.ErrorIs(t, m.Append(u.ID, events[:1]), browser.ErrClash)
		require.ErrorIs(t, m.Append(u.ID, events[2:]), browser.ErrClash)
		_, got, _ := m.Unit(u.ID)
		assert.Equal(t, events[:1], got)
	})
	t.Run("of two writers at once each event has one", func(t *testing.T) {
		m, u, _ := open(t)
		var wg sync.WaitGroup
		var won, lost int
		var mu sync.Mutex
		for range 8 {
			wg.Go(func() {
				for n := 2; n <= 50; n++ {
					e, err := browser.OfEvents(u.ID, []trail.Event{{N: n, At: "2026-03-04T10:11:12Z", Kind: trail.Note, Text: "x"}})
					require.NoError(t, err)
					err = m.Append(u.ID, e)
					mu.Lock()
					if err == nil {
						won++
					} else if errors.Is(err, browser.ErrClash) {
						lost++
					}
					mu.Unlock()
				}
			})
		}
		wg.Wait()
		_, got, err := m.Unit(u.ID)
		require.NoError(t, err)
		assert.Equal(t, 1+won, len(got))
		assert.Equal(t, 8*49, won+lost)
		for i, e := range got {
			assert.Equal(t, i+1, e.N)
		}
	})
	t.Run("what is not there is gone", func(t *testing.T) {
		m, _, events := open(t)
		_, _, err := m.Unit("other")
		require.ErrorIs(t, err, browser.ErrGone)
		require.ErrorIs(t, m.Append("other", events), browser.ErrGone)
		require.ErrorIs(t, m.Archive("other", true), browser.ErrGone)
		_, err = m.Model("bb")
		require.ErrorIs(t, err, browser.ErrGone)
	})
	t.Run("archiving and marks are no events", func(t *testing.T) {
		m, u, events := open(t)
		require.NoError(t, m.Archive(u.ID, true))
		require.NoError(t, m.Keep("marks/"+u.ID, "{}"))
		got, after, err := m.Unit(u.ID)
		require.NoError(t, err)
		assert.True(t, got.Archived)
		assert.True(t, got.Intact())
		assert.Equal(t, events[:1], after)
	})
}

func TestModelsToBeginUnitsWith(t *testing.T) {
	m := browser.NewMemory()
	one, two := strings.Repeat("1", 64), strings.Repeat("2", 64)
	require.NoError(t, m.KeepModel(browser.ModelRecord{SHA256: one, Text: "a"}, "first"))
	require.NoError(t, m.KeepModel(browser.ModelRecord{SHA256: two, Text: "b"}, "second"))
	require.NoError(t, m.Keep("lang", "de"))
	listed, err := m.Models()
	require.NoError(t, err)
	assert.Equal(t, map[string]string{one: "first", two: "second"}, listed, "settings are no models")

	tr := &trail.Trail{ID: "A", Model: trail.ModelRef{ID: "own", Revision: "1", SHA256: one}}
	require.NoError(t, m.Create(browser.OfUnit(tr), browser.ModelRecord{}, nil))
	require.NoError(t, m.DropModel(one))
	require.NoError(t, m.DropModel(two))
	listed, err = m.Models()
	require.NoError(t, err)
	assert.Empty(t, listed)
	text, err := m.Model(one)
	require.NoError(t, err, "a unit was recorded under it")
	assert.Equal(t, "a", string(text))
	_, err = m.Model(two)
	require.ErrorIs(t, err, browser.ErrGone)
}
