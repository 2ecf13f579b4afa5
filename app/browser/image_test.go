package browser_test

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
)

func drawn(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.Set(x, y, color.RGBA{uint8(x), uint8(y), uint8(x + y), 255})
		}
	}
	return m
}

func jpegOf(t testing.TB, w, h int) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, drawn(w, h), nil))
	return b.Bytes()
}

func pngOf(t testing.TB, w, h int) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, drawn(w, h)))
	return b.Bytes()
}

func gifOf(t testing.TB, w, h int) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, gif.Encode(&b, drawn(w, h), nil))
	return b.Bytes()
}

// webP is the head of a WebP file with some bytes of coded data.
func webP(chunk string, head []byte) []byte {
	b := append([]byte("RIFF\x00\x00\x00\x00WEBP"), chunk...)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(head)+8))
	b = append(b, head...)
	b = append(b, make([]byte, 8)...)
	binary.LittleEndian.PutUint32(b[4:], uint32(len(b)-8))
	return b
}

// with puts segments behind the start of a JPEG file.
func with(file []byte, segments ...[]byte) []byte {
	out := append([]byte(nil), file[:2]...)
	for _, s := range segments {
		out = append(out, s...)
	}
	return append(out, file[2:]...)
}

func segment(marker byte, payload string) []byte {
	b := []byte{0xff, marker}
	b = binary.BigEndian.AppendUint16(b, uint16(len(payload)+2))
	return append(b, payload...)
}

func TestThePictureIsMeasuredByItsBytes(t *testing.T) {
	photo := jpegOf(t, 640, 480)
	for _, row := range []struct {
		name   string
		source string
		file   []byte
		format browser.ImageFormat
		w, h   int
	}{
		{"JPEG", "the standard library's encoder", photo, browser.FormatJPEG, 640, 480},
		{"JPEG with much before its frame", "by hand: three segments of 60 kB", with(photo,
			segment(0xe1, string(make([]byte, 60000))), segment(0xe2, string(make([]byte, 60000))), segment(0xfe, string(make([]byte, 60000)))), browser.FormatJPEG, 640, 480},
		{"JPEG with something behind its end", "by hand: as phones put a film behind a photograph", append(append([]byte(nil), photo...), "film"...), browser.FormatJPEG, 640, 480},
		{"PNG", "the standard library's encoder", pngOf(t, 31, 17), browser.FormatPNG, 31, 17},
		{"GIF", "the standard library's encoder", gifOf(t, 12, 34), browser.FormatGIF, 12, 34},
		{"WebP, extended", "by hand, RFC 9649 section 2.7", webP("VP8X", []byte{0, 0, 0, 0, 0x3f, 0x06, 0, 0xaf, 0x04, 0}), browser.FormatWebP, 1600, 1200},
		{"WebP, lossless", "by hand, RFC 9649 section 3.4", webP("VP8L", append([]byte{0x2f}, binary.LittleEndian.AppendUint32(nil, 1599|1199<<14)...)), browser.FormatWebP, 1600, 1200},
		{"WebP, lossy", "by hand, RFC 6386 section 9.1", webP("VP8 ", []byte{0x30, 1, 0, 0x9d, 1, 0x2a, 0x40, 0x06, 0xb0, 0x04}), browser.FormatWebP, 1600, 1200},
	} {
		t.Run(row.name, func(t *testing.T) {
			m, err := browser.MeasureImage(row.file)
			require.NoError(t, err)
			assert.Equal(t, browser.Measure{Format: row.format, Width: row.w, Height: row.h}, m)
		})
	}
}

// claiming is a PNG that says it has so many pixels, and little more.
func claiming(t testing.TB, w, h uint32) []byte {
	file := append([]byte(nil), pngOf(t, 8, 8)...)
	binary.BigEndian.PutUint32(file[16:], w)
	binary.BigEndian.PutUint32(file[20:], h)
	return file
}

func TestHostileFilesAreRefusedBeforeAnythingIsDecoded(t *testing.T) {
	photo, picture, moving := jpegOf(t, 640, 480), pngOf(t, 31, 17), gifOf(t, 12, 34)
	tall := append([]byte(nil), photo...)
	frame := bytes.Index(tall, []byte{0xff, 0xc0})
	binary.BigEndian.PutUint16(tall[frame+5:], 60000)
	binary.BigEndian.PutUint16(tall[frame+7:], 60000)
	reaching := append([]byte(nil), moving...)
	at := bytes.IndexByte(reaching[13+3*256:], 0x2c) + 13 + 3*256
	binary.LittleEndian.PutUint16(reaching[at+5:], 60000)
	binary.LittleEndian.PutUint16(reaching[at+7:], 60000)
	for _, row := range []struct {
		name string
		file []byte
		want error
	}{
		{"no bytes", nil, browser.ErrFormat},
		{"text", []byte("hello, this is no picture at all"), browser.ErrFormat},
		{"a page of hypertext", []byte("<!doctype html><script>alert(1)</script>"), browser.ErrFormat},
		{"a drawing with a script", []byte(`<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>`), browser.ErrFormat},
		{"a PNG of 3,600 megapixels", claiming(t, 60000, 60000), browser.ErrPixels},
		{"a PNG one pixel too large", claiming(t, browser.PixelsMost+1, 1), browser.ErrPixels},
		{"a PNG of no height", claiming(t, 5, 0), browser.ErrCut},
		{"a PNG of a width that is negative elsewhere", claiming(t, 1<<31, 1), browser.ErrCut},
		{"a JPEG of 3,600 megapixels", tall, browser.ErrPixels},
		{"a GIF whose picture reaches over its screen", reaching, browser.ErrPixels},
		{"a WebP of 268 megapixels", webP("VP8X", []byte{0, 0, 0, 0, 0xff, 0x3f, 0, 0xff, 0x3f, 0}), browser.ErrPixels},
		{"a JPEG cut in its scan", photo[:len(photo)-40], browser.ErrCut},
		{"a JPEG cut in its head", photo[:20], browser.ErrCut},
		{"a JPEG of a start alone", photo[:3], browser.ErrCut},
		{"a PNG cut", picture[:len(picture)-13], browser.ErrCut},
		{"a GIF cut", moving[:len(moving)-20], browser.ErrCut},
		{"a WebP cut", webP("VP8X", []byte{0, 0, 0, 0, 9, 0, 0, 9, 0, 0})[:30], browser.ErrCut},
		{"a WebP of another kind", webP("VP9 ", make([]byte, 10)), browser.ErrFormat},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, err := browser.MeasureImage(row.file)
			require.ErrorIs(t, err, row.want)
			_, err = (&browser.Still{}).Shrink(row.file)
			require.ErrorIs(t, err, row.want)
		})
	}
}

func TestABarePhotographSaysNothing(t *testing.T) {
	photo := jpegOf(t, 64, 48)
	file := with(photo,
		segment(0xe0, "JFIF\x00\x01\x02\x01\x00\x48\x00\x48\x00\x00"),
		segment(0xe0, "JFXX\x00secret thumbnail"),
		segment(0xe1, "Exif\x00\x00secret place"),
		segment(0xe1, "http://ns.adobe.com/xap/1.0/\x00secret"),
		segment(0xe2, "ICC_PROFILE\x00\x01\x01secret"),
		segment(0xed, "Photoshop 3.0\x00secret"),
		segment(0xee, "Adobe\x00\x64\x00\x00\x00\x00\x01"),
		segment(0xee, "Adobe secret of another length"),
		segment(0xfe, "a secret remark"),
	)
	file = append(file, "secret behind the end"...)
	bare, err := browser.BareJPEG(file)
	require.NoError(t, err)
	assert.NotContains(t, string(bare), "secret")
	assert.NotContains(t, string(bare), "Exif")
	assert.Contains(t, string(bare), "JFIF")
	assert.Contains(t, string(bare), "Adobe\x00\x64")
	want, err := jpeg.Decode(bytes.NewReader(photo))
	require.NoError(t, err)
	got, err := jpeg.Decode(bytes.NewReader(bare))
	require.NoError(t, err)
	assert.Equal(t, want.Bounds(), got.Bounds())
	assert.Equal(t, want.(*image.YCbCr).Y, got.(*image.YCbCr).Y, "the pixels are as they were")
	for _, bad := range [][]byte{nil, []byte("x"), photo[:30], pngOf(t, 4, 4)} {
		_, err := browser.BareJPEG(bad)
		require.Error(t, err)
	}
}

func TestAPhotographIsScaledDown(t *testing.T) {
	p, err := (&browser.Still{}).Shrink(jpegOf(t, 2400, 600))
	require.NoError(t, err)
	assert.Equal(t, []int{1600, 400}, []int{p.Width, p.Height})
	for text, want := range map[string]image.Point{p.Image: {X: 1600, Y: 400}, p.Small: {X: 320, Y: 80}} {
		c, err := jpeg.DecodeConfig(bytes.NewReader([]byte(text)))
		require.NoError(t, err)
		assert.Equal(t, want, image.Pt(c.Width, c.Height))
	}
	thin, err := (&browser.Still{}).Shrink(pngOf(t, 5000, 1))
	require.NoError(t, err)
	assert.Equal(t, []int{1600, 1}, []int{thin.Width, thin.Height}, "nothing is scaled to nothing")
}

// FuzzMeasureImage: whatever the bytes, the answer comes, and what is let through has a
// size that may be decoded; what can be made bare measures the same as before.
func FuzzMeasureImage(f *testing.F) {
	for _, seed := range [][]byte{jpegOf(f, 9, 7), pngOf(f, 9, 7), gifOf(f, 9, 7), webP("VP8X", []byte{0, 0, 0, 0, 9, 0, 0, 9, 0, 0}),
		with(jpegOf(f, 9, 7), segment(0xe1, "Exif\x00\x00"))} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		m, err := browser.MeasureImage(file)
		if err == nil {
			require.Positive(t, m.Width)
			require.Positive(t, m.Height)
			require.LessOrEqual(t, m.Width*m.Height, browser.PixelsMost)
		}
		bare, fault := browser.BareJPEG(file)
		if fault != nil {
			return
		}
		after, again := browser.MeasureImage(bare)
		if err == nil {
			require.NoError(t, again)
			require.Equal(t, m, after)
		}
		require.LessOrEqual(t, len(bare), len(file))
	})
}

func TestAnyCutAndAnyChangedByteIsAnswered(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, file := range [][]byte{jpegOf(t, 40, 30), pngOf(t, 40, 30), gifOf(t, 40, 30)} {
		for n := range file {
			_, err := browser.MeasureImage(file[:n])
			if n < len(file)-1 { // the last byte of a GIF says only that there is no other picture
				require.Error(t, err, "%d of %d bytes", n, len(file))
			}
			spoiled := append([]byte(nil), file...)
			spoiled[n] = byte(random.Uint32())
			_, _ = browser.MeasureImage(spoiled)
			_, _ = browser.BareJPEG(spoiled)
		}
	}
}
