package browser

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
)

// Errors of files that were to be photographs.
var (
	ErrFormat = errors.New("browser: no picture of a known format")
	ErrCut    = errors.New("browser: the picture is cut short or damaged")
	ErrPixels = errors.New("browser: the picture has too many pixels")
)

// PixelsMost is the largest picture that is decoded, in pixels: decoded it takes four
// bytes for each.
const PixelsMost = 50_000_000

// An ImageFormat is the media type of a picture that may become a photograph.
type ImageFormat string

const (
	FormatJPEG ImageFormat = "image/jpeg"
	FormatPNG  ImageFormat = "image/png"
	FormatGIF  ImageFormat = "image/gif"
	FormatWebP ImageFormat = "image/webp"
)

// A Measure is what the bytes of a picture say about it before anything is decoded.
type Measure struct {
	Format        ImageFormat
	Width, Height int // pixels, as stored: before any turning
}

// MeasureImage reads the format and the size of a picture, whatever its name says, in
// time linear in its length. The errors are ErrFormat, ErrCut if its end is missing,
// and ErrPixels beyond PixelsMost.
// Source: ISO/IEC 10918-1 (JPEG), W3C PNG, GIF89a, RFC 9649 (WebP).
func MeasureImage(b []byte) (Measure, error) {
	var m Measure
	var err error
	switch {
	case bytes.HasPrefix(b, []byte("\xff\xd8\xff")):
		m, err = measureJPEG(b)
	case bytes.HasPrefix(b, []byte("\x89PNG\r\n\x1a\n")):
		m, err = measurePNG(b)
	case bytes.HasPrefix(b, []byte("GIF87a")), bytes.HasPrefix(b, []byte("GIF89a")):
		m, err = measureGIF(b)
	case len(b) >= 12 && string(b[:4]) == "RIFF" && string(b[8:12]) == "WEBP":
		m, err = measureWebP(b)
	default:
		return m, ErrFormat
	}
	if err != nil {
		return m, err
	}
	if m.Width < 1 || m.Height < 1 {
		return m, fmt.Errorf("%w: %d by %d pixels", ErrCut, m.Width, m.Height)
	}
	if int64(m.Width)*int64(m.Height) > PixelsMost {
		return m, fmt.Errorf("%w: %d by %d, at most %d in all", ErrPixels, m.Width, m.Height, PixelsMost)
	}
	return m, nil
}

// A segment is one of the parts of a JPEG file before its scans.
type segment struct {
	marker byte
	whole  []byte // with marker and length
}

// payload is what the segment holds after its length.
func (s segment) payload() []byte { return s.whole[4:] }

// segments calls f for every segment up to and with the first start of a scan, and
// returns what follows that up to and with the end of the image. Whatever stands
// behind the end is no part of the picture.
func segments(b []byte, f func(segment) error) (scans []byte, err error) {
	for i := 2; ; {
		for i < len(b) && b[i] == 0xff && i+1 < len(b) && b[i+1] == 0xff {
			i++ // fill
		}
		if i+4 > len(b) || b[i] != 0xff {
			return nil, ErrCut
		}
		marker := b[i+1]
		switch {
		case marker == 0x01 || marker >= 0xd0 && marker <= 0xd7:
			i += 2
			continue
		case marker == 0x00 || marker == 0xd8 || marker == 0xd9:
			return nil, ErrCut
		}
		n := int(binary.BigEndian.Uint16(b[i+2:]))
		if n < 2 || i+2+n > len(b) {
			return nil, ErrCut
		}
		if err := f(segment{marker, b[i : i+2+n]}); err != nil {
			return nil, err
		}
		i += 2 + n
		if marker == 0xda {
			// In coded data 0xff is followed by zero or a restart, never by this.
			end := bytes.Index(b[i:], []byte{0xff, 0xd9})
			if end < 0 {
				return nil, ErrCut
			}
			return b[i : i+end+2], nil
		}
	}
}

func measureJPEG(b []byte) (Measure, error) {
	m := Measure{Format: FormatJPEG}
	_, err := segments(b, func(s segment) error {
		frame := s.marker >= 0xc0 && s.marker <= 0xcf && s.marker != 0xc4 && s.marker != 0xc8 && s.marker != 0xcc
		if p := s.payload(); frame && m.Width == 0 {
			if len(p) < 6 {
				return ErrCut
			}
			m.Height, m.Width = int(binary.BigEndian.Uint16(p[1:])), int(binary.BigEndian.Uint16(p[3:]))
		}
		return nil
	})
	if err != nil && int64(m.Width)*int64(m.Height) > PixelsMost {
		err = nil // too large is said before cut
	}
	return m, err
}

func measurePNG(b []byte) (Measure, error) {
	m := Measure{Format: FormatPNG}
	if len(b) < 33 || string(b[12:16]) != "IHDR" {
		return m, ErrCut
	}
	w, h := binary.BigEndian.Uint32(b[16:]), binary.BigEndian.Uint32(b[20:])
	if w > 1<<31-1 || h > 1<<31-1 {
		return m, ErrCut
	}
	m.Width, m.Height = int(w), int(h)
	if int64(m.Width)*int64(m.Height) > PixelsMost {
		return m, nil
	}
	for i := 8; ; {
		if i+12 > len(b) {
			return m, ErrCut
		}
		n := int64(binary.BigEndian.Uint32(b[i:]))
		if int64(i)+12+n > int64(len(b)) {
			return m, ErrCut
		}
		if string(b[i+4:i+8]) == "IEND" {
			return m, nil
		}
		i += 12 + int(n)
	}
}

func measureGIF(b []byte) (Measure, error) {
	m := Measure{Format: FormatGIF}
	if len(b) < 13 {
		return m, ErrCut
	}
	m.Width, m.Height = int(binary.LittleEndian.Uint16(b[6:])), int(binary.LittleEndian.Uint16(b[8:]))
	colours := func(flags byte) int {
		if flags&0x80 == 0 {
			return 0
		}
		return 3 << (flags&7 + 1)
	}
	i := 13 + colours(b[10])
	blocks := func() bool { // skips a row of blocks, each with its length in front
		for i < len(b) {
			n := int(b[i])
			i += 1 + n
			if n == 0 {
				return i <= len(b)
			}
		}
		return false
	}
	for i < len(b) {
		switch b[i] {
		case 0x21: // an extension
			i += 2
			if !blocks() {
				return m, ErrCut
			}
		case 0x2c: // the first picture; it may reach over the screen
			if i+10 > len(b) {
				return m, ErrCut
			}
			at := func(k int) int { return int(binary.LittleEndian.Uint16(b[i+k:])) }
			m.Width, m.Height = max(m.Width, at(1)+at(5)), max(m.Height, at(3)+at(7))
			i += 11 + colours(b[i+9])
			if int64(m.Width)*int64(m.Height) <= PixelsMost && !blocks() {
				return m, ErrCut
			}
			return m, nil
		default:
			return m, ErrCut
		}
	}
	return m, ErrCut
}

func measureWebP(b []byte) (Measure, error) {
	m := Measure{Format: FormatWebP}
	if len(b) < 30 {
		return m, ErrCut
	}
	low := func(i int) int { return int(b[i]) | int(b[i+1])<<8 | int(b[i+2])<<16 }
	switch string(b[12:16]) {
	case "VP8X":
		m.Width, m.Height = 1+low(24), 1+low(27)
	case "VP8L":
		if b[20] != 0x2f {
			return m, ErrCut
		}
		bits := binary.LittleEndian.Uint32(b[21:])
		m.Width, m.Height = 1+int(bits&0x3fff), 1+int(bits>>14&0x3fff)
	case "VP8 ":
		if string(b[23:26]) != "\x9d\x01\x2a" {
			return m, ErrCut
		}
		m.Width, m.Height = int(binary.LittleEndian.Uint16(b[26:])&0x3fff), int(binary.LittleEndian.Uint16(b[28:])&0x3fff)
	default:
		return m, ErrFormat
	}
	if int64(m.Width)*int64(m.Height) <= PixelsMost && int64(binary.LittleEndian.Uint32(b[4:]))+8 > int64(len(b)) {
		return m, ErrCut
	}
	return m, nil
}

// BareJPEG returns the picture of a JPEG file without anything that is said about it:
// only what a decoder needs is left. A browser's encoder writes little else, but that
// is not promised anywhere.
func BareJPEG(b []byte) ([]byte, error) {
	if !bytes.HasPrefix(b, []byte("\xff\xd8\xff")) {
		return nil, ErrFormat
	}
	out := append(make([]byte, 0, len(b)), b[:2]...)
	scans, err := segments(b, func(s segment) error {
		said := s.marker == 0xfe || s.marker >= 0xe0 && s.marker <= 0xef
		// How the colours are coded is told by these two, in a fixed length.
		jfif := s.marker == 0xe0 && len(s.whole) == 18 && bytes.HasPrefix(s.payload(), []byte("JFIF\x00"))
		adobe := s.marker == 0xee && len(s.whole) == 16 && bytes.HasPrefix(s.payload(), []byte("Adobe"))
		if !said || jfif || adobe {
			out = append(out, s.whole...)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	// Between the scans of one picture nothing is said either, as far as encoders go;
	// if it is, the picture is not ours.
	for i := 0; i+1 < len(scans); i++ {
		if scans[i] == 0xff && (scans[i+1] == 0xfe || scans[i+1] >= 0xe0 && scans[i+1] <= 0xef) {
			return nil, ErrCut
		}
	}
	return append(out, scans...), nil
}
