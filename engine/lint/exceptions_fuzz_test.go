package lint

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzExceptions: a text is refused, or gives exceptions that each name a model, a kind
// and a reason.
func FuzzExceptions(f *testing.F) {
	f.Add([]byte(`[{"model": "small", "kind": "twins", "of": ["lens.dirty", "mirror.dull"], "why": "meant"}]`))
	f.Add([]byte(`[]`))
	f.Add([]byte(`[{"model": "", "kind": 7, "of": [[]]}]`))
	f.Fuzz(func(t *testing.T, text []byte) {
		all, err := ReadExceptions(text)
		if err != nil {
			require.ErrorIs(t, err, ErrExceptions)
			require.Nil(t, all)
			return
		}
		for _, e := range all {
			require.NotEmpty(t, e.Model)
			require.NotEmpty(t, e.Kind)
			require.NotEmpty(t, e.Why)
		}
	})
}
