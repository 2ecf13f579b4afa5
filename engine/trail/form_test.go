package trail

import (
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pitwise/engine/internal/mutate"
)

func TestFormsMatchWhatTheirPatternsSay(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for _, row := range []struct {
		pattern, text, letters string
		match                  func(string) bool
	}{
		{timeForm.Pattern, "2026-03-04T10:11:12Z", "0123456789.Z", isWrittenAsTime},
		{timeForm.Pattern, "2026-03-04T10:11:12.5Z", "09.Z+-:T/\n\x80é", isWrittenAsTime},
		{timeForm.Pattern, "2026-03-04T10:11:12.25+01:30", "09.Z+-:t;,", isWrittenAsTime},
		{timeForm.Pattern, "2026-03-04T10:11:12-01:30", "0123456789.+-", isWrittenAsTime},
		{DigestForm.Pattern, strings.Repeat("09af", 16), "09afAFg/:`\n\x80é", DigestForm.Match},
		{filledForm.Pattern, "a", "a \n\x00\x80é", filledForm.Match},
	} {
		pattern := regexp.MustCompile(row.pattern)
		require.True(t, row.match(row.text))
		matched := 0
		const texts = 50_000
		for n := range texts {
			s := mutate.Text(rng, row.text, row.letters, n%6)
			want := pattern.MatchString(s)
			require.Equal(t, want, row.match(s), "%q, %s", s, row.pattern)
			if want {
				matched++
			}
		}
		require.Greater(t, matched, texts/10)
		require.Less(t, matched, texts)
	}
}

// TestATimeIsWrittenAsOneAndIsAMoment: the pattern is no looser than what is asked.
func TestATimeIsWrittenAsOneAndIsAMoment(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	pattern := regexp.MustCompile(timeForm.Pattern)
	for n := range 50_000 {
		s := mutate.Text(rng, "2024-02-29T23:59:59.9+23:59", "0123456789Z", n%4)
		require.Equal(t, pattern.MatchString(s) && isMoment(s), timeForm.Match(s), "%q", s)
	}
}
