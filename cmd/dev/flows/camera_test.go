//go:build browser

package flows_test

import (
	"bytes"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/cmd/dev/moving"
)

// showCodes goes from a unit to its codes and returns how many there are.
func showCodes(p *browser.Page) int {
	settled(p)
	p.Tap("Other")
	p.Tap("Save or share the trail")
	p.Tap("Show as QR codes")
	p.See("Code 1 of")
	p.Until(`!document.querySelector("[data-fresh]")`)
	return browser.Value[int](p, `+document.querySelector(".code-number").innerText.match(/Code 1 of (\d+)/)[1]`)
}

// shownCode is the code that the screen shows with its white edge, but for a point that may be half the page's.
func shownCode(t *testing.T, p *browser.Page) image.Image {
	t.Helper()
	p.Eval(`document.querySelector(".code").scrollIntoView({ block: "start" })`)
	whole, _, err := image.Decode(bytes.NewReader(p.Picture()))
	require.NoError(t, err)
	at := browser.Value[[4]int](p, fmt.Sprintf(`(() => {
		const r = document.querySelector(".code svg").getBoundingClientRect(), scale = %d / innerWidth;
		return [r.left, r.top, r.right, r.bottom].map((x) => Math.round(x * scale));
	})()`, whole.Bounds().Dx()))
	part, ok := whole.(interface {
		SubImage(image.Rectangle) image.Image
	})
	require.True(t, ok)
	return part.SubImage(image.Rect(at[0]+1, at[1]+1, at[2]-1, at[3]-1))
}

// betweenCodes is how long the page shows a code before the next one.
const betweenCodes = 1200 * time.Millisecond

// TestAUnitMovesByTheCamera reads a unit of 40 events, with PITWISE_WALK=all of 10, 40 and 100, by a camera that a hand holds before the screen with
// their codes: turned, tilted and blurred, with half of the pictures lost. What arrives is what was sent, to the byte,
// for its codes bear the digest of the whole.
func TestAUnitMovesByTheCamera(t *testing.T) {
	s := browser.Serve(t)
	sizes := []int{40}
	if os.Getenv("PITWISE_WALK") == "all" {
		sizes = []int{10, 40, 100}
	}
	for _, events := range sizes {
		t.Run(fmt.Sprintf("%d events", events), func(t *testing.T) {
			tr, err := moving.Unit(events)
			require.NoError(t, err)
			old := browser.Start(t).Open(s)
			old.Go("/")
			old.Upload("Read in a file", saved(t, "unit.json", tr.Encode()))
			old.See(tr.Unit.Label)
			var codes []image.Image
			n := showCodes(old)
			for i := range n {
				old.See(fmt.Sprintf("Code %d of %d", i+1, n))
				codes = append(codes, shownCode(t, old))
				old.Tap("Next code")
			}
			old.See(fmt.Sprintf("Code 1 of %d", n))
			first, err := decoded(codePicture(t, old))
			require.NoError(t, err)
			old.Close()

			const rate = 10
			film := moving.Film{Width: 640, Height: 480, Rate: rate, Each: int(betweenCodes * rate / time.Second), Blur: 1, Missed: 0.5}
			path := filepath.Join(t.TempDir(), "film.y4m")
			f, err := os.Create(path)
			require.NoError(t, err)
			require.NoError(t, film.Write(f, codes))
			require.NoError(t, f.Close())
			p := browser.StartSeeing(t, path).Open(s)
			giveEyes(t, p)
			p.Go("/move")
			began := time.Now()
			p.Tap("Read by the camera")
			p.See(tr.Unit.Label)
			t.Logf("%d events, %d codes: %.1f s by the camera", events, n, time.Since(began).Seconds())
			assert.Equal(t, n, showCodes(p))
			same, err := decoded(codePicture(t, p))
			require.NoError(t, err)
			assert.Equal(t, first, same)
		})
	}
}
