package runner

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"hash"
	"iter"
	"maps"
	"slices"
	"strconv"
	"strings"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/document"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A backup is the whole bench in one file, or one unit of it: every unit's trail as it
// would be exported alone, and the text of each model once. Version 2 may hold
// photographs, version 3 counts of other benches; a file is written as the first version that holds what is in it,
// which older pages read too.
type backup struct {
	version  int
	made     string
	units    [][]byte
	archived []string
	models   map[string]string // text by SHA-256
	photos   []filedPhoto      // of the units; from version 2 on
	listed   []string          // SHA-256 of the own models to begin units with; from version 2 on
	bench    string            // the name of this bench among others; from version 3 on
	counts   [][]byte          // of other benches; from version 3 on
}

const (
	backupFormat  = "pitwise/bench"
	backupPlain   = 1 // without photographs and listed models
	backupAlone   = 2 // without other benches
	backupVersion = 3
)

// ErrBackup is wrapped by the errors of a backup that cannot be read in as it is.
var ErrBackup = errors.New("runner: backup")

// backupShape is the form of the outer levels; units and photographs are parts of their own.
var backupShape = &document.Record{Name: "bench", Fields: []document.Field{
	{Name: "format", Shape: document.Text{Enum: []string{backupFormat}}, Required: true},
	{Name: "version", Shape: document.Real{Whole: true, Least: document.Bound(backupPlain), Most: document.Bound(backupVersion)}, Required: true},
	{Name: "made", Shape: document.Text{}, Required: true},
	{Name: "sha256", Shape: document.Text{Form: trail.DigestForm}, Required: true},
	{Name: "units", Shape: document.Items{Each: document.Any{}}, Required: true},
	{Name: "archived", Shape: document.Items{Each: document.Text{}}, Required: true},
	{Name: "models", Shape: document.Map{Each: document.Text{}}, Required: true},
	{Name: "photos", Shape: document.Items{Each: document.Any{}}, Since: backupAlone},
	{Name: "listed", Shape: document.Items{Each: document.Text{}}, Since: backupAlone},
	{Name: "bench", Shape: document.Text{Form: learn.BenchForm}, Since: backupVersion},
	{Name: "counts", Shape: document.Items{Each: document.Any{}}, Since: backupVersion},
}}

// A sealer works out the digest of a backup: the SHA-256 over the compact form of every
// unit in order and then the text of every model in order of its own checksum, and then
// what is said of every photograph, with its own checksum, in order, and the listed
// models, and from version 3 on the name of the bench and the compact form of all counts; each closed by a zero byte.
type sealer struct{ hash.Hash }

func newSealer() sealer { return sealer{sha256.New()} }

func (s sealer) part(text []byte) {
	s.Write(text)
	s.Write([]byte{0})
}

// compact adds JSON texts.
func (s sealer) compact(all iter.Seq[[]byte]) {
	var compact []byte
	for text := range all {
		compact = document.AppendCompact(compact[:0], text)
		s.part(compact)
	}
}

// rest adds all but the units.
func (s sealer) rest(b *backup) {
	for _, sum := range slices.Sorted(maps.Keys(b.models)) {
		s.part([]byte(b.models[sum]))
	}
	for _, p := range b.photos {
		for _, part := range []string{p.unit, p.id, p.at, strconv.Itoa(p.of), p.caption, p.kind, p.sha256} {
			s.part([]byte(part))
		}
	}
	for _, sum := range b.listed {
		s.part([]byte(sum))
	}
	if b.version >= backupVersion {
		s.part([]byte(b.bench))
		s.compact(slices.Values(b.counts))
	}
}

func (s sealer) digest() string { return hex.EncodeToString(s.Sum(nil)) }

// backUp hands the whole bench over as one file.
func (r *Runner) backUp(e state.BackUp) {
	f, held, whole, err := r.backupFile(e)
	if err == nil {
		err = r.hand(f, e.Way)
	}
	if r.told(state.Taken{Way: e.Way, Bench: whole, Held: held}, err) && whole {
		_ = r.Storage.Keep(backedKey, r.stamp()) // if it is not kept the person is asked once more
	}
}

// newBackup returns one that holds nothing yet.
func (r *Runner) newBackup() *backup {
	return &backup{version: backupPlain, made: r.stamp(), models: map[string]string{}}
}

// unit puts a unit and its model, if it is there, into a backup.
func (b *backup) unit(t *trail.Trail, m *model.Model) {
	whole := *t
	whole.ModelText = ""
	b.units = append(b.units, bytes.TrimSpace(whole.Encode()))
	if m != nil {
		b.models[m.SHA256] = string(m.Text)
	}
}

// backupFile makes it, and says what it holds. Where the storage does not answer at all it holds what
// is in memory, and is not the whole bench.
func (r *Runner) backupFile(e state.BackUp) (f browser.File, held *state.Held, whole bool, err error) {
	b := r.newBackup()
	var all inventory
	memory := map[string]*state.Unit{} // what of it is not in the storage goes along
	for _, u := range e.Memory {
		memory[u.Trail.ID] = u
	}
	units, broken := r.Storage.Units()
	if broken != nil && len(memory) == 0 {
		return f, nil, false, broken
	}
	put := func(t *trail.Trail, m *model.Model, archived bool) error {
		b.unit(t, m)
		all.unit(t)
		if archived {
			b.archived = append(b.archived, t.ID)
		}
		if e.Photos {
			return r.file(b, t.ID)
		}
		return nil
	}
	for _, u := range units {
		if in := memory[u.ID]; in != nil {
			delete(memory, u.ID)
			if err := put(in.Trail, in.Model, u.Archived); err != nil {
				return f, nil, false, err
			}
			continue
		}
		t, _, err := r.read(u.ID)
		if errors.Is(err, browser.ErrRecord) {
			continue // what cannot be read is taken away from its own screen
		}
		if err != nil {
			return f, nil, false, err
		}
		m, err := r.modelOf(t.Model)
		if err != nil {
			m = nil
		}
		if err := put(t, m, u.Archived); err != nil {
			return f, nil, false, err
		}
	}
	for _, id := range slices.Sorted(maps.Keys(memory)) {
		if err := put(memory[id].Trail, memory[id].Model, false); err != nil {
			return f, nil, false, err
		}
	}
	own, err := r.own()
	if err != nil && broken == nil {
		return f, nil, false, err
	}
	for _, o := range own {
		if m, err := r.modelOf(trail.ModelRef{SHA256: o.SHA256}); err == nil {
			b.models[m.SHA256] = string(m.Text)
			b.listed = append(b.listed, m.SHA256)
			b.version = backupAlone
			all.model(m.SHA256)
		}
	}
	if err := r.fileCounts(b, &all); err != nil && broken == nil {
		return f, nil, false, err
	}
	for _, p := range b.photos {
		all.photo(p.unit, p.id)
	}
	day, _, _ := strings.Cut(b.made, "T")
	f, err = b.sealed("pitwise-bench-" + day)
	return f, all.sum(), broken == nil, err
}

// sealed makes the file of a backup.
func (b *backup) sealed(name string) (browser.File, error) {
	seal := newSealer()
	seal.compact(slices.Values(b.units))
	seal.rest(b)
	w := document.Writer{Indent: "  "}
	texts := func(key string, all []string) {
		w.Key(key).List(true)
		for _, each := range all {
			w.String(each)
		}
		w.End()
	}
	w.Object(true)
	w.Key("format").String(backupFormat).Key("version").Int(b.version).Key("made").String(b.made).Key("sha256").String(seal.digest())
	w.Key("units").List(true)
	for _, u := range b.units {
		w.Raw(string(u))
	}
	w.End()
	texts("archived", b.archived)
	w.Key("models").Object(true)
	for _, sum := range slices.Sorted(maps.Keys(b.models)) {
		w.Key(sum).String(b.models[sum])
	}
	w.End()
	if len(b.photos) > 0 {
		w.Key("photos").List(true)
		for i := range b.photos {
			b.photos[i].write(&w)
		}
		w.End()
	}
	if len(b.listed) > 0 {
		texts("listed", b.listed)
	}
	if b.bench != "" {
		w.Key("bench").String(b.bench)
	}
	if len(b.counts) > 0 {
		w.Key("counts").List(true)
		for _, c := range b.counts {
			w.Raw(string(c))
		}
		w.End()
	}
	w.End()
	text := append(w.Bytes(), '\n')
	if len(text) > FileLimit {
		return browser.File{}, errTooMuch
	}
	return browser.File{Name: name + ".json", Type: "application/json", Text: string(text)}, nil
}
