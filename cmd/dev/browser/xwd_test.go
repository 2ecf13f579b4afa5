package browser

import (
	"encoding/binary"
	"image/color"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// dumpOf is a window dump of two rows by hand: header and fields as XWDFile.h has them.
func dumpOf(order uint32) []byte {
	const name, colors, stride = 8, 2, 16
	head := make([]uint32, 25)
	head[0], head[1], head[2], head[3] = 100+name, 7, 2, 24
	head[4], head[5], head[7], head[11], head[12], head[19] = 3, 2, order, 32, stride, colors
	var b []byte
	for _, v := range head {
		b = binary.BigEndian.AppendUint32(b, v)
	}
	b = append(b, make([]byte, name+12*colors)...)
	pixels := binary.LittleEndian.AppendUint32
	if order == 1 {
		pixels = binary.BigEndian.AppendUint32
	}
	for _, v := range []uint32{0xff0000, 0x00ff00, 0x0000ff, 0xdead, 0x102030, 0xffffff, 0x000000, 0xdead} {
		b = pixels(b, v)
	}
	return b
}

func TestAWindowDumpIsRead(t *testing.T) {
	for _, order := range []uint32{0, 1} {
		m, err := xwd(dumpOf(order), 10, 10)
		require.NoError(t, err)
		assert.Equal(t, 3, m.Bounds().Dx())
		assert.Equal(t, 2, m.Bounds().Dy())
		assert.Equal(t, color.RGBA{255, 0, 0, 255}, m.At(0, 0))
		assert.Equal(t, color.RGBA{0, 0, 255, 255}, m.At(2, 0))
		assert.Equal(t, color.RGBA{0x10, 0x20, 0x30, 255}, m.At(0, 1))
	}
	m, err := xwd(dumpOf(0), 2, 1)
	require.NoError(t, err)
	assert.Equal(t, 2, m.Bounds().Dx(), "only what was asked for")
	_, err = xwd(dumpOf(0)[:150], 3, 2)
	assert.ErrorContains(t, err, "cut short")
	_, err = xwd(nil, 3, 2)
	assert.ErrorContains(t, err, "cut short")
	other := dumpOf(0)
	binary.BigEndian.PutUint32(other[12:], 16)
	_, err = xwd(other, 3, 2)
	assert.ErrorContains(t, err, "depth 16")
}
