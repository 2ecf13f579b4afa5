package main

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/parcel"
	"pitwise/cmd/dev/moving"
	"pitwise/engine/trail"
)

// eveningOf is a unit of so many events.
func eveningOf(t *testing.T, events int) *trail.Trail {
	t.Helper()
	tr, err := moving.Unit(events)
	require.NoError(t, err)
	return tr
}

func write(t *testing.T, name string, img image.Image) {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	require.NoError(t, os.WriteFile(name, b.Bytes(), 0o644))
}

// takes is how many pictures are taken of each code: of some patterns the reader finds nothing in one that is
// blurred and tilted.
const takes = 2

// Source: codes drawn by rsc.io/qr 0.2.0 and read by gozxing 0.1.1, which share no code.
func TestAUnitMovesByItsCodes(t *testing.T) {
	for _, each := range []struct{ events, codes int }{{10, 3}, {40, 4}, {100, 7}} {
		t.Run(fmt.Sprintf("%d events in at most %d codes, blurred and tilted", each.events, each.codes), func(t *testing.T) {
			tr := eveningOf(t, each.events)
			dir := t.TempDir()
			file := filepath.Join(dir, "unit.json")
			require.NoError(t, os.WriteFile(file, tr.Encode(), 0o644))
			status, out, said := called(t, "", "send", "-o", filepath.Join(dir, "codes"), file)
			require.Zero(t, status, said)
			names := strings.Fields(out)
			assert.LessOrEqual(t, len(names), each.codes)
			t.Logf("%d events: %d codes", each.events, len(names))
			rng := rand.New(rand.NewPCG(uint64(each.events), 9))
			var photos []string
			for i, at := range rng.Perm(len(names)) {
				text, err := os.ReadFile(names[at])
				require.NoError(t, err)
				img, err := png.Decode(bytes.NewReader(text))
				require.NoError(t, err)
				side := img.Bounds().Dx() * 3 / 2
				for take := range takes {
					photo := filepath.Join(dir, fmt.Sprintf("photo-%d-%d.png", i, take))
					write(t, photo, moving.Photograph(img, side, side, moving.Pose{Scale: 1, Turn: (rng.Float64() - 0.5) * 0.5, Lean: 0.15, Blur: 2}))
					photos = append(photos, photo)
				}
			}
			status, out, said = called(t, "", append([]string{"receive"}, photos...)...)
			require.Zero(t, status, said)
			assert.Equal(t, string(tr.Encode()), out)
			if len(names) > 1 {
				status, out, said = called(t, "", append([]string{"receive"}, photos[takes:]...)...)
				assert.Equal(t, 1, status)
				assert.Empty(t, out)
				assert.Contains(t, said, "are missing")
			}
		})
	}
}

func TestHalfTheFramesMayBeMissed(t *testing.T) {
	parts, err := parcel.Split(eveningOf(t, 100).Encode())
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(1, 1))
	var c parcel.Collector
	rounds := 0
	for missing := []int{0}; len(missing) > 0; rounds++ {
		require.Less(t, rounds, 30)
		for _, p := range parts {
			if rng.IntN(2) == 0 {
				require.NoError(t, c.Add(p))
			}
		}
		missing, _ = c.Missing()
	}
	_, err = c.Text()
	assert.NoError(t, err)
}

// Source: qrencode and zbarimg of Debian's packages qrencode and zbar-tools; with PITWISE_QR set
// they have to be there.
func TestOtherProgramsDrawAndReadTheCodes(t *testing.T) {
	for _, program := range []string{"qrencode", "zbarimg"} {
		if _, err := exec.LookPath(program); err != nil {
			require.Empty(t, os.Getenv("PITWISE_QR"), "%s is not installed", program)
			t.Skip(program + " is not installed and PITWISE_QR is not set; go run ./cmd/dev test runs this check")
		}
	}
	tr := eveningOf(t, 40)
	parts, err := parcel.Split(tr.Encode())
	require.NoError(t, err)
	dir := t.TempDir()
	var theirs []string
	for i, p := range parts {
		name := filepath.Join(dir, fmt.Sprintf("theirs-%d.png", i))
		said, err := exec.Command("qrencode", "-o", name, "-s", "6", "-l", "M", p).CombinedOutput()
		require.NoError(t, err, string(said))
		theirs = append(theirs, name)
		ours, err := pictureOf(p)
		require.NoError(t, err)
		name = filepath.Join(dir, fmt.Sprintf("ours-%d.png", i))
		require.NoError(t, os.WriteFile(name, ours, 0o644))
		read, err := exec.Command("zbarimg", "-q", "--raw", name).Output()
		require.NoError(t, err)
		assert.Equal(t, p, strings.TrimSuffix(string(read), "\n"))
	}
	status, out, said := called(t, "", append([]string{"receive"}, theirs...)...)
	require.Zero(t, status, said)
	assert.Equal(t, string(tr.Encode()), out)
}

func TestReceiveSaysWhatIsWrong(t *testing.T) {
	dir := t.TempDir()
	blank := filepath.Join(dir, "blank.png")
	write(t, blank, image.NewGray(image.Rect(0, 0, 100, 100)))
	status, _, said := called(t, "", "receive", blank)
	assert.Equal(t, 1, status)
	assert.Contains(t, said, "no code of a unit found")
	text := filepath.Join(dir, "text.png")
	require.NoError(t, os.WriteFile(text, []byte("{}"), 0o644))
	status, _, said = called(t, "", "receive", text)
	assert.Equal(t, 1, status)
	assert.Contains(t, said, "text.png: not a picture")
}
