package runner_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// manyUnits fills a storage with units of the three-part model, the first begun the first,
// each with so many events. They have no summaries, as those that an earlier version stored.
func manyUnits(t testing.TB, m *browser.Memory, units, events int) {
	t.Helper()
	example, err := model.Load([]byte(exampleText(t)))
	require.NoError(t, err)
	for i := range units {
		tr := unitOf(example, i, events)
		require.NoError(t, m.Create(browser.OfUnit(tr), browser.OfModel(example), browser.OfEvents(tr.ID, tr.Events), browser.CardRecord{}))
	}
}

// unitOf is unit i of a long-lived bench.
func unitOf(m *model.Model, i, events int) *trail.Trail {
	day := fmt.Sprintf("2026-%02d-%02dT", 1+i/28%12, 1+i%28)
	tr := &trail.Trail{
		ID: fmt.Sprintf("01ARYZ6S41%016d", i), Created: day + "08:00:00Z", Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Unit: trail.Unit{Label: fmt.Sprintf("Shelf %d", i)}, Terms: trail.Terms{Currency: "EUR", MinuteValue: 0.25},
	}
	for n := 1; n <= events; n++ {
		e := trail.Event{N: n, At: fmt.Sprintf("%s%02d:%02d:00Z", day, 8+n/60, n%60), Kind: trail.Note, Text: fmt.Sprintf("looked at it, time %d", n)}
		if n == 1 {
			e = trail.Event{N: 1, At: e.At, Kind: trail.Result, Test: "first-boot", Outcome: "asks"}
		}
		tr.Events = append(tr.Events, e)
	}
	return tr
}

func TestSummariesThatAreMissingAreMade(t *testing.T) {
	m := browser.NewMemory()
	manyUnits(t, m, 60, 3)
	b := newBench(t, m)
	assert.Empty(t, b.now().Cards, "the page begins without")
	assert.False(t, b.now().Empty(), "but not as if there were nothing")
	b.send(state.Navigated{Path: "/"})
	s := b.until("all are summed up", func(s state.State) bool { return s.Count.Summing == 0 && len(s.Cards) > 0 })
	assert.Equal(t, state.Count{Units: 60, Listed: 60, Changed: "2026-03-04T08:03:00Z"}, s.Count)
	require.Len(t, s.Cards, 50, "a page of them")
	assert.Equal(t, "Shelf 59", s.Cards[0].Label)
	assert.Equal(t, "A three-part example", s.Cards[0].Model)
	assert.Equal(t, 3, s.Cards[0].Events)
	assert.Equal(t, 2.0, s.Cards[0].Minutes, "by hand: one test of two minutes")
	b.send(state.MoreCards{})
	s = b.until("the rest is there", func(s state.State) bool { return len(s.Cards) == 60 })
	assert.Equal(t, "Shelf 0", s.Cards[59].Label)
	b.send(state.SearchBench{Text: "shelf 57"})
	s = b.until("it is found", func(s state.State) bool { return s.Count.Listed == 1 })
	assert.Equal(t, "Shelf 57", s.Shown()[0].Label)
	b.send(state.SetArchived{ID: s.Cards[0].ID, On: true})
	b.send(state.SearchBench{})
	s = b.until("it is put away", func(s state.State) bool { return s.Count.Away == 1 && s.Count.Listed == 59 })
	b.send(state.ShowArchived{On: true})
	s = b.until("and on the other list", func(s state.State) bool { return s.Archived && len(s.Cards) == 1 })
	assert.Equal(t, "Shelf 57", s.Cards[0].Label)
}

// TestAListOfManyUnitsReadsNoEvents counts the calls of the storage: what a bench of 2,000
// units costs at a start, a list and a card is what one of none costs, but for the few
// units that are compared with what is shown of them.
func TestAListOfManyUnitsReadsNoEvents(t *testing.T) {
	units := 2000
	if testing.Short() {
		units = 300
	}
	m := browser.NewMemory()
	manyUnits(t, m, units, 2)
	first := newBench(t, m)
	first.send(state.Navigated{Path: "/"})
	first.until("all are summed up", func(s state.State) bool { return s.Count.Summing == 0 && len(s.Cards) == 50 })
	first.runner.Settle()

	var mu sync.Mutex
	calls := map[string]int{}
	m.Refuse(func(call string) error {
		mu.Lock()
		defer mu.Unlock()
		calls[call]++
		return nil
	})
	b := newBench(t, m)
	s := b.now()
	require.Len(t, s.Cards, 50)
	assert.Equal(t, units, s.Count.Units)
	mu.Lock()
	assert.Zero(t, calls["unit"], "the start reads no unit")
	assert.Zero(t, calls["units"])
	assert.LessOrEqual(t, calls["cards"], 2)
	mu.Unlock()
	b.send(state.Navigated{Path: "/"})
	b.runner.Settle()
	mu.Lock()
	assert.LessOrEqual(t, calls["unit"], 50, "what is shown is compared, once")
	compared := calls["unit"]
	mu.Unlock()
	b.send(state.Navigated{Path: "/settings"})
	b.send(state.Navigated{Path: "/"})
	b.runner.Settle()
	mu.Lock()
	assert.Equal(t, compared, calls["unit"], "and not again")
	clear(calls)
	mu.Unlock()
	b.send(state.Navigated{Path: "/unit/" + s.Cards[7].ID})
	b.until("the unit is there", func(s state.State) bool { return s.Unit != nil })
	mu.Lock()
	assert.Equal(t, 1, calls["unit"])
	assert.Zero(t, calls["units"]+calls["cards"])
	mu.Unlock()
}

func TestASummaryThatIsWrongIsMendedOnceItIsShown(t *testing.T) {
	m := browser.NewMemory()
	manyUnits(t, m, 3, 2)
	first := newBench(t, m)
	first.send(state.Navigated{Path: "/"})
	first.until("all are summed up", func(s state.State) bool { return len(s.Cards) == 3 })
	first.runner.Settle()
	c, err := m.Card("01ARYZ6S410000000000000001")
	require.NoError(t, err)
	c.Text = strings.Replace(c.Text, "Shelf 1", "Shelf 999", 1)
	require.NoError(t, m.KeepCards([]browser.CardRecord{c}))
	b := newBench(t, m)
	assert.Equal(t, "Shelf 999", b.now().Cards[1].Label)
	b.send(state.Navigated{Path: "/"})
	b.until("it is as its unit is", func(s state.State) bool { return s.Cards[1].Label == "Shelf 1" })
}

func TestACardOfAUnitWithoutItsModelGetsItsCostsOnceTheModelIsHere(t *testing.T) {
	example, err := model.Load([]byte(exampleText(t)))
	require.NoError(t, err)
	b := newBench(t, browser.NewMemory())
	b.readIn(string(unitOf(example, 1, 2).Encode()))
	b.send(state.Navigated{Path: "/"})
	s := b.until("its card is there", func(s state.State) bool { return len(s.Cards) == 1 })
	assert.Zero(t, s.Cards[0].Minutes)
	b.readIn(exampleText(t))
	b.send(state.Navigated{Path: "/"})
	b.until("with what it cost", func(s state.State) bool { return len(s.Cards) == 1 && s.Cards[0].Minutes == 2 })
}

func TestTimesWithOffsetsAreTimes(t *testing.T) {
	example, err := model.Load([]byte(exampleText(t)))
	require.NoError(t, err)
	b := newBench(t, browser.NewMemory())
	for i, at := range []string{"2026-03-04T10:00:00+09:00", "2026-03-04T05:00:00Z"} { // the first is at 01:00Z
		tr := unitOf(example, i, 1)
		tr.Events[0].At = at
		b.readIn(string(tr.Encode()))
	}
	b.send(state.Navigated{Path: "/"})
	s := b.until("both are there", func(s state.State) bool { return len(s.Cards) == 2 })
	assert.Equal(t, []string{"Shelf 1", "Shelf 0"}, []string{s.Cards[0].Label, s.Cards[1].Label}, "the latest first")
	s.Storage = state.Storage{Asked: true, Backed: "2026-03-04T06:00:00Z"}
	s.Count.Changed = "2026-03-04T14:30:00+09:00" // 05:30Z
	assert.False(t, s.Unbacked(), "all of it was taken away")
	s.Count.Changed = "2026-03-04T05:30:00-02:00" // 07:30Z
	assert.True(t, s.Unbacked())
}

// benchOf is the text of a back-up of so many units.
func benchOf(t testing.TB, units, events int) string {
	t.Helper()
	example, err := model.Load([]byte(exampleText(t)))
	require.NoError(t, err)
	var texts []string
	for i := range units {
		texts = append(texts, string(unitOf(example, i, events).Encode()))
	}
	text, err := runner.Backup(texts, map[string]string{example.SHA256: exampleText(t)})
	require.NoError(t, err)
	return text
}

func TestReadingInIsToldAndCanBeStoppedWithNothingHalfDone(t *testing.T) {
	text := benchOf(t, 300, 5)
	for name, at := range map[string]float64{"at once": 0, "while it is looked at": 0.2, "while it is stored": 0.7} {
		t.Run(name, func(t *testing.T) {
			m := browser.NewMemory()
			b := newBench(t, m)
			b.hear(func(msg state.Msg) {
				if on, ok := msg.(state.ReadingOn); ok && float64(on.Done) >= at*float64(on.All) {
					b.runner.Do(state.StopReading{})
				}
			})
			s := b.readIn(text)
			assert.Equal(t, state.NoticeStopped, s.Notice.Kind)
			assert.False(t, s.Reading)
			units, err := m.Units()
			require.NoError(t, err)
			assert.Empty(t, units)
			b.hear(nil)
			s = b.readIn(text)
			assert.Equal(t, state.NoticeImported, s.Notice.Kind)
			units, err = m.Units()
			require.NoError(t, err)
			assert.Len(t, units, 300)
		})
	}
	t.Run("a storage that fails stores nothing of it", func(t *testing.T) {
		m := browser.NewMemory()
		b := newBench(t, m)
		m.Refuse(func(call string) error {
			if call == "add" {
				return browser.ErrFull
			}
			return nil
		})
		s := b.readIn(text)
		assert.Equal(t, state.TroubleImport, s.Notice.Trouble)
		units, err := m.Units()
		require.NoError(t, err)
		assert.Empty(t, units)
	})
}

func BenchmarkReadingIn2000Units(b *testing.B) {
	text := benchOf(b, 2000, 40)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		m := browser.NewMemory()
		r := &runner.Runner{Storage: m, Device: &browser.Still{Offers: []browser.File{{Name: "bench.json", Text: text}}}, Go: func(string) {}}
		done := make(chan state.Msg, 1)
		r.Send = func(msg state.Msg) {
			switch msg.(type) {
			case state.Imported, state.ImportFailed:
				done <- msg
			}
		}
		r.Do(state.ReadIn{})
		if _, ok := (<-done).(state.Imported); !ok {
			b.Fatal("it was not read in")
		}
	}
}
