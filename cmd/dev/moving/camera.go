package moving

import (
	"fmt"
	"image"
	"image/color"
	"io"
	"math"
	"math/rand/v2"
)

// A Pose is how a camera is held before a screen.
type Pose struct {
	Scale float64 // points of the photograph to one of the screen
	Turn  float64 // radians
	Lean  float64 // by how much the rows at the far edge are narrower than those in the middle, twice
	Blur  int     // over how many points to each side the light is spread
}

// Photograph is what a camera of so many points sees of a screen: grey, paler than it is, on a background.
func Photograph(screen image.Image, width, height int, p Pose) *image.Gray {
	b := screen.Bounds()
	at := func(x, y float64) float64 {
		if x < 0 || y < 0 || x >= float64(b.Dx()) || y >= float64(b.Dy()) {
			return 150
		}
		g := color.GrayModel.Convert(screen.At(b.Min.X+int(x), b.Min.Y+int(y))).(color.Gray)
		return 40 + 0.75*float64(g.Y)
	}
	sin, cos := math.Sincos(p.Turn)
	grey := make([]float64, width*height)
	for y := range height {
		for x := range width {
			u, v := float64(x-width/2), float64(y-height/2)
			far := (1 + p.Lean*v/float64(height)) / p.Scale
			u, v = u*far, v*far
			grey[y*width+x] = at(u*cos+v*sin+float64(b.Dx())/2, -u*sin+v*cos+float64(b.Dy())/2)
		}
	}
	grey = spread(grey, width, height, 1, width, p.Blur)
	grey = spread(grey, height, width, width, 1, p.Blur)
	out := image.NewGray(image.Rect(0, 0, width, height))
	for i, g := range grey {
		out.Pix[i] = uint8(g)
	}
	return out
}

// spread takes the mean over 2r+1 points of each line of n; step leads from point to point, next from line to line.
func spread(from []float64, n, lines, step, next, r int) []float64 {
	to := make([]float64, len(from))
	for line := range lines {
		for i := range n {
			sum, of := 0.0, 0
			for j := max(0, i-r); j <= min(n-1, i+r); j++ {
				sum += from[line*next+j*step]
				of++
			}
			to[line*next+i*step] = sum / float64(of)
		}
	}
	return to
}

// A Film is what a camera sees of codes that turn by themselves.
type Film struct {
	Width, Height int // even
	Rate          int // pictures a second
	Each          int // pictures of a code before the next one comes
	Blur          int
	Missed        float64 // share of the pictures that show nothing, as when the hand moves
}

// Write writes the film in the form YUV4MPEG2, each code as a hand holds the camera from picture to picture.
func (f Film) Write(w io.Writer, codes []image.Image) error {
	if _, err := fmt.Fprintf(w, "YUV4MPEG2 W%d H%d F%d:1 Ip A1:1\n", f.Width, f.Height, f.Rate); err != nil {
		return err
	}
	rng := rand.New(rand.NewPCG(uint64(f.Each), uint64(len(codes))))
	colourless := make([]byte, f.Width*f.Height/2)
	for i := range colourless {
		colourless[i] = 128
	}
	for _, code := range codes {
		fit := 0.85 * float64(f.Height) / float64(code.Bounds().Dy())
		for range f.Each {
			pose := Pose{Scale: fit * (0.9 + 0.1*rng.Float64()), Turn: (rng.Float64() - 0.5) * 0.4, Lean: 0.15 * rng.Float64(), Blur: f.Blur}
			if rng.Float64() < f.Missed {
				pose.Blur = f.Height / 20
			}
			picture := Photograph(code, f.Width, f.Height, pose)
			for _, part := range [][]byte{[]byte("FRAME\n"), picture.Pix, colourless} {
				if _, err := w.Write(part); err != nil {
					return err
				}
			}
		}
	}
	return nil
}
