package runner

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"image"
	"image/jpeg"
	"maps"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/catalog"
	"pitwise/engine/document"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

func fuzzed(t testing.TB) *Runner {
	t.Helper()
	return &Runner{Storage: browser.NewMemory(), Device: &browser.Still{}, Send: func(state.Msg) {}, Go: func(string) {}}
}

// FuzzTakeIn: a file is refused or taken in, the units that are here stay as they are, and
// what was taken in can be read and taken in again without change. A backup is tried a
// second time with its digest set right, so that what lies behind the digest is reached.
func FuzzTakeIn(f *testing.F) {
	player, err := os.ReadFile("../../engine/catalog/authors/shelf-player.json")
	require.NoError(f, err)
	m, err := model.Load(player)
	require.NoError(f, err)
	mine := &trail.Trail{ID: "mine", Created: "2026-03-04T10:11:12Z", Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Terms:  trail.Terms{Currency: "EUR"},
		Events: []trail.Event{{N: 1, At: "2026-03-04T10:12:00Z", Kind: trail.Note, Text: "hello"}}}
	first := fuzzed(f)
	require.NoError(f, first.store(mine, m))
	whole, _, _, err := first.backupFile(state.BackUp{})
	require.NoError(f, err)
	f.Add([]byte(whole.Text))
	var shot bytes.Buffer
	require.NoError(f, jpeg.Encode(&shot, image.NewGray(image.Rect(0, 0, 8, 8)), nil))
	require.NoError(f, first.Storage.AddPhoto(browser.PhotoRecord{Unit: "mine", ID: "01ARYZ6S410000000000000000", At: "2026-03-04T10:12:00Z",
		Width: 8, Height: 8, Image: shot.String(), Small: shot.String()}.Sealed()))
	pictured, _, _, err := first.backupFile(state.BackUp{Photos: true})
	require.NoError(f, err)
	f.Add([]byte(pictured.Text))
	f.Add(mine.Encode())
	f.Add([]byte(`{"format":"pitwise/bench","version":1,"made":"","sha256":"","units":[{}, null, 7],"archived":["mine"],"models":{"a":"{}"}}`))
	f.Add([]byte(`{"format":"pitwise/bench","version":1,"made":"","sha256":"","units":[` + string(mine.Encode()) + `],"archived":["mine","other"],"models":{}}`))
	for _, id := range []string{"tray", "slot-in"} {
		lent := CountsOf(f, id, "shed", 12)
		f.Add(lent.Encode())
		_, _, err = first.lend(lent)
		require.NoError(f, err)
	}
	require.NoError(f, first.Storage.Keep(state.SettingBench, "mine"))
	lending, _, _, err := first.backupFile(state.BackUp{})
	require.NoError(f, err)
	f.Add([]byte(lending.Text))
	f.Add(player)
	f.Add(bytes.Replace(player, []byte("0.10]"), []byte("0.2]"), 1))
	f.Add([]byte(`{"format":"pitwise/model"}`))
	_, err = first.list(m)
	require.NoError(f, err)
	whole, _, _, err = first.backupFile(state.BackUp{})
	require.NoError(f, err)
	f.Add([]byte(whole.Text))
	f.Fuzz(func(t *testing.T, text []byte) {
		r := fuzzed(t)
		require.NoError(t, r.store(mine, m))
		_, err := r.list(m)
		require.NoError(t, err)
		tries := [][]byte{text}
		var b jsonBackup
		if document.Format(text, limits) == backupFormat && json.Unmarshal(text, &b) == nil {
			b.Digest = b.digest()
			right, err := json.Marshal(b)
			require.NoError(t, err)
			tries = append(tries, right)
		}
		for _, each := range tries {
			once, err := r.takeIn(each)
			own, listed := r.own()
			require.NoError(t, listed)
			require.True(t, slices.ContainsFunc(own, func(o state.OwnModel) bool { return o.SHA256 == m.SHA256 }))
			for _, o := range own {
				kept, err := r.Storage.Model(o.SHA256)
				require.NoError(t, err)
				again, err := model.Load(kept)
				require.NoError(t, err, "a model that has a defect is listed")
				require.Equal(t, o.SHA256, again.SHA256)
			}
			if err != nil {
				told := tell(r, browser.File{Name: "x", Text: string(each)}, err)
				require.Positive(t, told.File.Count())
				for _, d := range told.File.Defects {
					require.NotEmpty(t, d.Found)
					if d.In != "" {
						continue // lines of a text inside
					}
					require.LessOrEqual(t, d.Line, 1+bytes.Count(each, []byte("\n")), "a line that the file does not have")
				}
			}
			here, aside, read := r.read("mine")
			require.NoError(t, read)
			require.Empty(t, aside)
			require.GreaterOrEqual(t, len(here.Events), 1)
			require.Equal(t, mine.Events[0], here.Events[0])
			var held []learn.Counts
			for _, family := range catalog.Heads() {
				all, err := r.lent(family.ID)
				require.NoError(t, err)
				held = append(held, all...)
			}
			for _, c := range held {
				require.NoError(t, learn.CheckCounts(document.NewReport(c.Encode()), r.cached(c.SHA256)), "what is held is of a model that is here")
			}
			units, listed := r.Storage.Units()
			require.NoError(t, listed)
			if err != nil && document.Format(each, limits) != backupFormat {
				require.Len(t, units, 1, "something of a refused file was kept")
				require.Len(t, own, 1, "something of a refused file was kept")
				require.Empty(t, held, "something of a refused file was kept")
			}
			for _, u := range units {
				_, aside, read := r.read(u.ID)
				require.NoError(t, read)
				require.Empty(t, aside)
				ids, read := r.Storage.PhotoIDs(u.ID)
				require.NoError(t, read)
				require.LessOrEqual(t, len(ids), browser.PhotosMost)
				for _, id := range ids {
					p, read := r.Storage.Photo(u.ID, id)
					require.NoError(t, read)
					require.True(t, p.Intact())
					_, fault := browser.BareJPEG([]byte(p.Image))
					require.NoError(t, fault, "what is stored is what was coded here")
				}
			}
			if err == nil {
				again, err := r.takeIn(each)
				require.NoError(t, err)
				require.Zero(t, again.New)
				require.Zero(t, again.Photos)
				require.Zero(t, again.Lent)
				require.Equal(t, once.Refused, again.Refused)
				require.Equal(t, again.Refused == 0, again.Same, "photographs that were refused are told again")
			}
		}
	})
}

// A jsonBackup is a backup as encoding/json reads it: a second reading of its form and digest.
type jsonBackup struct {
	Format   string            `json:"format"`
	Version  int               `json:"version"`
	Made     string            `json:"made"`
	Digest   string            `json:"sha256"`
	Units    []json.RawMessage `json:"units"`
	Archived []string          `json:"archived"`
	Models   map[string]string `json:"models"`
	Photos   []struct {
		Unit    string `json:"unit"`
		ID      string `json:"id"`
		At      string `json:"at"`
		Of      int    `json:"of"`
		Caption string `json:"caption"`
		Type    string `json:"type"`
		SHA256  string `json:"sha256"`
		Data    []byte `json:"data"`
	} `json:"photos,omitempty"`
	Listed []string          `json:"listed,omitempty"`
	Bench  string            `json:"bench,omitempty"`
	Counts []json.RawMessage `json:"counts,omitempty"`
}

func (b *jsonBackup) digest() string {
	h := sha256.New()
	part := func(s string) { h.Write(append([]byte(s), 0)) }
	compact := func(all []json.RawMessage) {
		for _, each := range all {
			var compact bytes.Buffer
			_ = json.Compact(&compact, each) // it was read
			part(compact.String())
		}
	}
	compact(b.Units)
	for _, sum := range slices.Sorted(maps.Keys(b.Models)) {
		part(b.Models[sum])
	}
	for _, p := range b.Photos {
		for _, s := range []string{p.Unit, p.ID, p.At, strconv.Itoa(p.Of), p.Caption, p.Type, p.SHA256} {
			part(s)
		}
	}
	for _, sum := range b.Listed {
		part(sum)
	}
	if b.Version >= 3 {
		part(b.Bench)
		compact(b.Counts)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// Another reader of JSON finds in a backup what was put into it, under the digest that it works out.
func TestABackupIsReadByAnotherReaderToo(t *testing.T) {
	m, err := model.Load(example(t))
	require.NoError(t, err)
	r := fuzzed(t)
	mine := &trail.Trail{ID: "mine", Created: "2026-03-04T10:11:12Z", Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Unit: trail.Unit{Label: "Grey \"one\" \\ \u2028"}, Terms: trail.Terms{Currency: "EUR"},
		Events: []trail.Event{{N: 1, At: "2026-03-04T10:12:00Z", Kind: trail.Note, Text: "hello } [ \\\" "}}}
	require.NoError(t, r.store(mine, m))
	var shot bytes.Buffer
	require.NoError(t, jpeg.Encode(&shot, image.NewGray(image.Rect(0, 0, 8, 8)), nil))
	require.NoError(t, r.Storage.AddPhoto(browser.PhotoRecord{Unit: "mine", ID: "01ARYZ6S410000000000000000", At: "2026-03-04T10:12:00Z", Of: 1, Caption: "<lens> \u00e9",
		Width: 8, Height: 8, Image: shot.String(), Small: shot.String()}.Sealed()))
	_, err = r.list(m)
	require.NoError(t, err)
	require.NoError(t, r.Storage.Archive("mine", true))
	require.NoError(t, r.Storage.Keep(state.SettingBench, "My <bench>"))
	lent := CountsOf(t, "tray", "shed", 12)
	_, _, err = r.lend(lent)
	require.NoError(t, err)
	f, _, whole, err := r.backupFile(state.BackUp{Photos: true})
	require.NoError(t, err)
	assert.True(t, whole)
	var b jsonBackup
	d := json.NewDecoder(strings.NewReader(f.Text))
	d.DisallowUnknownFields()
	require.NoError(t, d.Decode(&b))
	assert.Equal(t, b.digest(), b.Digest)
	assert.Equal(t, backupVersion, b.Version)
	require.Len(t, b.Units, 1)
	back, err := trail.Load(b.Units[0])
	require.NoError(t, err)
	assert.Equal(t, mine, back)
	assert.Equal(t, []string{"mine"}, b.Archived)
	assert.Equal(t, map[string]string{m.SHA256: string(m.Text)}, b.Models)
	assert.Equal(t, []string{m.SHA256}, b.Listed)
	assert.Equal(t, "My <bench>", b.Bench)
	require.Len(t, b.Counts, 1)
	there, err := learn.LoadCounts(b.Counts[0])
	require.NoError(t, err)
	assert.Equal(t, lent, there)
	require.Len(t, b.Photos, 1)
	assert.Equal(t, shot.Bytes(), b.Photos[0].Data)
	assert.Equal(t, "<lens> \u00e9", b.Photos[0].Caption)
	assert.Equal(t, 1, b.Photos[0].Of)
}

func example(t *testing.T) []byte {
	text, err := os.ReadFile("../../engine/model/testdata/example.json")
	require.NoError(t, err)
	return text
}

// tell returns what the person is told of an error.
func tell(r *Runner, f browser.File, err error) (told state.ImportFailed) {
	r.Send = func(m state.Msg) { told = m.(state.ImportFailed) }
	r.refused(f, err, false)
	r.Send = func(state.Msg) {}
	return told
}
