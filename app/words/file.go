package words

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"sync"

	"pitwise/engine/catalog"
)

// held are the texts by language, made or taken when the language is first wanted.
var held = struct {
	sync.Mutex
	texts map[string]Texts
}{texts: map[string]Texts{}}

// textsOf returns the texts of a language, nil if this program does not have them.
func textsOf(id string) Texts {
	held.Lock()
	defer held.Unlock()
	t, ok := held.texts[id]
	if make := inside[id]; !ok && make != nil {
		t = make()
		held.texts[id] = t
	}
	return t
}

// Has reports whether this program has a language, so that In returns its words.
func Has(id string) bool { return textsOf(id) != nil }

// File returns all that a program needs to speak a language that it does not have in it, for
// Take: the texts of the page in a line, those of the shipped models in the others.
func File(id string) ([]byte, error) {
	text, err := json.Marshal(textsOf(id))
	if err != nil {
		return nil, fmt.Errorf("words: %w", err)
	}
	return fmt.Appendf(nil, "%s\t%s\n%s", id, text, catalog.Words(id)), nil
}

// Files returns the File of every language that the page's program does not have in it, by name.
func Files() (map[string][]byte, error) {
	files := map[string][]byte{}
	for _, l := range languages[1:] {
		text, err := File(l.ID)
		if err != nil {
			return nil, err
		}
		files[l.ID+".txt"] = text
	}
	return files, nil
}

// ErrFile says that a file is no language's.
var ErrFile = errors.New("words: not the file of a language")

// Take takes what File returned.
func Take(file []byte) error {
	own, models, _ := bytes.Cut(file, []byte("\n"))
	id, text, _ := bytes.Cut(own, []byte("\t"))
	var t Texts
	if err := json.Unmarshal(text, &t); err != nil || len(id) == 0 || len(t) == 0 {
		return ErrFile
	}
	catalog.TakeWords(models)
	held.Lock()
	defer held.Unlock()
	held.texts[string(id)] = t
	return nil
}
