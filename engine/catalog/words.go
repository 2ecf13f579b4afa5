package catalog

import (
	"bytes"
	"cmp"
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"sync"

	"pitwise/engine/model"
)

// A phrase is a text, or the texts of a list of steps.
type phrase []string

// UnmarshalJSON reads a text or a list of texts.
func (p *phrase) UnmarshalJSON(text []byte) error {
	if text[0] == '[' {
		return json.Unmarshal(text, (*[]string)(p))
	}
	*p = phrase{""}
	return json.Unmarshal(text, &(*p)[0])
}

type wordFile struct {
	Format string            `json:"format"`
	Lang   string            `json:"lang"`
	Of     string            `json:"of"` // the part or family
	Texts  map[string]phrase `json:"texts"`
}

func readWords(lang, part string) (wordFile, error) {
	var f wordFile
	name := "words/" + lang + "/" + part + ".json"
	text, taken := takenWords[name]
	if !taken {
		var err error
		if text, err = wordFiles.ReadFile(name); err != nil {
			return f, err
		}
	}
	err := json.Unmarshal(text, &f)
	return f, err
}

// Words returns the texts of the shipped models in a language, for TakeWords: a line a file, its
// name, a tab and what it holds.
func Words(lang string) []byte {
	dir := "words/" + lang
	entries, _ := wordFiles.ReadDir(dir)
	var b bytes.Buffer
	for _, e := range entries {
		name := dir + "/" + e.Name()
		text, _ := wordFiles.ReadFile(name)
		b.WriteString(name + "\t")
		_ = json.Compact(&b, text) // the tests read every file
		b.WriteByte('\n')
	}
	return b.Bytes()
}

// TakeWords takes what Words returned, in a program that has English alone in it: see wordFiles.
func TakeWords(lines []byte) {
	wordsLock.Lock()
	defer wordsLock.Unlock()
	for line := range bytes.Lines(lines) {
		if name, text, ok := bytes.Cut(line, []byte("\t")); ok {
			takenWords[string(name)] = text
		}
	}
	clear(wordings)
	clear(titles)
}

// A wording is every text of a family in one language, by key.
type wording map[string]phrase

var (
	wordsLock  sync.Mutex             // of what follows
	takenWords = map[string][]byte{}  // by the name that the file has where it is inside
	wordings   = map[string]wording{} // by language and family
	titles     = map[string]string{}  // of families, by language and family; "" where there is none
)

// wordingOf gathers the words of the parts that a family takes; its own come last and
// stand in the place of a part's. It is empty in a language that there is none for.
func wordingOf(lang string, i int) wording {
	wordsLock.Lock()
	defer wordsLock.Unlock()
	key := lang + "/" + families[i]
	if w, ok := wordings[key]; ok {
		return w
	}
	w := wording{}
	for _, part := range append(slices.Clone(get(i).takes), families[i]) {
		f, err := readWords(lang, part)
		if err != nil {
			w = wording{}
			break
		}
		for key, p := range f.Texts {
			w[key] = p
		}
	}
	for twin, of := range get(i).twins {
		w.twin("tests/"+twin+"/", "tests/"+of+"/")
	}
	w.fill()
	wordings[key] = w
	return w
}

// twin gives a twin the words of the test that it is one of, where it has none of its own.
func (w wording) twin(twin, of string) {
	for key, p := range maps.Clone(w) {
		if rest, ok := strings.CutPrefix(key, of); ok && w[twin+rest] == nil {
			w[twin+rest] = p
		}
	}
}

// fill puts the family's words in: {load} becomes the text of words/load.
func (w wording) fill() {
	var pairs []string
	for key, p := range w {
		if name, ok := strings.CutPrefix(key, "words/"); ok {
			pairs = append(pairs, "{"+name+"}", p[0])
		}
	}
	r := strings.NewReplacer(pairs...)
	for key, p := range w {
		filled := make(phrase, len(p))
		for i, s := range p {
			filled[i] = r.Replace(s)
		}
		w[key] = filled
	}
}

// Speak returns a model with its texts in another language, as far as they are shipped
// ones: a text that differs from the shipped model of the same id stays as it is, and so
// does every text of a model that is not shipped. "en" gives the texts of the file.
func Speak(m *model.Model, lang string) *model.Model {
	m = m.Original()
	i, ok := find(m.ID)
	if !ok || get(i).err != nil {
		return m
	}
	w := wordingOf(lang, i)
	if len(w) == 0 {
		return m
	}
	if m.SHA256 == get(i).entry.SHA256 {
		return m.Reworded(func(key string, is model.Words) model.Words { return w.of(key, is, is) })
	}
	shipped, err := model.Load(get(i).text)
	if err != nil {
		return m
	}
	ours := map[string]model.Words{}
	shipped.Reworded(func(key string, was model.Words) model.Words {
		ours[key] = was
		return was
	})
	return m.Reworded(func(key string, is model.Words) model.Words { return w.of(key, is, ours[key]) })
}

// of returns the texts of a block in this wording: each that is as it was shipped.
func (w wording) of(key string, is, was model.Words) model.Words {
	if key != "" {
		key += "/"
	}
	one := func(field, is, was string) string {
		if p := w[key+field]; len(p) == 1 && is != "" && is == was {
			return p[0]
		}
		return is
	}
	is.Title, is.Text, is.Why = one("title", is.Title, was.Title), one("text", is.Text, was.Text), one("why", is.Why, was.Why)
	if p := w[key+"steps"]; len(p) > 0 && len(p) == len(is.Steps) && slices.Equal(is.Steps, was.Steps) {
		is.Steps = p
	}
	return is
}

// Say returns a text of the shipped model of that id in a language, by its key as in the files of words:
// "repairs/clean-lens/title". "" if there is none.
func Say(id, key, lang string) string {
	i, ok := find(id)
	if !ok || get(i).err != nil {
		return ""
	}
	return strings.Join(wordingOf(lang, i)[key], "\n")
}

// Title returns the title of a model of that id in a language, if it is the shipped one's,
// and else as it is.
func Title(id, title, lang string) string {
	i, ok := find(id)
	if !ok || lang == "en" || !slices.ContainsFunc(heads(), func(e Entry) bool { return e.ID == id && e.Title == title }) {
		return title
	}
	wordsLock.Lock()
	defer wordsLock.Unlock()
	key := lang + "/" + families[i]
	t, ok := titles[key]
	if !ok {
		// The family's own texts are enough: nothing is composed for a title.
		if f, err := readWords(lang, families[i]); err == nil && len(f.Texts["title"]) == 1 {
			t = f.Texts["title"][0]
		}
		titles[key] = t
	}
	return cmp.Or(t, title)
}
