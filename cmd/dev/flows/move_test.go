//go:build browser

package flows_test

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

// decoded reads the QR code of a picture with a library that is not ours. What stands straight with nothing around it
// is read without looking for it: of about one code in forty the library takes something inside for a corner. A code
// in a photograph is looked for, with two ways to tell dark from light.
func decoded(picture []byte) (string, error) {
	img, _, err := image.Decode(bytes.NewReader(picture))
	if err != nil {
		return "", err
	}
	light := gozxing.NewLuminanceSourceFromImage(img)
	for _, way := range []struct {
		dark gozxing.Binarizer
		hint gozxing.DecodeHintType
	}{
		{gozxing.NewHybridBinarizer(light), gozxing.DecodeHintType_PURE_BARCODE},
		{gozxing.NewHybridBinarizer(light), gozxing.DecodeHintType_TRY_HARDER},
		{gozxing.NewGlobalHistgramBinarizer(light), gozxing.DecodeHintType_TRY_HARDER},
	} {
		var bits *gozxing.BinaryBitmap
		if bits, err = gozxing.NewBinaryBitmap(way.dark); err != nil {
			return "", err
		}
		var found *gozxing.Result
		found, err = qrcode.NewQRCodeReader().Decode(bits, map[gozxing.DecodeHintType]interface{}{way.hint: true})
		if err == nil {
			return found.GetText(), nil
		}
	}
	return "", err
}

// codePicture is a picture of the code on the screen and nothing else.
func codePicture(t *testing.T, p *browser.Page) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, png.Encode(&out, shownCode(t, p)))
	return out.Bytes()
}

// The browser of the tests reads no codes. This gives it what others have: a detector, which asks the
// test.
const readsCodes = `
	window.asked = new Map();
	window.BarcodeDetector = class {
		static async getSupportedFormats() { return ["qr_code", "ean_13"]; }
		async detect(source) {
			const canvas = document.createElement("canvas");
			canvas.width = source.videoWidth || source.width;
			canvas.height = source.videoHeight || source.height;
			canvas.getContext("2d").drawImage(source, 0, 0);
			const id = String(Math.random());
			const answer = new Promise((done) => window.asked.set(id, done));
			window.decode(JSON.stringify({ id, picture: canvas.toDataURL("image/png").split(",")[1] }));
			return (await answer).map((rawValue) => ({ rawValue, format: "qr_code" }));
		}
	};`

// A camera that sees the pictures in window.sights one after another.
const seesSights = `
	window.sights = [];
	navigator.mediaDevices.getUserMedia = async () => {
		const canvas = document.createElement("canvas");
		canvas.width = 780;
		canvas.height = 1688;
		const pen = canvas.getContext("2d");
		pen.fillStyle = "white";
		let n = 0;
		setInterval(async () => {
			if (window.sights.length === 0) return;
			const bytes = Uint8Array.from(atob(window.sights[n++ % window.sights.length]), (c) => c.charCodeAt(0));
			pen.fillRect(0, 0, canvas.width, canvas.height);
			pen.drawImage(await createImageBitmap(new Blob([bytes], { type: "image/png" })), 0, 0);
		}, 700);
		window.seeing = canvas.captureStream(10);
		return window.seeing;
	};`

// giveEyes makes the page one whose browser reads codes.
func giveEyes(t *testing.T, p *browser.Page) {
	type question struct{ ID, Picture string }
	questions := make(chan question, 64)
	done := make(chan struct{})
	p.Answer("decode", func(text string) {
		var q question
		if json.Unmarshal([]byte(text), &q) == nil {
			questions <- q
		}
	})
	p.Before(readsCodes)
	go func() {
		defer close(done)
		for q := range questions {
			texts := []string{}
			if picture, err := base64.StdEncoding.DecodeString(q.Picture); err == nil {
				if text, err := decoded(picture); err == nil {
					texts = append(texts, text)
				}
			}
			answer, _ := json.Marshal(texts)
			p.Eval(fmt.Sprintf(`void window.asked.get(%q)(%s)`, q.ID, answer))
		}
	}()
	t.Cleanup(func() { close(questions); <-done })
}

// TestAUnitMovesByTheCodesOnTheScreen shows a unit's codes on one phone and reads them on another, from
// pictures of the screen and by the camera.
func TestAUnitMovesByTheCodesOnTheScreen(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	takeIn(p, "Shelf 3, cracked hinge")
	p.Tap("Other")
	p.Tap("Save or share the trail")
	p.Tap("Show as QR codes")
	p.See("Code 1 of")
	p.Until(`!document.querySelector("[data-fresh]")`)
	count := regexp.MustCompile(`Code 1 of (\d+)`).FindStringSubmatch(p.Text())
	var n int
	_, err := fmt.Sscan(count[1], &n)
	require.NoError(t, err)
	var pictures [][]byte
	for i := range n {
		p.See(fmt.Sprintf("Code %d of %d", i+1, n))
		var picture []byte
		var text string
		for range 5 { // a picture may be taken while the code is being drawn
			picture = codePicture(t, p)
			if text, err = decoded(picture); err == nil {
				break
			}
			time.Sleep(200 * time.Millisecond)
		}
		require.NoError(t, err, "what the screen shows is a code that another program reads")
		assert.Regexp(t, fmt.Sprintf(`^PITWISE:[0-9A-F]{8}\.%d\.%d:`, i+1, n), text)
		pictures = append(pictures, picture)
		if n > 1 {
			p.Tap("Next code")
		}
	}
	if n > 1 {
		p.See(fmt.Sprintf("Code 1 of %d", n))
		p.Tap("Let them turn by themselves")
		p.See(fmt.Sprintf("Code 2 of %d", n))
		p.Tap("Stop turning")
	}
	p.Screenshot("codes")

	t.Run("a browser that reads no codes says so", func(t *testing.T) {
		p.In(t)
		p.Go("/move")
		p.See("This browser reads no QR codes.")
	})
	arrived := func(p *browser.Page) {
		settled(p)
		p.See("Shelf 3, cracked hinge")
		assert.Equal(t, 1, steps(p))
	}
	t.Run("from pictures, the last one first", func(t *testing.T) {
		p := browser.Start(t).Open(s)
		giveEyes(t, p)
		p.Go("/move")
		slices.Reverse(pictures)
		for i, picture := range pictures {
			name := filepath.Join(t.TempDir(), "code.png")
			require.NoError(t, os.WriteFile(name, picture, 0o600))
			p.Upload("Choose photographs of the codes", name)
			if i < n-1 {
				p.See(fmt.Sprintf("%d of %d codes are here.", i+1, n))
			}
		}
		arrived(p)
	})
	t.Run("by the camera", func(t *testing.T) {
		p := browser.Start(t).Open(s)
		giveEyes(t, p)
		p.Before(seesSights)
		p.Go("/move")
		p.Tap("Read by the camera")
		p.See("Hold the camera a hand away from the codes.")
		p.Screenshot("codes-camera")
		var sights []string
		for _, picture := range pictures {
			sights = append(sights, base64.StdEncoding.EncodeToString(picture))
		}
		list, err := json.Marshal(sights)
		require.NoError(t, err)
		p.Eval(`void (window.sights = ` + string(list) + `)`)
		arrived(p)
		p.Until(`window.seeing.getTracks().every((track) => track.readyState === "ended")`)
	})
	t.Run("a camera that is refused is told", func(t *testing.T) {
		p := browser.Start(t).Open(s)
		giveEyes(t, p)
		p.Before(`navigator.mediaDevices.getUserMedia = async () => { throw new DOMException("no", "NotAllowedError"); }`)
		p.Go("/move")
		p.Tap("Read by the camera")
		p.See("The camera could not be used.")
		p.See("Read by the camera")
	})
}

// TestABenchMovesToANewPhone goes the guided way from one phone to another, to the check at its end.
func TestABenchMovesToANewPhone(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	old := browser.Start(t).Open(s)
	old.Go("/")
	takeIn(old, "Shelf 3, cracked hinge")
	old.Tap("Back to the bench")
	takeIn(old, "Shelf 4, dead still")
	old.Go("/")
	old.Tap("Settings")
	old.Tap("Move to another device")
	old.See("On the old device:")
	old.Tap("Save: The whole bench in one file")
	old.See("In the file that was made here:")
	old.Screenshot("move-old")
	check := regexp.MustCompile(`Check: (\w{4} \w{4})`)
	there := check.FindStringSubmatch(old.Text())
	require.NotNil(t, there)
	held := regexp.MustCompile(`Units: 2\. Steps: \d+\.`).FindString(old.Text())
	require.NotEmpty(t, held)
	name, file := old.Downloaded()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, file, 0o600))

	p := browser.Start(t).Open(s)
	p.Go("/")
	p.Tap("Settings")
	p.Tap("Move to another device")
	p.See("On the new device:")
	p.Upload("Read in a file", path)
	p.See("All of it is here.")
	p.See(held)
	assert.Equal(t, there[1], check.FindStringSubmatch(p.Text())[1], "both phones show the same check")
	p.Screenshot("move-new")
	p.Tap("Back to the bench")
	p.See("Shelf 3, cracked hinge")
	p.See("Shelf 4, dead still")

	t.Run("a file that was cut on the way is refused, and says so", func(t *testing.T) {
		p.In(t)
		require.NoError(t, os.WriteFile(path, []byte(strings.Replace(string(file), "cracked", "cracket", 1)), 0o600))
		p.Go("/move")
		p.Upload("Read in a file", path)
		p.See("the file was changed or cut")
	})
}
