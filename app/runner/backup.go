package runner

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/document"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A backup is the whole bench in one file, or one unit of it: every unit's trail as it
// would be exported alone, and the text of each model once. Version 2 may hold
// photographs; a file without any is written as version 1, which older pages read too.
type backup struct {
	Format   string            `json:"format"`
	Version  int               `json:"version"`
	Made     string            `json:"made"`
	Digest   string            `json:"sha256"` // of units and models: see digest
	Units    []json.RawMessage `json:"units"`
	Archived []string          `json:"archived"`
	Models   map[string]string `json:"models"`           // text by SHA-256
	Photos   []filedPhoto      `json:"photos,omitempty"` // of the units; from version 2 on
	Listed   []string          `json:"listed,omitempty"` // SHA-256 of the own models to begin units with; from version 2 on
}

const (
	backupFormat  = "pitwise/bench"
	backupPlain   = 1 // without photographs and listed models
	backupVersion = 2
)

// ErrBackup is wrapped by the errors of a backup that cannot be read in as it is.
var ErrBackup = errors.New("runner: backup")

// digest is the SHA-256 over the compact form of every unit in order and then the
// text of every model in order of its own checksum, and then what is said of every
// photograph, with its own checksum, in order, and the listed models; each closed by a
// zero byte.
func (b *backup) digest() (string, error) {
	h := sha256.New()
	for i, u := range b.Units {
		var compact bytes.Buffer
		if err := json.Compact(&compact, u); err != nil {
			return "", fmt.Errorf("%w: units[%d]: %w", ErrBackup, i, err)
		}
		h.Write(append(compact.Bytes(), 0))
	}
	for _, sum := range slices.Sorted(maps.Keys(b.Models)) {
		h.Write(append([]byte(b.Models[sum]), 0))
	}
	for _, p := range b.Photos {
		for _, part := range []string{p.Unit, p.ID, p.At, strconv.Itoa(p.Of), p.Caption, p.Type, p.SHA256} {
			h.Write(append([]byte(part), 0))
		}
	}
	for _, sum := range b.Listed {
		h.Write(append([]byte(sum), 0))
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

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
	return &backup{Format: backupFormat, Version: backupPlain, Made: r.stamp(), Units: []json.RawMessage{}, Archived: []string{}, Models: map[string]string{}}
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
		whole := *t
		whole.ModelText = ""
		b.Units = append(b.Units, json.RawMessage(whole.Encode()))
		all.unit(t)
		if archived {
			b.Archived = append(b.Archived, t.ID)
		}
		if m != nil {
			b.Models[m.SHA256] = string(m.Text)
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
			b.Models[m.SHA256] = string(m.Text)
			b.Listed = append(b.Listed, m.SHA256)
			b.Version = backupVersion
			all.model(m.SHA256)
		}
	}
	for _, p := range b.Photos {
		all.photo(p.Unit, p.ID)
	}
	day, _, _ := strings.Cut(b.Made, "T")
	f, err = b.sealed("pitwise-bench-" + day)
	return f, all.sum(), broken == nil, err
}

// sealed makes the file of a backup.
func (b *backup) sealed(name string) (browser.File, error) {
	var err error
	if b.Digest, err = b.digest(); err != nil {
		return browser.File{}, err
	}
	text, err := json.MarshalIndent(b, "", "  ")
	if err != nil {
		return browser.File{}, err
	}
	if len(text) >= FileLimit {
		return browser.File{}, errTooMuch
	}
	return browser.File{Name: name + ".json", Type: "application/json", Text: string(text) + "\n"}, nil
}

// takeInBackup stores every unit of a backup that is not here, and what is new of
// those that are. A unit that cannot be taken in does not hold up the others; all
// that is wrong with any comes back with what was done.
func (r *Runner) takeInBackup(text []byte) (state.Imported, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	var b backup
	if err := d.Decode(&b); err != nil {
		read := document.NewReport(text)
		if _, ok := read.Read(limits); !ok || read.Len() > 0 {
			return state.Imported{}, read.Err(ErrBackup) // no JSON: that says more
		}
		return state.Imported{}, fmt.Errorf("%w: %w", ErrBackup, err)
	}
	if b.Version < backupPlain || b.Version > backupVersion || b.Version == backupPlain && (b.Photos != nil || b.Listed != nil) {
		return state.Imported{}, fmt.Errorf("%w: version %d, want %d, or %d with photographs", ErrBackup, b.Version, backupPlain, backupVersion)
	}
	sum, err := b.digest()
	if err != nil {
		return state.Imported{}, err
	}
	if sum != b.Digest {
		return state.Imported{}, fmt.Errorf("%w: sha256 %s, want %s: the file was changed or cut", ErrBackup, sum, b.Digest)
	}
	var wrong refusal
	own := map[string]*model.Model{}
	for _, sum := range slices.Sorted(maps.Keys(b.Models)) {
		m, err := model.Load([]byte(b.Models[sum]))
		if err != nil {
			wrong.add(&partError{"models[" + document.Quote(sum) + "]", err}, nil, "", position{})
			continue
		}
		own[m.SHA256] = m
	}
	if wrong.cause != nil {
		return state.Imported{}, &wrong
	}
	for _, m := range own {
		r.cache(m)
	}
	in, err := r.newIntake(len(b.Units) + len(b.Photos))
	if err != nil {
		return state.Imported{}, err
	}
	all := state.Imported{Same: true, Bench: len(b.Units) != 1 || b.Version == backupPlain}
	var offsets []int
	refuse := func(i int, u []byte, err error) {
		if offsets == nil {
			offsets = unitOffsets(text)
		}
		start := position{1, 1}
		if i < len(offsets) {
			start = positionOf(text, offsets[i])
		}
		place := fmt.Sprintf("units[%d]", i)
		wrong.cause = cmpOr(wrong.cause, fmt.Errorf("%w: %s: %w", ErrBackup, place, err))
		wrong.add(err, u, place, start)
	}
	away := map[string]bool{}
	for _, id := range b.Archived {
		away[id] = true
	}
	ours := map[string]bool{} // units that are those of the file
	r.claimed = &claim{models: b.Listed}
	for i, u := range b.Units {
		if err := in.step(); err != nil {
			return state.Imported{}, err
		}
		t, err := trail.Load(u)
		if err != nil {
			refuse(i, u, err)
			r.claimed.lost++
			continue
		}
		r.claimed.unit(t)
		one, err := in.trail(t, away[t.ID])
		switch {
		case err == nil:
		case ofFile(err):
			refuse(i, u, err)
			continue
		default:
			return state.Imported{}, err
		}
		ours[t.ID] = true
		all.ID = t.ID
		all.New += one.New
		all.Same = all.Same && one.Same
	}
	for _, p := range b.Photos {
		r.claimed.photos = append(r.claimed.photos, [2]string{p.Unit, p.ID})
	}
	if err := in.takePhotos(&all, b.Photos, ours); err != nil {
		return state.Imported{}, err
	}
	if err := in.store(); err != nil {
		return state.Imported{Same: true}, err
	}
	var failed error // of the storage
	for _, sum := range b.Listed {
		if m := own[sum]; m != nil {
			same, err := r.list(m)
			failed = cmpOr(failed, err)
			all.Same = all.Same && same
			if err == nil && !same {
				all.Listed++
			}
		}
	}
	if failed == nil && wrong.cause != nil {
		return all, &wrong
	}
	return all, failed
}

func cmpOr(first, next error) error {
	if first != nil {
		return first
	}
	return next
}
