package model

import (
	"math/rand/v2"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	"pitwise/engine/document"
	"pitwise/engine/internal/mutate"
)

func TestFormsMatchWhatTheirPatternsSay(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for _, row := range []struct {
		form *document.Form
		text string
	}{
		{IDForm, "lens-2"},
		{ModeForm, "laser.weak-1"},
		{CurrencyForm, "EUR"},
	} {
		pattern := regexp.MustCompile(row.form.Pattern)
		require.True(t, row.form.Match(row.text))
		matched := 0
		const texts = 50_000
		for n := range texts {
			s := mutate.Text(rng, row.text, "az09AZ-._/:@[`{\n \x00\x80é", n%6)
			want := pattern.MatchString(s)
			require.Equal(t, want, row.form.Match(s), "%q, %s", s, row.form.Pattern)
			if want {
				matched++
			}
		}
		require.Greater(t, matched, texts/10)
		require.Less(t, matched, texts*9/10)
	}
}
