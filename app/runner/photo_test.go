package runner_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"regexp"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/state"
)

// shot is a small photograph of one colour, as a file. With said it carries a segment
// as cameras write them.
func shot(t testing.TB, c color.Color, said string) browser.File {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 40, 30))
	for i := range 40 * 30 {
		m.Set(i%40, i/40, c)
	}
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, m, nil))
	text := b.String()
	if said != "" {
		said = "Exif\x00\x00" + said
		text = text[:2] + "\xff\xe1" + string([]byte{byte((len(said) + 2) >> 8), byte(len(said) + 2)}) + said + text[2:]
	}
	return browser.File{Name: "shot.jpg", Text: text}
}

// evening is when the evenings of the tests begin.
var evening = time.Date(2026, 3, 4, 19, 0, 0, 0, time.UTC)

var grey = color.RGBA{90, 90, 90, 255}

// sampled is a bench with the sample unit on the screen.
func sampled(t *testing.T, storage *browser.Memory) *bench {
	t.Helper()
	b := newBench(t, storage)
	b.send(state.CreateSample{})
	b.shows(state.SampleID)
	return b
}

// shows waits until a unit and its photographs are on the screen.
func (b *bench) shows(unit string) {
	b.t.Helper()
	b.until("the unit is there", func(s state.State) bool { return s.Unit != nil && s.Unit.Trail.ID == unit && s.Photos.Unit == unit })
	b.runner.Settle()
}

// put puts files into a field of the page, and waits until they are done with.
func (b *bench) put(files ...browser.File) state.State {
	b.t.Helper()
	b.device.Lock()
	b.device.Puts = files
	b.device.Unlock()
	b.send(state.TakePhotos{Field: browser.PhotoField})
	return b.until("the files are done with", func(s state.State) bool { return s.Album().Busy == 0 })
}

// saves lets the bench hand out a file and returns it.
func (b *bench) saves(m state.Msg) browser.File {
	b.t.Helper()
	b.device.Lock()
	before := len(b.device.Saved)
	b.device.Unlock()
	b.send(m)
	b.handed(func() bool { return len(b.device.Saved) > before })
	return b.device.Saved[before]
}

// inStore returns every photograph of a unit as it is stored.
func inStore(t *testing.T, m *browser.Memory, unit string) []browser.PhotoRecord {
	t.Helper()
	ids, err := m.PhotoIDs(unit)
	require.NoError(t, err)
	var all []browser.PhotoRecord
	for _, id := range ids {
		p, err := m.Photo(unit, id)
		require.NoError(t, err)
		require.True(t, p.Intact())
		all = append(all, p)
	}
	return all
}

func TestPhotographsOfTheIntakeGoWithTheUnit(t *testing.T) {
	m := browser.NewMemory()
	b := newBench(t, m)
	b.send(state.Navigated{Path: "/new"})
	b.put(shot(t, grey, ""), shot(t, color.White, ""))
	s := b.put(browser.File{Name: "note.txt", Text: "no picture"})
	require.Len(t, s.Intake.Photos, 2)
	assert.Equal(t, []state.Refusal{{Name: "note.txt", Why: state.PhotoFormat}}, s.Intake.Refused)
	b.send(state.ShowPhoto{ID: s.Intake.Photos[1].ID})
	s = b.until("it is shown", func(s state.State) bool { return s.Intake.Large != "" })
	b.send(state.SetCaption{Text: "the label"})
	b.send(state.KeepCaption{})
	b.until("it is named", func(s state.State) bool { return s.Intake.Photos[1].Caption == "the label" })

	b.runner.Settle()
	b = newBench(t, m) // the page is loaded anew
	b.send(state.Navigated{Path: "/new"})
	s = b.until("they are still there", func(s state.State) bool { return len(s.Intake.Photos) == 2 })
	assert.Equal(t, "the label", s.Intake.Photos[1].Caption)
	assert.Zero(t, s.Intake.Unsaved())

	other := newBench(t, m) // another window shows the same intake
	other.send(state.Navigated{Path: "/new"})
	other.until("they are there too", func(s state.State) bool { return len(s.Intake.Photos) == 2 })

	b.send(state.PickModel{ID: "top-loader"})
	b.until("the model is there", func(s state.State) bool { return s.Draft.Model != nil })
	b.send(state.SetLabel{Text: "Grey one"})
	b.complain()
	b.send(state.StartUnit{})
	s = b.until("the unit is there with them", func(s state.State) bool { return s.Unit != nil && len(s.Photos.Photos) == 2 })
	assert.Empty(t, s.Intake.Photos)
	stored := inStore(t, m, s.Unit.Trail.ID)
	require.Len(t, stored, 2)
	assert.Equal(t, "the label", stored[1].Caption)
	assert.Zero(t, stored[1].Of)
	assert.False(t, s.Photos.Photos[0].Unsaved)
	assert.Empty(t, inStore(t, m, browser.Intake), "they belong to one unit")
	other.send(state.PhotosElsewhere{})
	other.until("they have left the other window", func(s state.State) bool { return len(s.Intake.Photos) == 0 })
	other.send(state.PickModel{ID: "top-loader"})
	other.send(state.SetLabel{Text: "Red one"})
	other.until("the model is there", func(s state.State) bool { return s.Draft.Model != nil })
	other.device.Lock()
	other.device.At = other.device.At.Add(time.Hour) // the fakes make the same ids
	other.device.Unlock()
	other.send(state.StartUnit{})
	red := other.until("the unit is there", func(s state.State) bool { return s.Unit != nil })
	other.runner.Settle()
	require.NotEqual(t, s.Unit.Trail.ID, red.Unit.Trail.ID)
	assert.Empty(t, inStore(t, m, red.Unit.Trail.ID), "nor do they go with another")

	again := newBench(t, m)
	again.send(state.Navigated{Path: "/unit/" + s.Unit.Trail.ID})
	s = again.until("another load shows them", func(s state.State) bool { return len(s.Photos.Photos) == 2 })
	assert.Equal(t, "the label", s.Photos.Photos[1].Caption)
	again.send(state.Navigated{Path: "/unit/" + s.Unit.Trail.ID + "/report"})
	again.until("the report shows them whole", func(s state.State) bool { return s.Photos.Photos[0].Large != "" })
	assert.Len(t, again.device.Addresses(), 4)
	again.send(state.Navigated{Path: "/"})
	again.runner.Settle()
	assert.Empty(t, again.device.Addresses(), "every address is given back")
}

func TestAPhotographThatTheStorageHasNoRoomFor(t *testing.T) {
	m := browser.NewMemory()
	b := sampled(t, m)
	b.put(shot(t, grey, ""))
	var full atomic.Bool
	full.Store(true)
	m.Refuse(func(call string) error {
		if full.Load() && call == "add-photo" {
			return browser.ErrFull
		}
		return nil
	})
	s := b.put(shot(t, color.White, ""))
	require.Len(t, s.Photos.Photos, 2)
	assert.False(t, s.Photos.Photos[0].Unsaved)
	assert.True(t, s.Photos.Photos[1].Unsaved)
	assert.Equal(t, []state.Refusal{{Name: "shot.jpg", Why: state.PhotoFull}}, s.Photos.Refused)
	assert.Len(t, inStore(t, m, state.SampleID), 1)
	_, events, err := m.Unit(state.SampleID)
	require.NoError(t, err)
	assert.Len(t, events, 2, "nothing else is lost")

	b.send(state.WithPhotos{On: true})
	whole := b.saves(state.TakeAway{Form: state.FormTrailFull, Way: state.WaySave})
	assert.Equal(t, 2, strings.Count(whole.Text, `"image/jpeg"`), "what is only in memory can be taken away")
	b.send(state.Navigated{Path: "/"})
	b.send(state.Navigated{Path: "/unit/" + state.SampleID})
	s = b.until("it is still there", func(s state.State) bool { return len(s.Photos.Photos) == 2 })
	assert.Equal(t, 1, s.Photos.Unsaved())
	b.send(state.StorePhotos{})
	s = b.until("it is told again", func(s state.State) bool { return len(s.Photos.Refused) == 1 })
	assert.Equal(t, 1, s.Photos.Unsaved())
	full.Store(false)
	b.send(state.StorePhotos{})
	b.until("it is stored", func(s state.State) bool { return s.Photos.Unsaved() == 0 })
	assert.Len(t, inStore(t, m, state.SampleID), 2)
}

func TestAUnitHasSoManyPhotographs(t *testing.T) {
	m := browser.NewMemory()
	b := sampled(t, m)
	var files []browser.File
	for range browser.PhotosMost + 2 {
		files = append(files, shot(t, grey, ""))
	}
	s := b.put(files...)
	assert.Len(t, s.Photos.Photos, browser.PhotosMost)
	assert.Equal(t, []state.Refusal{{Name: "shot.jpg", Why: state.PhotoMany}, {Name: "shot.jpg", Why: state.PhotoMany}}, s.Photos.Refused)
	s = b.put(browser.File{Name: "big.jpg", Text: strings.Repeat("x", browser.PhotoFileBytes+1)})
	assert.Equal(t, state.PhotoMany, s.Photos.Refused[0].Why)
	b.send(state.ShowPhoto{ID: s.Photos.Photos[0].ID})
	b.send(state.AskRemove{On: true})
	b.send(state.RemovePhoto{})
	b.until("one is gone", func(s state.State) bool { return len(s.Photos.Photos) == browser.PhotosMost-1 })
	assert.Len(t, inStore(t, m, state.SampleID), browser.PhotosMost-1)
	s = b.put(browser.File{Name: "big.jpg", Text: strings.Repeat("x", browser.PhotoFileBytes+1)})
	assert.Equal(t, state.PhotoLong, s.Photos.Refused[0].Why)
}

func TestADamagedPhotographLeavesTheOthersBe(t *testing.T) {
	m := browser.NewMemory()
	b := sampled(t, m)
	s := b.put(shot(t, grey, ""), shot(t, color.White, ""), shot(t, color.Black, ""))
	bad := s.Photos.Photos[1].ID
	m.SpoilPhoto(state.SampleID, bad, func(p *browser.PhotoRecord) { p.Image = p.Image[:len(p.Image)/2] })
	b.send(state.PhotosElsewhere{ID: state.SampleID})
	s = b.until("the damage is shown", func(s state.State) bool { return s.Photos.Photos[1].Damaged })
	assert.False(t, s.Photos.Photos[0].Damaged || s.Photos.Photos[2].Damaged)
	assert.Empty(t, s.Unit.Damaged, "the trail is sound")
	b.send(state.WithPhotos{On: true})
	text := b.saves(state.BackUp{Way: state.WaySave}).Text
	assert.NotContains(t, text, bad)
	assert.Equal(t, 2, strings.Count(text, `"image/jpeg"`))
	b.send(state.ShowPhoto{ID: bad})
	b.send(state.AskRemove{On: true})
	b.send(state.RemovePhoto{})
	b.until("it is removed", func(s state.State) bool { return len(s.Photos.Photos) == 2 })
}

// resealed changes the photographs of a backup and sets its digest right.
func resealed(t *testing.T, text string, change func(photos []map[string]any) []map[string]any) string {
	t.Helper()
	var doc map[string]json.RawMessage
	require.NoError(t, json.Unmarshal([]byte(text), &doc))
	var units []json.RawMessage
	var models map[string]string
	var photos []map[string]any
	require.NoError(t, json.Unmarshal(doc["units"], &units))
	require.NoError(t, json.Unmarshal(doc["models"], &models))
	require.NoError(t, json.Unmarshal(doc["photos"], &photos))
	photos = change(photos)
	h := sha256.New()
	part := func(b []byte) { h.Write(b); h.Write([]byte{0}) }
	for _, u := range units {
		var compact bytes.Buffer
		require.NoError(t, json.Compact(&compact, u))
		part(compact.Bytes())
	}
	var sums []string
	for s := range models {
		sums = append(sums, s)
	}
	slices.Sort(sums)
	for _, s := range sums {
		part([]byte(models[s]))
	}
	for _, p := range photos {
		for _, key := range []string{"unit", "id", "at", "of", "caption", "type", "sha256"} {
			part([]byte(fmt.Sprint(p[key])))
		}
	}
	set := func(key string, v any) {
		raw, err := json.Marshal(v)
		require.NoError(t, err)
		doc[key] = raw
	}
	set("photos", photos)
	set("sha256", hex.EncodeToString(h.Sum(nil)))
	out, err := json.Marshal(doc)
	require.NoError(t, err)
	return string(out)
}

// holding sets the data of a photograph in a backup, with its checksum.
func holding(p map[string]any, data string) {
	sum := sha256.Sum256([]byte(data))
	p["data"], p["sha256"] = base64.StdEncoding.EncodeToString([]byte(data)), hex.EncodeToString(sum[:])
}

func TestPhotographsGoFromOneBenchToAnother(t *testing.T) {
	one := sampled(t, browser.NewMemory())
	one.put(shot(t, grey, ""), shot(t, color.White, ""))
	plain := one.saves(state.BackUp{Way: state.WaySave}).Text
	assert.Contains(t, plain, `"version": 1`)
	assert.NotContains(t, plain, "image/jpeg", "left out unless asked for")
	assert.NotContains(t, one.saves(state.TakeAway{Form: state.FormTrailFull, Way: state.WaySave}).Text, "image/jpeg")
	one.send(state.WithPhotos{On: true})
	first := one.saves(state.BackUp{Way: state.WaySave}).Text
	assert.Contains(t, first, `"version": 2`)
	assert.NotContains(t, one.saves(state.TakeAway{Form: state.FormTrail, Way: state.WaySave}).Text, "image/jpeg", "the trail alone is what it is")

	m := browser.NewMemory()
	two := newBench(t, m)
	s := two.readIn(plain)
	assert.Equal(t, state.NoticeImported, s.Notice.Kind, "a file of version 1 is read in")
	assert.Empty(t, inStore(t, m, state.SampleID))
	s = two.readIn(first)
	assert.Equal(t, state.NoticePhotos, s.Notice.Kind)
	assert.Equal(t, []int{0, 2, 0}, []int{s.Notice.N, s.Notice.Photos, s.Notice.Refused})
	want, got := inStore(t, one.storage, state.SampleID), inStore(t, m, state.SampleID)
	require.Len(t, got, 2)
	for i := range want {
		assert.Equal(t, []any{want[i].ID, want[i].At, want[i].Of, want[i].Caption, want[i].Width, want[i].Height},
			[]any{got[i].ID, got[i].At, got[i].Of, got[i].Caption, got[i].Width, got[i].Height})
	}
	assert.Equal(t, state.NoticeSame, two.readIn(first).Notice.Kind, "twice changes nothing")
	assert.Equal(t, got, inStore(t, m, state.SampleID))

	one.put(shot(t, color.Black, ""))
	s = two.readIn(one.saves(state.BackUp{Way: state.WaySave}).Text)
	assert.Equal(t, 1, s.Notice.Photos, "a newer one adds what is new")
	newest := inStore(t, m, state.SampleID)
	for _, older := range []string{first, plain} {
		assert.Equal(t, state.NoticeSame, two.readIn(older).Notice.Kind, "an older one loses nothing newer")
		assert.Equal(t, newest, inStore(t, m, state.SampleID))
	}

	t.Run("the file of one unit opens that unit", func(t *testing.T) {
		f := one.saves(state.TakeAway{Form: state.FormTrailFull, Way: state.WaySave})
		assert.Contains(t, f.Name, "photographs")
		three := newBench(t, browser.NewMemory())
		s := three.readIn(f.Text)
		assert.Equal(t, 3, s.Notice.Photos)
		three.shows(state.SampleID)
		assert.Len(t, inStore(t, three.storage, state.SampleID), 3)
	})
	t.Run("a changed caption or picture breaks the digest", func(t *testing.T) {
		for name, bad := range map[string]string{
			"caption":                  strings.Replace(first, `"caption": ""`, `"caption": "forged"`, 1),
			"step":                     strings.Replace(first, `"of": 2`, `"of": 1`, 1),
			"cut":                      first[:len(first)-300],
			"photographs in version 1": strings.Replace(first, `"version": 2`, `"version": 1`, 1),
		} {
			require.NotEqual(t, first, bad, name)
			fresh := newBench(t, browser.NewMemory())
			assert.Equal(t, state.TroubleImport, fresh.readIn(bad).Notice.Trouble, name)
			assert.Empty(t, inStore(t, fresh.storage, state.SampleID))
		}
	})
}

func TestAStrangersPhotographIsNeverStoredAsItCame(t *testing.T) {
	one := sampled(t, browser.NewMemory())
	one.put(shot(t, grey, ""), shot(t, color.White, ""))
	one.send(state.WithPhotos{On: true})
	whole := one.saves(state.BackUp{Way: state.WaySave}).Text
	told := shot(t, color.RGBA{200, 30, 30, 255}, "secret place").Text
	var wide bytes.Buffer
	require.NoError(t, jpeg.Encode(&wide, image.NewGray(image.Rect(0, 0, browser.PhotoSide+1, 1)), nil))
	for _, row := range []struct {
		name            string
		change          func(p map[string]any)
		stored, refused int
	}{
		{"one that says where it was taken", func(p map[string]any) { holding(p, told) }, 2, 0},
		{"one that is no picture", func(p map[string]any) { holding(p, "<script>alert(1)</script>") }, 1, 1},
		{"one that is cut", func(p map[string]any) { holding(p, told[:len(told)/2]) }, 1, 1},
		{"one with another checksum", func(p map[string]any) { p["data"] = base64.StdEncoding.EncodeToString([]byte(told)) }, 1, 1},
		{"one that says it is a drawing", func(p map[string]any) { p["type"] = "image/svg+xml" }, 1, 1},
		{"one that says it is a JPEG and is a PNG", func(p map[string]any) { holding(p, "\x89PNG\r\n\x1a\n"+strings.Repeat("\x00", 60)) }, 1, 1},
		{"one with more pixels than any that is written", func(p map[string]any) { holding(p, wide.String()) }, 1, 1},
		{"one that is too long", func(p map[string]any) { holding(p, told+strings.Repeat("x", browser.PhotoBytes)) }, 1, 1},
		{"one with a caption of a megabyte", func(p map[string]any) { p["caption"] = strings.Repeat("w", 1<<20) }, 1, 1},
		{"one of a unit that is not in the file", func(p map[string]any) { p["unit"] = "01ARYZ6S41TPTWXQQCJDG5NZ2T" }, 1, 1},
		{"one with a path for an id", func(p map[string]any) { p["id"] = "../../etc/passwd" }, 1, 1},
		{"one without a time", func(p map[string]any) { p["at"] = "yesterday" }, 1, 1},
		{"one before the intake", func(p map[string]any) { p["of"] = -1 }, 1, 1},
	} {
		t.Run(row.name, func(t *testing.T) {
			text := resealed(t, whole, func(photos []map[string]any) []map[string]any { row.change(photos[0]); return photos })
			m := browser.NewMemory()
			b := newBench(t, m)
			s := b.readIn(text)
			require.Equal(t, state.NoticePhotos, s.Notice.Kind, "%+v", s.Notice)
			assert.Equal(t, []int{row.stored, row.refused}, []int{s.Notice.Photos, s.Notice.Refused})
			stored := inStore(t, m, state.SampleID)
			require.Len(t, stored, row.stored)
			for _, p := range stored {
				assert.NotContains(t, p.Image+p.Small, "Exif")
				assert.NotContains(t, p.Image+p.Small, "secret")
				assert.NotEqual(t, told, p.Image)
			}
		})
	}
	t.Run("more than a unit may have", func(t *testing.T) {
		text := resealed(t, whole, func(photos []map[string]any) []map[string]any {
			for i := range browser.PhotosMost {
				next := map[string]any{}
				for k, v := range photos[0] {
					next[k] = v
				}
				next["id"] = fmt.Sprintf("%026d", i)
				photos = append(photos, next)
			}
			return photos
		})
		b := newBench(t, browser.NewMemory())
		s := b.readIn(text)
		assert.Equal(t, []int{browser.PhotosMost, 2}, []int{s.Notice.Photos, s.Notice.Refused})
	})
	t.Run("one with an id that is here leaves ours as it is", func(t *testing.T) {
		before := inStore(t, one.storage, state.SampleID)
		text := resealed(t, whole, func(photos []map[string]any) []map[string]any {
			holding(photos[0], told)
			photos[0]["caption"] = "not yours"
			return photos
		})
		assert.Equal(t, state.NoticeSame, one.readIn(text).Notice.Kind)
		assert.Equal(t, before, inStore(t, one.storage, state.SampleID))
	})
	t.Run("of a unit that is another's, none is taken", func(t *testing.T) {
		other := newBench(t, browser.NewMemory())
		other.send(state.CreateSample{}) // the same id, begun at another time
		other.shows(state.SampleID)
		other.send(state.OpenSheet{Sheet: state.SheetNote})
		other.send(state.SetText{Text: "mine"})
		other.send(state.ConfirmSheet{})
		other.until("it is recorded", func(s state.State) bool { return len(s.Unit.Trail.Events) == 3 })
		one.send(state.Navigated{Path: "/unit/" + state.SampleID})
		one.shows(state.SampleID)
		one.send(state.OpenSheet{Sheet: state.SheetNote})
		one.send(state.SetText{Text: "theirs"})
		one.send(state.ConfirmSheet{})
		one.until("it is recorded", func(s state.State) bool { return len(s.Unit.Trail.Events) == 3 })
		other.readIn(one.saves(state.BackUp{Way: state.WaySave}).Text)
		other.runner.Settle()
		assert.Empty(t, inStore(t, other.storage, state.SampleID))
	})
}

func TestWhatExportsSayOfPhotographs(t *testing.T) {
	b := sampled(t, browser.NewMemory())
	captions := []string{"<script>alert(1)</script> [a](javascript:alert(1)) | # x", "=HYPERLINK(\"http://x.example\")", "line\nbreak \u202egnp.exe", strings.Repeat("w", 500)}
	for range captions {
		b.put(shot(t, grey, ""))
	}
	for i, p := range b.now().Photos.Photos {
		b.send(state.ShowPhoto{ID: p.ID})
		b.send(state.SetCaption{Text: captions[i]})
		b.send(state.KeepCaption{})
	}
	b.runner.Settle()
	bare := b.saves(state.TakeAway{Form: state.FormReport, Way: state.WaySave}).Text
	assert.NotContains(t, bare, "Photographs")
	steps := b.saves(state.TakeAway{Form: state.FormSteps, Way: state.WaySave}).Text
	assert.NotContains(t, steps, "photograph")
	b.send(state.WithPhotos{On: true})
	md := b.saves(state.TakeAway{Form: state.FormReport, Way: state.WaySave}).Text
	require.True(t, strings.HasPrefix(md, bare))
	lines := strings.Split(strings.TrimSpace(md[len(bare):]), "\n")
	require.Len(t, lines, 2+len(captions), "%s", md[len(bare):])
	assert.Equal(t, "## Photographs", lines[0])
	for _, line := range lines[2:] {
		assert.Regexp(t, `^- Step 1, `, line)
		assert.NotRegexp(t, "[<>\\[\\]|`]|://", regexp.MustCompile(`\\.`).ReplaceAllString(line, ""))
		assert.NotContains(t, line, "\u202e")
	}
	buyer := b.saves(state.TakeAway{Form: state.FormBuyer, Way: state.WaySave})
	assert.Regexp(t, `-buyer\.html$`, buyer.Name)
	assert.Equal(t, len(captions), strings.Count(buyer.Text, `<img alt="" src="data:image/jpeg;base64,`), "a buyer sees them")
	assert.NotContains(t, buyer.Text, "<script")
	all := b.saves(state.TakeAway{Form: state.FormSteps, Way: state.WaySave}).Text
	require.True(t, strings.HasPrefix(all, steps))
	rows, err := csv.NewReader(strings.NewReader(all)).ReadAll()
	require.NoError(t, err, "the lines of photographs have as many cells as those of steps")
	rows = rows[len(rows)-len(captions):]
	for i, row := range rows {
		assert.Equal(t, []string{"2", "photograph", "true", "Step 1"}, []string{row[0], row[2], row[3], row[4]})
		assert.NotRegexp(t, `^[\s]*[=+@|-]`, row[5])
		if i == 3 {
			assert.Len(t, row[5], 500)
		}
	}
}
