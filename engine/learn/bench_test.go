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
