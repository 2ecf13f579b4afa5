package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/color"
	_ "image/gif"
	_ "image/jpeg"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"slices"

	"github.com/makiuchi-d/gozxing"
	multi "github.com/makiuchi-d/gozxing/multi/qrcode"
	"github.com/makiuchi-d/gozxing/qrcode"
	"rsc.io/qr"

	"pitwise/app/parcel"
	"pitwise/engine/trail"
)

var sendCommand = &command{
	name:  "send",
	args:  "[-o DIR] TRAIL",
	short: "show a unit as QR codes, for a phone or desk that has no network",
	long: `
Takes the TRAIL apart into QR codes and draws them in the terminal one below the
other, or with -o as PNG files. They may be read in any order; each is checked, and
so is the whole. The text of the model is left out: who receives the unit needs the
same model. A unit of forty events takes four codes.

  pitwise send shelf-3.trail.json
  pitwise send -o codes shelf-3.trail.json`,
	run: send,
}

func send(d *desk, flags *flag.FlagSet, args []string) error {
	out := flags.String("o", "", "write the codes as PNG files into `DIR`, which is made")
	args, err := d.parse(flags, args, 1, 1)
	if err != nil {
		return err
	}
	t, err := d.trail(args[0])
	if err != nil {
		return err
	}
	t.ModelText = ""
	parts, err := parcel.Split(t.Encode())
	if err != nil {
		return err
	}
	if *out != "" {
		if err := os.MkdirAll(*out, 0o755); err != nil {
			return err
		}
	}
	for i, p := range parts {
		if *out == "" {
			code, err := drawQR(p)
			if err != nil {
				return err
			}
			fmt.Fprintf(d.out, "%d of %d\n%s\n", i+1, len(parts), code)
			continue
		}
		text, err := pictureOf(p)
		if err != nil {
			return err
		}
		name := filepath.Join(*out, fmt.Sprintf("code-%02d-of-%02d.png", i+1, len(parts)))
		if err := os.WriteFile(name, text, 0o644); err != nil {
			return err
		}
		fmt.Fprintln(d.out, name)
	}
	return nil
}

// pictureOf draws a code as a PNG, eight points a module, with the quiet zone.
func pictureOf(part string) ([]byte, error) {
	code, err := qr.Encode(part, qr.M)
	if err != nil {
		return nil, err
	}
	const scale, quiet = 8, 4
	side := scale * (code.Size + 2*quiet)
	img := image.NewPaletted(image.Rect(0, 0, side, side), color.Palette{color.White, color.Black})
	for y := range side {
		for x := range side {
			if code.Black(x/scale-quiet, y/scale-quiet) {
				img.SetColorIndex(x, y, 1)
			}
		}
	}
	var b bytes.Buffer
	err = png.Encode(&b, img)
	return b.Bytes(), err
}

var receiveCommand = &command{
	name:  "receive",
	args:  "IMAGE…",
	short: "put a unit together from pictures of its QR codes",
	long: `
Reads the QR codes in the pictures (PNG, JPEG or GIF; several codes in one are fine, in
any order) and prints the trail they hold. If some are missing it says which, and if
one was read wrongly, in which picture.

  pitwise receive photo-1.jpg photo-2.jpg > shelf-3.trail.json`,
	run: receive,
}

func receive(d *desk, flags *flag.FlagSet, args []string) error {
	args, err := d.parse(flags, args, 1, -1)
	if err != nil {
		return err
	}
	var c parcel.Collector
	for _, name := range args {
		text, err := d.read(name)
		if err != nil {
			return err
		}
		img, _, err := image.Decode(bytes.NewReader(text))
		if err != nil {
			return fmt.Errorf("%s: not a picture: %w", name, err)
		}
		ours := false
		for _, part := range codesIn(img) {
			switch err := c.Add(part); {
			case err == nil:
				ours = true
			case !errors.Is(err, parcel.ErrForeign):
				return fmt.Errorf("%s: %w", name, err)
			}
		}
		if !ours {
			fmt.Fprintf(d.err, "%s: no code of a unit found\n", plain(name))
		}
	}
	if missing, of := c.Missing(); of == 0 {
		return errors.New("no code of a unit found")
	} else if len(missing) > 0 {
		return fmt.Errorf("of %d codes these are missing: %d", of, missing)
	}
	text, err := c.Text()
	if err != nil {
		return err
	}
	if _, err := trail.Load(text); err != nil {
		return d.refuse("the codes", err)
	}
	_, err = d.out.Write(text)
	return err
}

// codesIn returns the texts of the QR codes in a picture, each once. A photograph is looked at in
// several ways, for each misses some: as it is, at half its size and turned, with a threshold of the
// neighbourhood and with one of the whole picture, for many codes and for one. It ends with
// the first way that finds any.
func codesIn(img image.Image) []string {
	var texts []string
	hard := map[gozxing.DecodeHintType]interface{}{gozxing.DecodeHintType_TRY_HARDER: true}
	for _, view := range []func(image.Image) image.Image{
		func(i image.Image) image.Image { return i }, half,
		func(i image.Image) image.Image { return turned(i, -20) }, func(i image.Image) image.Image { return turned(i, 15) }, func(i image.Image) image.Image { return turned(i, 45) },
	} {
		source := gozxing.NewLuminanceSourceFromImage(view(img))
		for _, threshold := range []gozxing.Binarizer{gozxing.NewHybridBinarizer(source), gozxing.NewGlobalHistgramBinarizer(source)} {
			bits, err := gozxing.NewBinaryBitmap(threshold)
			if err != nil {
				continue
			}
			found, _ := multi.NewQRCodeMultiReader().DecodeMultiple(bits, hard)
			if one, err := qrcode.NewQRCodeReader().Decode(bits, hard); err == nil {
				found = append(found, one)
			}
			for _, f := range found {
				if s := f.GetText(); !slices.Contains(texts, s) {
					texts = append(texts, s)
				}
			}
		}
		if len(texts) > 0 {
			break
		}
	}
	return texts
}

// turned returns a picture turned by so many degrees about its middle, on grey.
func turned(img image.Image, degrees float64) image.Image {
	b := img.Bounds()
	side := max(b.Dx(), b.Dy())
	out := image.NewGray(image.Rect(0, 0, side, side))
	cos, sin := math.Cos(degrees*math.Pi/180), math.Sin(degrees*math.Pi/180)
	for y := range side {
		for x := range side {
			u, v := float64(x-side/2), float64(y-side/2)
			at := image.Pt(b.Min.X+b.Dx()/2+int(u*cos+v*sin), b.Min.Y+b.Dy()/2+int(v*cos-u*sin))
			grey := color.Gray{Y: 150}
			if at.In(b) {
				grey = color.GrayModel.Convert(img.At(at.X, at.Y)).(color.Gray)
			}
			out.SetGray(x, y, grey)
		}
	}
	return out
}

// half returns a picture at half its width and height, each point the mean of four.
func half(img image.Image) image.Image {
	b := img.Bounds()
	out := image.NewGray(image.Rect(0, 0, b.Dx()/2, b.Dy()/2))
	grey := func(x, y int) int {
		return int(color.GrayModel.Convert(img.At(b.Min.X+x, b.Min.Y+y)).(color.Gray).Y)
	}
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			out.SetGray(x, y, color.Gray{Y: uint8((grey(2*x, 2*y) + grey(2*x+1, 2*y) + grey(2*x, 2*y+1) + grey(2*x+1, 2*y+1)) / 4)})
		}
	}
	return out
}
