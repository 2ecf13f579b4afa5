package trail_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/internal/random"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// long makes a trail of n events under a model: results of a few tests in
// turn, and after every so many of them a repair; none if changes is 0.
func long(t testing.TB, s *belief.Space, n, changes int) *trail.Trail {
	m := s.Model()
	tr := &trail.Trail{ID: "long", Created: "2026-03-04T10:11:12Z", Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Terms: trail.Terms{MinuteValue: 0.5, Currency: "EUR", WorkingValue: 60, AsIsValue: 10, ComebackCost: 40}}
	for i := range n {
		e := trail.Event{N: i + 1, At: "2026-03-04T10:12:00Z", Kind: trail.Result}
		if changes > 0 && i%(n/changes) == n/changes-1 {
			e.Kind, e.Repair = trail.Repair, m.Repairs[i%len(m.Repairs)].ID
		} else {
			test := &m.Tests[i%min(7, len(m.Tests))]
			e.Test, e.Outcome = test.ID, test.Outcomes[i*i%len(test.Outcomes)].ID
		}
		tr.Events = append(tr.Events, e)
	}
	require.NoError(t, tr.Check(m))
	return tr
}

// replays are the three things that are worked out of a trail.
var replays = [...]struct {
	name string
	f    func(s *belief.Space, tr *trail.Trail) error
}{
	{"lines", func(s *belief.Space, tr *trail.Trail) error { _, err := trail.Replay(s, tr); return err }},
	{"origin", func(s *belief.Space, tr *trail.Trail) error { _, err := trail.Origin(s, tr); return err }},
	{"doubts", func(s *belief.Space, tr *trail.Trail) error { _, err := trail.Doubts(s, tr); return err }},
}

// TestTheWorkOfAReplayIsLinearInItsEvents: ten times the events are at most 10.1 times the
// work, as belief.Space counts it; a square law would make it 100 times. That allocations do not
// grow faster either shows that nothing is copied along.
func TestTheWorkOfAReplayIsLinearInItsEvents(t *testing.T) {
	second := random.Model(rand.New(rand.NewPCG(1, 79)), random.Size{Components: 3, Modes: 2, Tests: 8, Outcomes: 3, Repairs: 4, Setups: 2, MostFaults: 2, Exact: true, Second: true})
	for _, row := range []struct {
		name string
		text []byte
	}{
		{"version 1", random.Model(rand.New(rand.NewPCG(1, 77)), random.Size{Components: 3, Modes: 2, Tests: 8, Outcomes: 3, Repairs: 4, Setups: 2, MostFaults: 2, Exact: true})},
		{"version 2, what is told first", second},
	} {
		s := spaceOf(t, row.text)
		few, many := 200, 2000
		for _, changes := range []int{0, 5} {
			for _, one := range replays {
				t.Run(fmt.Sprintf("%s: %s with %d repairs", row.name, one.name, changes), func(t *testing.T) {
					var work [2]uint64
					var made [2]float64
					for i, n := range []int{few, many} {
						tr := toldFirst(s, long(t, s, n, changes))
						before := s.Work()
						require.NoError(t, one.f(s, tr))
						work[i] = s.Work() - before
						made[i] = testing.AllocsPerRun(1, func() { require.NoError(t, one.f(s, tr)) })
					}
					assert.Positive(t, work[0])
					assert.LessOrEqual(t, float64(work[1]), 10.1*float64(work[0]), "masses for %d events, and for %d", many, few)
					assert.LessOrEqual(t, made[1], 10.5*made[0], "allocations for %d events, and for %d", many, few)
				})
			}
		}
	}
}

// toldFirst puts the told results of a trail before all others.
func toldFirst(s *belief.Space, tr *trail.Trail) *trail.Trail {
	told := func(e trail.Event) int {
		if test, ok := s.Model().Test(e.Test); ok && test.Told && e.Kind == trail.Result {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(tr.Events, func(a, b trail.Event) int { return told(a) - told(b) })
	for i := range tr.Events {
		tr.Events[i].N = i + 1
	}
	return tr
}

// TestTellingsThatComeLateEndOrAreRefused: each is followed by all that is not told anew.
func TestTellingsThatComeLateEndOrAreRefused(t *testing.T) {
	text, err := os.ReadFile("../model/testdata/second.json")
	require.NoError(t, err)
	s := spaceOf(t, text)
	late := func(rest, told int) *trail.Trail {
		tr := long(t, s, rest, 0)
		for i := range tr.Events {
			tr.Events[i].Test, tr.Events[i].Outcome = "boot", []model.OutcomeID{"boots", "asks", "still"}[i%3]
		}
		for range told {
			tr.Events = append(tr.Events, trail.Event{N: len(tr.Events) + 1, At: tr.Created, Kind: trail.Result, Test: "story", Outcome: "skips"})
		}
		require.NoError(t, tr.Check(s.Model()))
		return tr
	}
	_, err = trail.Replay(s, late(200, 20))
	require.NoError(t, err)
	if testing.Short() {
		return // where it ends is counted, not timed: natively is enough
	}
	a, err := trail.Replay(s, late(20_000, 5000))
	require.ErrorIs(t, err, trail.ErrToldTooLate)
	assert.Greater(t, len(a.Lines), 20_001, "what stands before is worked out")
	_, err = trail.Origin(s, late(20_000, 5000))
	require.NoError(t, err, "the whole trail is followed once")
}

// BenchmarkReplay gives the table in cmd/dev/MEASUREMENTS.md: go test -run '^$' -bench Replay -benchtime 1x.
func BenchmarkReplay(b *testing.B) {
	text, ok := catalog.Text("top-loader")
	require.True(b, ok)
	s := spaceOf(b, text)
	for _, one := range replays {
		for _, changes := range []int{0, 5, 20} {
			for _, n := range []int{500, 1000, 2500, 5000} {
				tr := long(b, s, n, changes)
				require.NoError(b, one.f(s, long(b, s, 100, changes)))
				b.Run(fmt.Sprintf("%s/repairs=%d/events=%d", one.name, changes, n), func(b *testing.B) {
					for b.Loop() {
						require.NoError(b, one.f(s, tr))
					}
				})
			}
		}
	}
}

// TestDoubtsEndOrAreRefused: with a repair after every other result the work grows with the
// square of the events. It is refused before it takes more than some seconds; lines and
// origin are still there.
func TestDoubtsEndOrAreRefused(t *testing.T) {
	text, ok := catalog.Text("top-loader")
	require.True(t, ok)
	s := spaceOf(t, text)
	evening := long(t, s, 60, 20)
	_, err := trail.Doubts(s, evening)
	require.NoError(t, err, "60 events with 20 repairs are an evening's work")
	tr := long(t, s, 2000, 1000)
	start := time.Now()
	_, err = trail.Doubts(s, tr)
	require.ErrorIs(t, err, belief.ErrTooLong)
	assert.Less(t, time.Since(start), 2*time.Minute, "by following the chain once")
}

// TestALongRowOfBlurredReadingsIsRefused: readings on the border of two outcomes leave every
// count open, and the work grows with the square of their number.
func TestALongRowOfBlurredReadingsIsRefused(t *testing.T) {
	if testing.Short() {
		t.Skip("natively only: it fills the 4 GiB that a wasm program can have")
	}
	text, err := os.ReadFile("../model/testdata/example.json")
	require.NoError(t, err)
	s := spaceOf(t, text)
	m := s.Model()
	blurred := func(n int) *trail.Trail {
		tr := long(t, s, n, 0)
		for i := range tr.Events {
			x := 4.75 + 1e-6*float64(i)
			tr.Events[i] = trail.Event{N: i + 1, At: "2026-03-04T10:12:00Z", Kind: trail.Result, Test: "rail", Reading: &x}
		}
		require.NoError(t, tr.Check(m))
		return tr
	}
	_, err = trail.Replay(s, blurred(100))
	require.NoError(t, err)
	start := time.Now()
	_, err = trail.Replay(s, blurred(100_000))
	require.ErrorIs(t, err, belief.ErrTooBlurred)
	assert.Less(t, time.Since(start), 2*time.Minute)
	t.Logf("refused after %.1f s", time.Since(start).Seconds())
}

func spaceOf(t testing.TB, text []byte) *belief.Space {
	t.Helper()
	m, err := model.Load(text)
	require.NoError(t, err)
	s, err := belief.NewSpace(m)
	require.NoError(t, err)
	return s
}
