package catalog

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"sync"

	"pitwise/engine/model"
)

// An Entry is one shipped model.
type Entry struct {
	ID       string
	Title    string
	Revision string
	SHA256   string // of the model's text, lower-case hexadecimal
}

// ErrUnknown says that no shipped model has the id.
var ErrUnknown = errors.New("catalog: no shipped model of that id")

//go:embed parts/*.json families/*.json
var files embed.FS

//go:embed exceptions.json
var exceptions []byte

// Exceptions returns what package lint is to let pass in the shipped models, with the
// reasons, in the form that lint.ReadExceptions reads. It must not be changed.
func Exceptions() []byte { return exceptions }

// families is the order in which Models lists them.
var families = []string{"top-loader", "tray", "slot-in"}

// One model is composed when it is first asked for, and kept.
type composed struct {
	once  sync.Once
	takes []string          // the parts it is made of
	twins map[string]string // by the id of a twin: the test that it is one of
	text  []byte
	entry Entry
	err   error
}

var (
	all      = make([]composed, len(families))
	embedded = sync.OnceValues(func() (*shelf, error) { return newShelf(files) })
)

// Models lists the shipped models. It composes them all.
func Models() []Entry {
	entries := make([]Entry, 0, len(families))
	for i := range families {
		if m := get(i); m.err == nil {
			entries = append(entries, m.entry)
		}
	}
	return entries
}

// Text returns the exact text of a shipped model. It must not be changed.
func Text(id string) ([]byte, bool) {
	i, ok := find(id)
	if !ok {
		return nil, false
	}
	m := get(i)
	return m.text, m.err == nil
}

// Load loads a shipped model. The error is ErrUnknown if there is none of that id;
// the package's tests hold that there is no other.
func Load(id string) (*model.Model, error) {
	i, ok := find(id)
	if !ok {
		return nil, fmt.Errorf("%w: %q", ErrUnknown, id)
	}
	m := get(i)
	if m.err != nil {
		return nil, m.err
	}
	return model.Load(m.text)
}

func find(id string) (int, bool) {
	for i, name := range families {
		if name == id {
			return i, true
		}
	}
	return 0, false
}

func get(i int) *composed {
	m := &all[i]
	m.once.Do(func() {
		var s *shelf
		if s, m.err = embedded(); m.err != nil {
			return
		}
		name := "families/" + families[i] + ".json"
		var text []byte
		if text, m.err = files.ReadFile(name); m.err != nil {
			return
		}
		family := read(name, text, familyForm)
		if m.text, m.err = compose(family, s); m.err != nil {
			return
		}
		for _, v := range family.root.Get("takes").Items() {
			m.takes = append(m.takes, textOf(v))
		}
		m.twins = map[string]string{}
		for _, v := range family.root.Get("twins").Items() {
			m.twins[textOf(v.Get("id"))] = textOf(v.Get("of"))
		}
		sum := sha256.Sum256(m.text)
		m.entry = Entry{
			ID:       textOf(family.root.Get("id")),
			Title:    textOf(family.root.Get("title")),
			Revision: textOf(family.root.Get("revision")),
			SHA256:   hex.EncodeToString(sum[:]),
		}
	})
	return m
}

// newShelf reads every part of a file system.
func newShelf(files fs.FS) (*shelf, error) {
	names, err := fs.Glob(files, "parts/*.json")
	if err != nil {
		return nil, err
	}
	s := &shelf{parts: map[string]*file{}}
	for _, name := range names {
		text, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, err
		}
		id := strings.TrimSuffix(strings.TrimPrefix(name, "parts/"), ".json")
		s.order = append(s.order, id)
		s.parts[id] = read(name, text, partForm)
	}
	return s, nil
}
