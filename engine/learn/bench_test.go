package learn

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
)

func BenchmarkTopLoader(b *testing.B) {
	m, err := catalog.Load("top-loader")
	require.NoError(b, err)
	l, err := New(m)
	require.NoError(b, err)
	d := chance{rand.New(rand.NewPCG(1, 1)), l.frame}
	truth := d.truth()
	for range 200 {
		t, _ := d.unit(truth, 8)
		require.NoError(b, l.Add(t))
	}
	for b.Loop() {
		n := 0
		fit, err := l.Fit(Options{Cores: 2, Told: func(int) { n++ }})
		require.NoError(b, err)
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
