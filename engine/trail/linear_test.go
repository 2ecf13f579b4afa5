package trail_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
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

// TestTheTimeOfAReplayIsLinearInItsEvents: ten times the events may take at most 60 times
// the time (more memory is slower memory); a square law would take 100 times. Other programs only ever add to a time, so
// that the least of some runs counts, and more runs are made as long as it is too long.
func TestTheTimeOfAReplayIsLinearInItsEvents(t *testing.T) {
	s := spaceOf(t, random.Model(rand.New(rand.NewPCG(1, 77)), random.Size{Components: 3, Modes: 2, Tests: 8, Outcomes: 3, Repairs: 4, Setups: 2, MostFaults: 2, Exact: true}))
	few, many := 500, 5000
	for _, changes := range []int{0, 5} {
		for _, one := range replays {
			t.Run(fmt.Sprintf("%s with %d repairs", one.name, changes), func(t *testing.T) {
				short, long := long(t, s, few, changes), long(t, s, many, changes)
				least := [2]float64{math.Inf(1), math.Inf(1)}
				for try := range 12 {
					for i, tr := range []*trail.Trail{short, long} {
						start := time.Now()
						require.NoError(t, one.f(s, tr))
						least[i] = min(least[i], time.Since(start).Seconds())
					}
					if try > 0 && least[1] < 60*least[0] {
						break
					}
				}
				assert.Less(t, least[1], 60*least[0], "seconds for %d events, and for %d", many, few)
			})
		}
	}
}

// BenchmarkReplay gives the table in DEVELOPERS.md: go test -run '^$' -bench Replay -benchtime 1x.
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
