//go:build !js

package browser

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"

	_ "image/gif"
	_ "image/png"
)

// Shrink implements Camera as a browser does, but for the turning.
func (s *Still) Shrink(file []byte) (Picture, error) {
	if _, err := MeasureImage(file); err != nil {
		return Picture{}, err
	}
	m, _, err := image.Decode(bytes.NewReader(file))
	if err != nil {
		return Picture{}, fmt.Errorf("%w: %w", ErrCut, err)
	}
	p := Picture{Image: redrawn(m, PhotoSide), Small: redrawn(m, SmallSide)}
	p.Width, p.Height = scaled(m.Bounds().Dx(), m.Bounds().Dy(), PhotoSide)
	return p, p.fits()
}

func redrawn(m image.Image, side int) string {
	from := m.Bounds()
	w, h := scaled(from.Dx(), from.Dy(), side)
	to := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			to.Set(x, y, color.RGBAModel.Convert(m.At(from.Min.X+x*from.Dx()/w, from.Min.Y+y*from.Dy()/h)))
		}
	}
	var b bytes.Buffer
	_ = jpeg.Encode(&b, to, nil) // a buffer takes everything
	return b.String()
}
