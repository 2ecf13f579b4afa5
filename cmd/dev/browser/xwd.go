package browser

import (
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
)

// xwd reads the upper left of a window dump of 24 bits a pixel, the form in which a
// screen without glass keeps its pixels.
//
// Source: XWDFile.h of the X Window System, version 7.
func xwd(dump []byte, width, height int) (image.Image, error) {
	const fields = 25
	if len(dump) < 4*fields {
		return nil, errors.New("xwd: cut short")
	}
	var head [fields]int
	for i := range head {
		head[i] = int(binary.BigEndian.Uint32(dump[4*i:]))
	}
	size, version, depth := head[0], head[1], head[3]
	wide, high, order, bits, stride, colors := head[4], head[5], head[7], head[11], head[12], head[19]
	if version != 7 || depth != 24 || bits != 32 {
		return nil, fmt.Errorf("xwd: version %d, depth %d, %d bits a pixel; want 7, 24, 32", version, depth, bits)
	}
	const entry = 12
	pixels := size + entry*colors
	if len(dump) < pixels+stride*high {
		return nil, errors.New("xwd: cut short")
	}
	var numbers binary.ByteOrder = binary.LittleEndian
	if order == 1 {
		numbers = binary.BigEndian
	}
	m := image.NewRGBA(image.Rect(0, 0, min(width, wide), min(height, high)))
	for y := range m.Rect.Dy() {
		row := dump[pixels+y*stride:]
		for x := range m.Rect.Dx() {
			v := numbers.Uint32(row[4*x:])
			m.SetRGBA(x, y, color.RGBA{uint8(v >> 16), uint8(v >> 8), uint8(v), 255})
		}
	}
	return m, nil
}
