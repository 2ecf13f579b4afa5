//go:build browser

package browser_test

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

// TestReadmePictures photographs the sample unit as the README shows it, and fails if a picture there
// shows another text or looks otherwise. Fonts differ between machines, so the text is held to the
// letter and the looks to a few per cent. With PITWISE_RENEW set the pictures in the tree are renewed.
func TestReadmePictures(t *testing.T) {
	folder := filepath.Join(browser.Tree(t).Root, "testdata", "readme")
	readme, err := os.ReadFile(filepath.Join(browser.Tree(t).Root, "README.md"))
	require.NoError(t, err)
	p := browser.Start(t).Open(browser.Serve(t))
	p.Size(360, 740)
	p.Go("/")
	const stands = `!document.querySelector(".thinking, .still, [data-fresh]") && !document.body.innerText.includes("Recorded, step")`
	for _, shot := range []struct{ name, tap, first, until string }{
		{"step", "Try the sample unit", "I have read this", `.unit-step .pane-step .button-outcome`},
		{"caution", "Spins, then gives up", "", `.unit-step .pane-step section.cautions h3`},
		{"suspects", "Suspects", "", `.unit-odds .suspect`},
	} {
		t.Run(shot.name, func(t *testing.T) {
			p.In(t)
			p.Tap(shot.tap)
			if shot.first != "" {
				p.Tap(shot.first)
			}
			p.Until(`document.querySelector("` + shot.until + `") && ` + stands)
			p.Eval(`document.activeElement.blur()`)
			text, picture := p.Text()+"\n", p.Picture()
			base := filepath.Join(folder, shot.name)
			if os.Getenv("PITWISE_RENEW") != "" {
				require.NoError(t, os.WriteFile(base+".png", picture, 0o644))
				require.NoError(t, os.WriteFile(base+".txt", []byte(text), 0o644))
			}
			said, err := os.ReadFile(base + ".txt")
			require.NoError(t, err)
			assert.Equal(t, string(said), text, "the picture shows what the page says")
			shown, err := os.ReadFile(base + ".png")
			require.NoError(t, err)
			assert.Less(t, apart(t, shown, picture), 0.03, "the picture looks like the page")
			assert.True(t, bytes.Contains(readme, []byte(`"testdata/readme/`+shot.name+`.png"`)), "the README shows it")
		})
	}
}

// apart is how far two pictures are apart: the mean difference of their brightness, 0 to 1; 1 if their
// sizes differ.
func apart(t *testing.T, a, b []byte) float64 {
	decode := func(body []byte) image.Image {
		m, err := png.Decode(bytes.NewReader(body))
		require.NoError(t, err)
		return m
	}
	one, two := decode(a), decode(b)
	if one.Bounds() != two.Bounds() {
		return 1
	}
	sum := 0.0
	for y := range one.Bounds().Dy() {
		for x := range one.Bounds().Dx() {
			l, r := color.GrayModel.Convert(one.At(x, y)).(color.Gray).Y, color.GrayModel.Convert(two.At(x, y)).(color.Gray).Y
			sum += max(float64(l)-float64(r), float64(r)-float64(l)) / 255
		}
	}
	return sum / float64(one.Bounds().Dx()*one.Bounds().Dy())
}
