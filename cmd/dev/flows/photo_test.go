//go:build browser

package flows_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

// secret stands wherever a camera says something about itself or its place.
const secret = "NOSUCHCAM"

// part is a segment of a JPEG file.
func part(marker byte, payload string) []byte {
	return append(binary.BigEndian.AppendUint16([]byte{0xff, marker}, uint16(len(payload)+2)), payload...)
}

// exif is what a phone held upright writes: a maker, the turning (6: the stored top is
// the right), and a place. Source: Exif 2.32, TIFF 6.0.
func exif() []byte {
	t := new(bytes.Buffer)
	le := func(v any) { _ = binary.Write(t, binary.LittleEndian, v) }
	entry := func(tag, kind uint16, count, value uint32) { le(tag); le(kind); le(count); le(value) }
	t.WriteString("II*\x00")
	le(uint32(8))
	le(uint16(3))
	entry(0x010f, 2, uint32(len(secret)+1), 50) // maker, behind the directory
	entry(0x0112, 3, 1, 6)                      // orientation
	entry(0x8825, 4, 1, 60)                     // where the place is
	le(uint32(0))
	t.WriteString(secret + "\x00")
	le(uint16(2))
	entry(1, 2, 2, 'N')
	entry(2, 5, 3, 60+2+24+4)
	le(uint32(0))
	for _, v := range []uint32{52, 1, 31, 1, 4242, 100} {
		le(v)
	}
	return part(0xe1, "Exif\x00\x00"+t.String())
}

// halves is a picture of two halves, left and right.
func halves(w, h int, left, right color.Color) image.Image {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := left
			if x >= w/2 {
				c = right
			}
			m.Set(x, y, c)
		}
	}
	return m
}

var (
	red  = color.RGBA{200, 30, 30, 255}
	blue = color.RGBA{30, 30, 200, 255}
)

// cameraFile is a photograph as a camera writes it, with all it has to say. Stored it is
// 3,000 by 2,000 and red on the left; held as it was taken it is upright and red above.
func cameraFile(t *testing.T) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, halves(3000, 2000, red, blue), nil))
	file := append([]byte(nil), b.Bytes()[:2]...)
	file = append(file, exif()...)
	file = append(file, part(0xe1, "http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta>"+secret+"</x:xmpmeta>")...)
	file = append(file, part(0xed, "Photoshop 3.0\x00"+secret)...)
	file = append(file, part(0xfe, "a remark of the "+secret)...)
	file = append(file, b.Bytes()[2:]...)
	return append(file, secret...)
}

func saved(t *testing.T, name string, file []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, file, 0o600))
	return path
}

type storedPhoto struct {
	Unit, ID, At, Caption, Sum string
	Of, Width, Height          int
	Image, Small               []byte
}

// storedPhotos reads every photograph in the storage, in order.
const storedPhotos = `new Promise((done, failed) => {
	const open = indexedDB.open("pitwise");
	open.onerror = () => failed(open.error);
	open.onsuccess = () => {
		const all = open.result.transaction("photos").objectStore("photos").getAll();
		const text = (a) => { let s = ""; for (const b of a) s += String.fromCharCode(b); return btoa(s); };
		all.onsuccess = () => { open.result.close(); done(JSON.stringify(all.result.map((p) => ({...p, image: text(p.image), small: text(p.small)})))); };
	};
})`

func photosIn(t *testing.T, p *browser.Page) []storedPhoto {
	t.Helper()
	var all []storedPhoto
	require.NoError(t, json.Unmarshal([]byte(browser.Value[string](p, storedPhotos)), &all))
	return all
}

// thumbs waits until the gallery has n photographs that can be seen.
func thumbs(p *browser.Page, n int) {
	p.Until(`document.querySelectorAll(".photo").length === ` + string(rune('0'+n)) +
		` && [...document.querySelectorAll(".photo-small")].every((i) => i.naturalWidth > 0) && !document.querySelector(".photos")?.innerText.includes("Looking at")`)
}

// near reports whether a pixel has about the colour: JPEG changes a little.
func near(t *testing.T, m image.Image, x, y int, want color.RGBA) {
	t.Helper()
	r, g, b, _ := m.At(x, y).RGBA()
	for i, pair := range [][2]uint8{{uint8(r >> 8), want.R}, {uint8(g >> 8), want.G}, {uint8(b >> 8), want.B}} {
		assert.InDelta(t, pair[1], pair[0], 12, "channel %d at %d, %d", i, x, y)
	}
}

func TestAPhotographKeepsNothingButItsPixels(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	p.Tap("Take a unit in")
	p.See("What it does now")
	file := cameraFile(t)
	require.Contains(t, string(file), "Exif")
	p.Upload("Take a photograph", saved(t, "taken.jpg", file))
	thumbs(p, 1)
	p.See("At intake")
	p.Screenshot("photo-intake")
	p.Accessible()
	p.Fits()
	p.Tap("Back to the bench")
	begin(p, "Shelf 20")
	p.Tap("Trail")
	thumbs(p, 1)

	stored := photosIn(t, p)
	require.Len(t, stored, 1)
	photo := stored[0]
	assert.Equal(t, unitOf(p), photo.Unit)
	assert.Zero(t, photo.Of)
	for name, text := range map[string][]byte{"photograph": photo.Image, "small one": photo.Small} {
		for _, no := range []string{"Exif", "GPS", secret, "xmp", "Photoshop", "ICC_PROFILE"} {
			assert.NotContains(t, string(text), no, name)
		}
		for i := 2; i+4 < len(text) && text[i] == 0xff && text[i+1] != 0xda; i += 2 + int(binary.BigEndian.Uint16(text[i+2:])) {
			assert.NotContains(t, []byte{0xe1, 0xe2, 0xed, 0xfe}, text[i+1], "the %s has a segment that says something", name)
		}
	}
	m, err := jpeg.Decode(bytes.NewReader(photo.Image))
	require.NoError(t, err)
	assert.Equal(t, image.Pt(1067, 1600), m.Bounds().Size(), "scaled down, and upright")
	assert.Equal(t, []int{1067, 1600}, []int{photo.Width, photo.Height})
	near(t, m, 500, 200, red)
	near(t, m, 500, 1400, blue)
	small, err := jpeg.Decode(bytes.NewReader(photo.Small))
	require.NoError(t, err)
	assert.Equal(t, image.Pt(213, 320), small.Bounds().Size())

	t.Run("it survives a reload", func(t *testing.T) {
		p.In(t)
		p.Reload()
		thumbs(p, 1)
		assert.Equal(t, stored, photosIn(t, p))
	})
	t.Run("it is looked at, named and removed", func(t *testing.T) {
		p.In(t)
		p.Tap("Photograph: At intake")
		p.Until(`document.querySelector(".photo-whole")?.naturalWidth === 1067`)
		p.Screenshot("photo-large")
		p.Accessible()
		p.Fits()
		p.Type("Caption", `<b>hinge</b> & "screw"`)
		p.Tap("Keep the caption")
		p.Until(`document.querySelector(".photo-large") === null`)
		p.See(`<b>hinge</b> & "screw"`)
		p.Tap("Photograph: <b>hinge</b>")
		p.Tap("Remove the photograph …")
		p.See("It will be gone from this device for good.")
		p.Screenshot("photo-remove")
		p.Tap("Leave it")
		require.Len(t, photosIn(t, p), 1)
		p.Tap("Remove the photograph …")
		p.Tap("Remove it")
		p.Until(`document.querySelector(".photo") === null`)
		assert.Empty(t, photosIn(t, p))
	})
	t.Run("one is taken with a note", func(t *testing.T) {
		p.In(t)
		choose(p, "Start a disc known to be good", "Test")
		act(p, "Starts the disc")
		result := steps(p)
		p.Tap("Other")
		p.Tap("Add a note")
		p.Upload("Choose pictures", saved(t, "note.jpg", file))
		thumbs(p, 1)
		p.See("Step 1")
		p.Type("What should be remembered?", "The hinge, from the side.")
		p.Tap("Record the note")
		p.See("Recorded.")
		stored := photosIn(t, p)
		require.Len(t, stored, 1)
		assert.Equal(t, result+1, stored[0].Of, "it belongs to the note")
		p.Tap("Trail")
		p.Until(`document.querySelector(".unit-trail") !== null`)
		p.Tap("Add a note")
		p.See("What should be remembered?")
		p.Upload("Choose pictures", saved(t, "left.jpg", file))
		thumbs(p, 2)
		p.Tap("Cancel")
		thumbs(p, 2)
		p.Until(`document.querySelector(".photos").innerText.split("Step 1").length > 2`)
		p.Until(`(async () => JSON.parse(await ` + storedPhotos + `)[1].of === ` + strconv.Itoa(result+1) + `)()`)
	})
	t.Run("the printed report shows it", func(t *testing.T) {
		p.In(t)
		p.Go("/unit/" + unitOf(p) + "/report")
		p.Until(`document.querySelectorAll(".photo-print img").length === 2 && [...document.querySelectorAll(".photo-print img")].every((i) => i.naturalWidth === 1067)`)
		p.Screenshot("photo-report")
		p.Accessible()
		p.Fits()
	})
}

// pngClaiming is a PNG that says it has so many pixels, and little more.
func pngClaiming(t *testing.T, w, h uint32) []byte {
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, halves(8, 8, red, blue)))
	file := b.Bytes()
	binary.BigEndian.PutUint32(file[16:], w)
	binary.BigEndian.PutUint32(file[20:], h)
	return file
}

func TestHostileFilesAreNoPhotographs(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	begin(p, "Shelf 21")
	p.Tap("Trail")
	whole := cameraFile(t)
	for _, row := range []struct {
		name, file string
		text       []byte
		says       string
	}{
		{"3,600 megapixels", "large.png", pngClaiming(t, 60000, 60000), "large.png: this picture has more than 50 megapixels."},
		{"cut short", "cut.jpg", whole[:len(whole)/2], "cut.jpg: this picture is cut short or damaged."},
		{"pixels that do not decode", "broken.png", pngClaiming(t, 4000, 4000), "broken.png: this picture is cut short or damaged."},
		{"a drawing with a script", "drawing.svg", []byte(`<svg xmlns="http://www.w3.org/2000/svg" onload="window.hurt=1"><script>window.hurt=1</script></svg>`), "drawing.svg: this is no picture in JPEG, PNG, WebP or GIF."},
		{"a page named as a picture", "page.jpg", []byte("<!doctype html><script>window.hurt=1</script>"), "page.jpg: this is no picture"},
		{"nothing", "empty.jpg", nil, "empty.jpg: this is no picture"},
		{"a file of more than 32 MB", "long.jpg", append(append([]byte(nil), whole...), make([]byte, 33<<20)...), "long.jpg: this file is larger than 32 MB."},
		{"markup for a name", `<img src=x onerror=window.hurt=1>.jpg`, []byte("x"), "<img src=x onerror=window.hurt=1>.jpg: this is no picture"},
	} {
		t.Run(row.name, func(t *testing.T) {
			p.In(t)
			p.Upload("Choose pictures", saved(t, row.file, row.text))
			p.See(row.says)
			assert.Empty(t, photosIn(t, p))
			assert.False(t, browser.Value[bool](p, "window.hurt === 1"))
			assert.Zero(t, browser.Value[int](p, `document.querySelectorAll(".photo").length`))
		})
	}
	p.Screenshot("photo-refused")
	p.Accessible()
	p.Fits()
	p.Upload("Choose pictures", saved(t, "good.png", pngOfHalves(t)))
	thumbs(p, 1)
	p.Gone("this is no picture")
	m, err := jpeg.Decode(bytes.NewReader(photosIn(t, p)[0].Image))
	require.NoError(t, err)
	assert.Equal(t, image.Pt(640, 480), m.Bounds().Size(), "what is small enough keeps its size")
	near(t, m, 100, 100, color.RGBA{255, 255, 255, 255})
	near(t, m, 500, 100, blue)
}

// pngOfHalves is see-through on the left.
func pngOfHalves(t *testing.T) []byte {
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, halves(640, 480, color.RGBA{}, blue)))
	return b.Bytes()
}

func TestPhotographsInExportsOnlyWhenAsked(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	begin(p, "Shelf 22")
	p.Tap("Trail")
	p.Upload("Choose pictures", saved(t, "taken.jpg", cameraFile(t)))
	thumbs(p, 1)
	const shown = `<img src=x onerror=window.hurt=1> **bold` // as much as stands under a small photograph
	const caption = shown + `** =1+1`
	p.Tap("Photograph: At intake")
	p.Type("Caption", caption)
	p.Tap("Keep the caption")
	p.See(shown)
	take := func(what string) string {
		p.Tap("Other")
		p.Tap("Save or share the trail")
		p.Tap(what)
		_, body := p.Downloaded()
		return string(body)
	}
	assert.NotContains(t, take("Save: Trail with its model (JSON)"), "image/jpeg")
	assert.NotContains(t, take("Save: Report (Markdown)"), "Photographs")
	p.Tap("Save or share the trail")
	p.Tap("With photographs")
	p.Until(`document.getElementById("with-photos").checked`)
	p.Screenshot("photo-export")
	p.Accessible()
	p.Fits()
	p.Tap("Save: Trail with its model (JSON)")
	name, body := p.Downloaded()
	assert.Contains(t, name, "photographs")
	assert.Contains(t, string(body), `"version": 2`)
	md := take("Save: Report (Markdown)")
	assert.Contains(t, md, "## Photographs")
	assert.NotContains(t, strings.ReplaceAll(md, `\<`, ""), "<", "markup in a caption means itself")
	csv := take("Save: Steps (CSV)")
	assert.Contains(t, csv, "photograph")
	p.Go("/settings")
	p.Tap("Save: The whole bench in one file")
	_, plain := p.Downloaded()
	assert.NotContains(t, string(plain), "image/jpeg", "after another load it is asked for anew")
	p.Tap("With photographs")
	p.Until(`document.getElementById("with-photos").checked`)
	p.Tap("Save: The whole bench in one file")
	_, whole := p.Downloaded()
	ours := photosIn(t, p)[0]

	fresh := browser.Start(t).Open(s)
	fresh.Go("/")
	fresh.Upload("Read in a file", saved(t, "plain.json", plain))
	fresh.See("Shelf 22")
	assert.Empty(t, photosIn(t, fresh), "a file without photographs")
	again := func(file []byte, says string) {
		fresh.Go("/")
		fresh.Upload("Read in a file", saved(t, "bench.json", file))
		fresh.See(says)
	}
	again(whole, "New photographs: 1.")
	theirs := photosIn(t, fresh)
	require.Len(t, theirs, 1)
	assert.Equal(t, []any{ours.Unit, ours.ID, ours.At, ours.Of, ours.Caption, ours.Width, ours.Height},
		[]any{theirs[0].Unit, theirs[0].ID, theirs[0].At, theirs[0].Of, theirs[0].Caption, theirs[0].Width, theirs[0].Height})
	m, err := jpeg.Decode(bytes.NewReader(theirs[0].Image))
	require.NoError(t, err)
	near(t, m, 500, 200, red)
	near(t, m, 500, 1400, blue)
	again(whole, "nothing in it was new")
	again(plain, "nothing in it was new")
	assert.Equal(t, theirs, photosIn(t, fresh), "the older file loses nothing, the same one changes nothing")

	t.Run("a stranger's picture is coded anew", func(t *testing.T) {
		fresh.In(t)
		told := cameraFile(t)
		small := new(bytes.Buffer)
		require.NoError(t, jpeg.Encode(small, halves(60, 40, red, blue), nil))
		// The head of the camera's file, with all it says, before a small picture.
		head := told[:bytes.Index(told, []byte{0xff, 0xdb})]
		forged := append(append([]byte(nil), head...), small.Bytes()[2:]...)
		require.Contains(t, string(forged), secret)
		again(forgedBench(t, whole, forged), "New photographs: 1.")
		all := photosIn(t, fresh)
		require.Len(t, all, 2)
		for _, p := range all {
			assert.NotContains(t, string(p.Image)+string(p.Small), secret)
			assert.NotContains(t, string(p.Image)+string(p.Small), "Exif")
		}
		again(forgedBench(t, whole, []byte("<script>window.hurt=1</script>")), "Photographs refused: 1.")
		assert.Len(t, photosIn(t, fresh), 2)
		assert.False(t, browser.Value[bool](fresh, "window.hurt === 1"))
	})
	fresh.Go("/unit/" + theirs[0].Unit + "/trail")
	thumbs(fresh, 2)
	fresh.See(shown)
	fresh.Screenshot("photo-imported")
	assert.Zero(t, browser.Value[int](fresh, `document.querySelectorAll(".photo-words img").length`))
}

// forgedBench is a bench file with another photograph added to it, with every digest
// right.
func forgedBench(t *testing.T, file, data []byte) []byte {
	t.Helper()
	var doc map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(file, &doc))
	var units []json.RawMessage
	var models map[string]string
	var photos []map[string]any
	require.NoError(t, json.Unmarshal(doc["units"], &units))
	require.NoError(t, json.Unmarshal(doc["models"], &models))
	require.NoError(t, json.Unmarshal(doc["photos"], &photos))
	hex := func(b []byte) string { sum := sha256.Sum256(b); return fmt.Sprintf("%x", sum) }
	photos = append(photos, map[string]any{
		"unit": photos[0]["unit"], "id": hexID(data), "at": "2026-03-04T10:11:12Z", "of": 1, "caption": "forged",
		"type": "image/jpeg", "sha256": hex(data), "data": data,
	})
	var all bytes.Buffer
	for _, u := range units {
		require.NoError(t, json.Compact(&all, u))
		all.WriteByte(0)
	}
	sums := slices.Sorted(maps.Keys(models))
	for _, sum := range sums {
		all.WriteString(models[sum] + "\x00")
	}
	for _, p := range photos {
		for _, key := range []string{"unit", "id", "at", "of", "caption", "type", "sha256"} {
			fmt.Fprintf(&all, "%v\x00", p[key])
		}
	}
	doc["sha256"], _ = json.Marshal(hex(all.Bytes()))
	doc["photos"], _ = json.Marshal(photos)
	out, err := json.Marshal(doc)
	require.NoError(t, err)
	return out
}

// hexID is an id as photographs have them.
func hexID(data []byte) string { return strings.ToUpper(fmt.Sprintf("%026x", len(data))) }

func TestPhotographsInTwoTabs(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	c := browser.Start(t)
	one := c.Open(s)
	one.Go("/")
	begin(one, "Shelf 23")
	two := c.Open(s)
	two.Go("/unit/" + unitOf(one) + "/trail")
	two.Until(`document.querySelectorAll(".event").length === 1`)
	one.Tap("Trail")
	one.Upload("Choose pictures", saved(t, "one.png", pngOfHalves(t)))
	thumbs(one, 1)
	thumbs(two, 1)
	two.Upload("Choose pictures", saved(t, "two.png", pngOfHalves(t)))
	thumbs(two, 2)
	thumbs(one, 2)

	t.Run("one that is damaged leaves the other be", func(t *testing.T) {
		one.In(t)
		first := photosIn(t, one)[0].ID
		alter(one, "photos", fmt.Sprintf(`(p) => p.id === %q ? {...p, image: p.image.map((b, i) => i === 400 ? b ^ 1 : b)} : undefined`, first))
		one.Reload()
		one.Until(`document.querySelectorAll(".photo").length === 2 && document.querySelectorAll(".photo-small").length === 1`)
		one.See("One photograph cannot be read. The others are as they were.")
		one.Screenshot("photo-damaged")
		one.Accessible()
		one.Fits()
		one.Tap("Cannot be read")
		one.Tap("Remove the photograph …")
		one.Tap("Remove it")
		thumbs(one, 1)
		assert.Len(t, photosIn(t, one), 1)
	})
}

// TestAPhotographOfTheStepAtHand is taken beside the step, and belongs to what is recorded of it; one of the intake is
// still there after the page was loaded anew.
func TestAPhotographOfTheStepAtHand(t *testing.T) {
	t.Parallel()
	p := browser.Start(t).Open(browser.Serve(t))
	p.Go("/new")
	p.Upload("Choose pictures", saved(t, "intake.png", pngOfHalves(t)))
	thumbs(p, 1)
	p.Reload()
	thumbs(p, 1)
	p.Tap("Back to the bench")
	takeIn(p, "Shelf 7")
	read(p)
	title := browser.Value[string](p, `document.querySelector(".proposal-title").innerText`)
	p.Upload("Photograph this step", saved(t, "step.png", pngOfHalves(t)))
	p.See("The photograph is kept with this step.")
	n := steps(p)
	p.Tap(browser.Value[string](p, `document.querySelector(".pane-step .deck .outcome-title, .pane-step .deck .button").innerText`))
	recorded(p, n+1)
	p.Tap("Trail")
	thumbs(p, 2)
	photos := browser.Value[[]string](p, `[...document.querySelectorAll(".photo-words")].map((e) => e.innerText)`)
	require.Contains(t, photos[0], title)
	require.Contains(t, photos[0], "Step 1")
	require.Contains(t, photos[1], "At intake")
	p.Screenshot("photo-of-a-step")
}
