package trail_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pitwise/engine/trail"
)

// FuzzTerms: a text is refused with its defects, or gives terms that are numbers.
func FuzzTerms(f *testing.F) {
	f.Add([]byte(termsText))
	f.Add([]byte(`{"minute_value": 0, "currency": "EUR", "working_value": 1e308, "as_is_value": -1, "comeback_cost": 5e-324}`))
	f.Add([]byte(`{"minute_value": 0, "currency": "EUR", "exchange": 1e-300, "working_value": 1, "as_is_value": 1, "comeback_cost": 1}`))
	f.Add([]byte(`{"tools": ["a", "a"], "currency": "euro"}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		terms, err := trail.LoadTerms(text)
		if err != nil {
			var d trail.Defects
			require.ErrorAs(t, err, &d)
			require.NotEmpty(t, d.List)
			require.Empty(t, terms)
			return
		}
		for _, x := range []float64{terms.MinuteValue, terms.WorkingValue, terms.AsIsValue, terms.ComebackCost} {
			require.False(t, math.IsNaN(x) || math.IsInf(x, 0))
		}
		require.Len(t, terms.Currency, 3)
	})
}
