package document

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
)

// Over all of Unicode: what steers is in nothing that is shown, and what says something is
// in everything.
func TestEveryWayToShowATextAgreesOnWhatSteers(t *testing.T) {
	steering := 0
	for r := rune(0); r <= unicode.MaxRune; r++ {
		if !utf8.ValidRune(r) {
			continue
		}
		s := "a" + string(r) + "b"
		line, plain, quoted := Line(s), Plain(s), Quote(s)
		if !Steers(r) {
			require.Equal(t, s, line, "%U", r)
			require.Equal(t, s, plain, "%U", r)
			continue
		}
		steering++
		require.NotContains(t, line, string(r), "%U", r)
		require.NotContains(t, quoted, string(r), "%U", r)
		if r != '\n' && r != '\t' {
			require.NotContains(t, plain, string(r), "%U", r)
		}
	}
	require.Greater(t, steering, 65+2048, "source: Unicode has 65 controls and 137,468 private signs")
	require.NotContains(t, Line("a\r\nb"), "\n")
	require.Equal(t, "a  b", Line("a\r\nb"))
	require.False(t, strings.ContainsFunc(Line("\x1b[2J\u202e\u200b\ufeff\ue000"), Steers))
}
