package runner

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A backup is the whole bench in one file: every unit's trail as it would be
// exported alone, and the text of each model once.
type backup struct {
	Format   string            `json:"format"`
	Version  int               `json:"version"`
	Made     string            `json:"made"`
	Digest   string            `json:"sha256"` // of units and models: see digest
	Units    []json.RawMessage `json:"units"`
	Archived []string          `json:"archived"`
	Models   map[string]string `json:"models"` // text by SHA-256
}

const (
	backupFormat  = "pitwise/bench"
	backupVersion = 1
)

// ErrBackup is wrapped by the errors of a backup that cannot be read in as it is.
var ErrBackup = errors.New("runner: backup")

// digest is the SHA-256 over the compact form of every unit in order and then the
// text of every model in order of its own checksum, each closed by a zero byte.
func (b *backup) digest() (string, error) {
	h := sha256.New()
	for i, u := range b.Units {
		var compact bytes.Buffer
		if err := json.Compact(&compact, u); err != nil {
			return "", fmt.Errorf("%w: units[%d]: %w", ErrBackup, i, err)
		}
		h.Write(append(compact.Bytes(), 0))
	}
	for _, sum := range sorted(b.Models) {
		h.Write(append([]byte(b.Models[sum]), 0))
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

func sorted(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// backUp hands the whole bench over as one file.
func (r *Runner) backUp(way state.Way) {
	f, err := r.backupFile()
	if err == nil {
		err = r.hand(f, way)
	}
	switch {
	case errors.Is(err, browser.ErrDismissed):
	case err != nil:
		r.Send(state.TakeFailed{Detail: err.Error()})
	default:
		r.Send(state.Taken{Way: way, At: r.stamp()})
	}
}

func (r *Runner) backupFile() (browser.File, error) {
	b := backup{Format: backupFormat, Version: backupVersion, Made: r.stamp(), Units: []json.RawMessage{}, Archived: []string{}, Models: map[string]string{}}
	units, err := r.Storage.Units()
	if err != nil {
		return browser.File{}, err
	}
	for _, u := range units {
		t, _, err := r.read(u.ID)
		if errors.Is(err, browser.ErrRecord) {
			continue // what cannot be read is taken away from its own screen
		}
		if err != nil {
			return browser.File{}, err
		}
		b.Units = append(b.Units, json.RawMessage(t.Encode()))
		if u.Archived {
			b.Archived = append(b.Archived, u.ID)
		}
		if m, err := r.modelOf(t.Model); err == nil {
			b.Models[m.SHA256] = string(m.Text)
		}
	}
	if b.Digest, err = b.digest(); err != nil {
		return browser.File{}, err
	}
	text, err := json.MarshalIndent(b, "", "  ")
	if err != nil {
		return browser.File{}, err
	}
	day, _, _ := strings.Cut(b.Made, "T")
	return browser.File{Name: "pitwise-bench-" + day + ".json", Type: "application/json", Text: string(text) + "\n"}, nil
}

// isBackup reports whether a text says that it is a backup.
func isBackup(text []byte) bool {
	var head struct {
		Format string `json:"format"`
	}
	return json.Unmarshal(text, &head) == nil && head.Format == backupFormat
}

// takeInBackup stores every unit of a backup that is not here, and what is new of
// those that are. A unit that cannot be taken in does not hold up the others; the
// first such error comes back with what was done.
func (r *Runner) takeInBackup(text []byte) (state.Imported, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	var b backup
	if err := d.Decode(&b); err != nil {
		return state.Imported{}, fmt.Errorf("%w: %w", ErrBackup, err)
	}
	if b.Version != backupVersion {
		return state.Imported{}, fmt.Errorf("%w: version %d, want %d", ErrBackup, b.Version, backupVersion)
	}
	sum, err := b.digest()
	if err != nil {
		return state.Imported{}, err
	}
	if sum != b.Digest {
		return state.Imported{}, fmt.Errorf("%w: sha256 %s, want %s: the file was changed or cut", ErrBackup, sum, b.Digest)
	}
	for _, sum := range sorted(b.Models) {
		m, err := model.Load([]byte(b.Models[sum]))
		if err != nil {
			return state.Imported{}, fmt.Errorf("%w: models[%q]: %w", ErrBackup, sum, err)
		}
		r.cache(m)
	}
	all := state.Imported{Same: true, Bench: true}
	var first error
	for i, u := range b.Units {
		t, err := trail.Load(u)
		if err != nil {
			first = cmpOr(first, fmt.Errorf("%w: units[%d]: %w", ErrBackup, i, err))
			continue
		}
		one, err := r.takeInTrail(t)
		if err != nil {
			first = cmpOr(first, fmt.Errorf("%w: units[%d]: %w", ErrBackup, i, err))
			continue
		}
		all.New += one.New
		all.Same = all.Same && one.Same
		if !one.Same && slices.Contains(b.Archived, t.ID) {
			first = cmpOr(first, r.Storage.Archive(t.ID, true))
		}
	}
	return all, first
}

func cmpOr(first, next error) error {
	if first != nil {
		return first
	}
	return next
}
