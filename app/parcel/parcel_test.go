package parcel

import (
	"bytes"
	"compress/flate"
	"fmt"
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
	for _, bad := range []string{"GGW", "::", "A", "ab8", "AB8A", "V5"} { // GGW is 65536, section 6; V5 is 256
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

// packed makes parts of a packed text, as Split would of whatever it is of.
func packed(whole []byte, count int) []string {
	size := (len(whole) + count - 1) / count
	var parts []string
	for i := range count {
		head := fmt.Sprintf("%s%s.%d.%d", mark, digest(whole), i+1, count)
		piece := whole[min(i*size, len(whole)):min((i+1)*size, len(whole))]
		parts = append(parts, head+":"+encode(append(check(head, piece), piece...)))
	}
	return parts
}

func deflated(t *testing.T, text []byte) []byte {
	var b bytes.Buffer
	w, err := flate.NewWriter(&b, flate.BestCompression)
	require.NoError(t, err)
	_, err = w.Write(text)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return b.Bytes()
}

func TestTheLargestTextsFitAndNoneLarger(t *testing.T) {
	joined := func(parts []string) ([]byte, error) {
		var c Collector
		for _, p := range parts {
			require.NoError(t, c.Add(p))
		}
		return c.Text()
	}
	n := MostParts*Piece - 100
	for len(deflated(t, text(n+1))) <= MostParts*Piece {
		n++
	}
	parts, err := Split(text(n))
	require.NoError(t, err)
	assert.Len(t, parts, MostParts)
	got, err := joined(parts)
	require.NoError(t, err)
	assert.True(t, bytes.Equal(text(n), got))
	_, err = Split(text(n + 1))
	assert.ErrorIs(t, err, ErrLarge)

	full := make([]byte, MostBytes)
	parts, err = Split(full)
	require.NoError(t, err)
	got, err = joined(parts)
	require.NoError(t, err)
	assert.Len(t, got, MostBytes)
	bomb := deflated(t, make([]byte, MostBytes+1))
	_, err = joined(packed(bomb, (len(bomb)+Piece-1)/Piece))
	assert.ErrorIs(t, err, ErrDamaged, "no code makes a reader unpack more")
	_, err = joined(packed([]byte("not DEFLATE at all"), 1))
	assert.ErrorIs(t, err, ErrDamaged)
}

func TestAPartThatNobodyWouldMakeIsRefused(t *testing.T) {
	long := text(3 * Piece)
	for name, part := range map[string]string{
		"a piece that is too long":     packed(long, 2)[0],
		"no number":                    mark + "00000000.x.1:" + encode(check(mark+"00000000.x.1", nil)),
		"no count":                     mark + "00000000.1.x:" + encode(check(mark+"00000000.1.x", nil)),
		"the part after the last":      mark + "00000000.3.2:" + encode(check(mark+"00000000.3.2", nil)),
		"the part before the first":    mark + "00000000.0.2:" + encode(check(mark+"00000000.0.2", nil)),
		"more parts than there may be": mark + "00000000.1.100:" + encode(check(mark+"00000000.1.100", nil)),
		"no check":                     mark + "00000000.1.1:" + encode([]byte{1, 2, 3}),
	} {
		t.Run(name, func(t *testing.T) {
			var c Collector
			assert.ErrorIs(t, c.Add(part), ErrDamaged)
			_, of := c.Missing()
			assert.Zero(t, of)
		})
	}
	var c Collector
	assert.NoError(t, c.Add(packed(long, 3)[0]), "as long as it may be")
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
