package parcel

import (
	"bytes"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Source: RFC 9285, sections 4.3 and 4.4, the examples.
func TestBase45IsThatOfTheStandard(t *testing.T) {
	for text, want := range map[string]string{"AB": "BB8", "Hello!!": "%69 VD92EX0", "base-45": "UJCLQE7W581", "ietf!": "QED8WEX0"} {
		assert.Equal(t, want, encode([]byte(text)))
		back, err := decode(want)
		require.NoError(t, err)
		assert.Equal(t, text, string(back))
	}
	for _, bad := range []string{"GGW", "::", "A", "ab8", "AB8A"} { // GGW is 65536, section 6
		_, err := decode(bad)
		assert.ErrorIs(t, err, errBase45, bad)
	}
}

// text makes something that does not pack away.
func text(n int) []byte {
	rng := rand.New(rand.NewPCG(uint64(n), 1))
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(rng.IntN(256))
	}
	return b
}

func TestPartsInAnyOrderGiveTheText(t *testing.T) {
	for _, n := range []int{0, 1, Piece - 20, Piece, 5000, 27_000} {
		want := text(n)
		parts, err := Split(want)
		require.NoError(t, err)
		rng := rand.New(rand.NewPCG(uint64(n), 2))
		rng.Shuffle(len(parts), func(i, j int) { parts[i], parts[j] = parts[j], parts[i] })
		var c Collector
		_, err = c.Text()
		assert.Error(t, err, "nothing came yet")
		for i, p := range parts {
			assert.Empty(t, strings.Trim(p, alphabet), "every sign is one of the mode's")
			require.NoError(t, c.Add(p))
			require.NoError(t, c.Add(parts[rng.IntN(i+1)]), "twice is once")
			missing, of := c.Missing()
			assert.Len(t, missing, len(parts)-i-1)
			assert.Equal(t, len(parts), of)
		}
		got, err := c.Text()
		require.NoError(t, err)
		assert.True(t, bytes.Equal(want, got))
	}
}

func TestAPartThatWasReadWronglyIsRefused(t *testing.T) {
	parts, err := Split(text(2000))
	require.NoError(t, err)
	refused := 0
	for i := len(mark); i < len(parts[0]); i++ {
		for _, sign := range []byte("0Z:") {
			if parts[0][i] == sign {
				continue
			}
			bad := parts[0][:i] + string(sign) + parts[0][i+1:]
			var c Collector
			require.Error(t, c.Add(bad), "%d", i)
			_, of := c.Missing()
			require.Zero(t, of, "it leaves no trace")
			refused++
		}
	}
	assert.Greater(t, refused, 1000)
}

func TestPartsOfAnotherTextAreToldApart(t *testing.T) {
	a, err := Split(text(1100))
	require.NoError(t, err)
	b, err := Split(text(1101))
	require.NoError(t, err)
	var c Collector
	require.NoError(t, c.Add(a[0]))
	assert.ErrorIs(t, c.Add(b[1]), ErrOther)
	assert.ErrorIs(t, c.Add("https://example.org/"), ErrForeign)
	missing, _ := c.Missing()
	assert.Equal(t, []int{2, 3, 4}, missing)
	assert.False(t, slices.Contains(missing, 1))
}

func TestATextThatDoesNotFitIsRefused(t *testing.T) {
	_, err := Split(text(MostParts*Piece + 1))
	assert.ErrorIs(t, err, ErrLarge)
	_, err = Split(make([]byte, MostBytes+1))
	assert.ErrorIs(t, err, ErrLarge)
}

func FuzzAdd(f *testing.F) {
	parts, err := Split(text(1000))
	require.NoError(f, err)
	for _, p := range append(parts, "", mark, mark+"0.1.1:", mark+"00000000.1.1:000000") {
		f.Add(p)
	}
	f.Fuzz(func(t *testing.T, part string) {
		var c Collector
		if c.Add(part) == nil {
			if missing, of := c.Missing(); len(missing) == 0 && of > 0 {
				if got, err := c.Text(); err == nil {
					require.LessOrEqual(t, len(got), MostBytes)
				}
			}
		}
	})
}
