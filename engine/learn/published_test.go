package learn

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// plainModel is one mode, an intake test that everything fails, and a look with the rows given.
// The rows are known as well as can be; the prior has the weight given.
func plainModel(t testing.TB, prior, weight float64, healthy, given string) *model.Model {
	outcomes := ""
	n := 1
	for _, c := range healthy {
		if c == ',' {
			n++
		}
	}
	for k := range n {
		if k > 0 {
			outcomes += ", "
		}
		outcomes += fmt.Sprintf(`{"id": "o%d"}`, k)
	}
	return loaded(t, fmt.Appendf(nil, `{
	"format": "pitwise/model", "version": 2, "id": "plain", "revision": "1", "title": "One mode", "most_faults": 1,
	"sources": {"known": {"kind": "published", "cite": "invented for a test", "weight": 1e12}, "open": {"kind": "memory", "cite": "invented for a test", "weight": %g}},
	"setups": [{"id": "shut"}],
	"components": [{"id": "part", "modes": [{"id": "bad", "prior": %g, "source": "open"}]}],
	"tests": [
		{"id": "start", "intake": true, "at": "shut", "minutes": 1, "money": 0, "outcomes": [{"id": "goes"}, {"id": "fails"}],
			"healthy": [1e-9, 0.999999999], "given": {}, "steadiness": 1, "source": "known"},
		{"id": "look", "at": "shut", "minutes": 1, "money": 0, "outcomes": [%s],
			"healthy": [%s], "given": {"part.bad": [%s]}, "steadiness": 1, "source": "known"}],
	"repairs": []}`, weight, prior, outcomes, healthy, given))
}

// looked returns a trail of a unit that failed and then showed an outcome of look.
func looked(m *model.Model, id, outcome string) *trail.Trail {
	const at = "2026-01-01T00:00:00Z"
	return &trail.Trail{ID: id, Created: at, Model: trail.ModelRef{ID: m.ID, SHA256: m.SHA256}, Events: []trail.Event{
		{N: 1, At: at, Kind: trail.Result, Test: "start", Outcome: "fails"},
		{N: 2, At: at, Kind: trail.Result, Test: "look", Outcome: model.OutcomeID(outcome)},
	}}
}

// TestTheGeneticLinkageExample: 197 animals in four cells with probabilities 1/2+x/4, (1-x)/4,
// (1-x)/4, x/4, seen 125, 18, 20 and 34 times; x is 0.626821498 (Rao 1965, as worked by
// Dempster, Laird & Rubin 1977, section 1). As a model: x is the prior of a mode, and the cells,
// from the best outcome on, are (1/4, 1/4, 1/2, 0) without it and (0, 0, 3/4, 1/4) with it.
func TestTheGeneticLinkageExample(t *testing.T) {
	m := plainModel(t, 0.5, 1e-6, "0.25, 0.25, 0.499999999, 1e-9", "1e-10, 1e-10, 0.7499999998, 0.25")
	l, err := New(m)
	require.NoError(t, err)
	for outcome, n := range map[string]int{"o2": 125, "o0": 18, "o1": 20, "o3": 34} {
		for i := range n {
			require.NoError(t, l.Add(looked(m, fmt.Sprint(outcome, i), outcome)))
		}
	}
	fit, err := l.Fit(Options{Close: 1e-9})
	require.NoError(t, err)
	assert.InDelta(t, 0.626821498, fit.Figures()[0].P, 5e-7)
}

// TestAKnownCauseGivesABeta: where the look tells the mode for certain, the posterior of the prior is
// a Beta, whose mean and quantiles gonum has.
func TestAKnownCauseGivesABeta(t *testing.T) {
	const weight, prior = 8, 0.2
	m := plainModel(t, prior, weight, "0.999999999, 1e-9", "1e-9, 0.999999999")
	for _, seen := range [][2]int{{0, 0}, {3, 1}, {12, 0}, {20, 30}} {
		l, err := New(m)
		require.NoError(t, err)
		for i := range seen[0] {
			require.NoError(t, l.Add(looked(m, fmt.Sprint("good", i), "o0")))
		}
		for i := range seen[1] {
			require.NoError(t, l.Add(looked(m, fmt.Sprint("bad", i), "o1")))
		}
		fit, err := l.Fit(Options{trust: 1})
		require.NoError(t, err)
		require.NoError(t, fit.Intervals(Sweeps{Keep: 20_000}))
		beta := distuv.Beta{Alpha: weight*prior + float64(seen[1]), Beta: weight*(1-prior) + float64(seen[0])}
		f := fit.Figures()[0]
		assert.InDelta(t, beta.Mean(), f.P, 1e-6)
		for q, x := range map[float64]float64{0.05: f.Interval.Low, 0.95: f.Interval.High} {
			// 20,000 independent draws know a quantile to sqrt(q(1-q)/20000)/density.
			sd := math.Sqrt(q*(1-q)/20_000) / beta.Prob(beta.Quantile(q))
			assert.InDelta(t, beta.Quantile(q), x, 4*sd, "quantile %v after %v", q, seen)
		}
	}
}
