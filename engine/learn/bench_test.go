package learn

import (
	"math/rand/v2"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
	"pitwise/engine/internal/random"
)

// BenchmarkTopLoader does what the page does with 200 units: numbers, their intervals, and what one unit taught.
func BenchmarkTopLoader(b *testing.B) {
	m, err := catalog.Load("top-loader")
	require.NoError(b, err)
	l, err := New(m)
	require.NoError(b, err)
	d := chance{rand.New(rand.NewPCG(1, 1)), l.frame}
	truth := d.truth()
	id := ""
	for range 200 {
		t, _ := d.unit(truth, 8)
		id = t.ID
		require.NoError(b, l.Add(t))
	}
	for b.Loop() {
		began := time.Now()
		lap := func(what string) {
			b.ReportMetric(time.Since(began).Seconds(), what)
			began = time.Now()
		}
		fit, err := l.Fit(Options{Close: 1e-2})
		require.NoError(b, err)
		lap("s/numbers")
		require.NoError(b, fit.Intervals(Sweeps{Warm: 20, Keep: 150, Seed: 1}))
		lap("s/intervals")
		_, err = l.Taught(fit, id, Options{Close: 1e-2})
		require.NoError(b, err)
		lap("s/taught")
		b.ReportMetric(float64(fit.Rounds), "rounds")
		b.ReportMetric(fit.Log-fit.Shipped, "gain")
	}
}

// BenchmarkWhatTheLeadHangsOn works out the sensitivities of units with ten steps each.
func BenchmarkWhatTheLeadHangsOn(b *testing.B) {
	m, err := catalog.Load("top-loader")
	require.NoError(b, err)
	s, err := NewSensitivity(m)
	require.NoError(b, err)
	d := chance{rand.New(rand.NewPCG(1, 1)), s.frame}
	n := 0
	for b.Loop() {
		t, _ := d.unit(s.frame.ship, 10)
		h, err := s.Of(t)
		require.NoError(b, err)
		n += len(h.Numbers)
	}
	b.ReportMetric(float64(n)/float64(b.N), "numbers")
}

// BenchmarkHundredThousandTrails takes 100,000 trails of the top-loader in and reports what they
// hold, and learns from 100,000 of a model of four modes.
func BenchmarkHundredThousandTrails(b *testing.B) {
	const n = 100_000
	heap := func() float64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return float64(m.HeapAlloc)
	}
	b.Run("taken in", func(b *testing.B) {
		m, err := catalog.Load("top-loader")
		require.NoError(b, err)
		for b.Loop() {
			l, err := New(m)
			require.NoError(b, err)
			d := chance{rand.New(rand.NewPCG(1, 1)), l.frame}
			before := heap()
			for range n {
				t, _ := d.unit(l.frame.ship, 8)
				require.NoError(b, l.Add(t))
			}
			b.ReportMetric((heap()-before)/n, "B/trail")
			require.Equal(b, n, l.Len())
		}
	})
	b.Run("learnt from", func(b *testing.B) {
		m := loaded(b, random.Model(rand.New(rand.NewPCG(2, 3)), random.Size{Components: 2, Modes: 2, Tests: 4, Outcomes: 3, Repairs: 2, Setups: 2, MostFaults: 2, Exact: true}))
		l, err := New(m)
		require.NoError(b, err)
		d := chance{rand.New(rand.NewPCG(1, 1)), l.frame}
		truth := d.truth()
		for range n {
			t, _ := d.unit(truth, 8)
			require.NoError(b, l.Add(t))
		}
		b.ResetTimer()
		for b.Loop() {
			fit, err := l.Fit(Options{Cores: 2})
			require.NoError(b, err)
			b.ReportMetric(float64(fit.Rounds), "rounds")
			b.ReportMetric(heap()/1e6, "MB")
		}
	})
}
