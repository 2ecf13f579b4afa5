package words

import (
	"slices"
	"strings"
	"sync"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/message/catalog"
)

// A Key names one sentence.
type Key string

// A Text is a sentence, with other forms of it where it counts something. It is data, so
// that a language costs the program nothing but its letters.
type Text struct {
	Say  string // as golang.org/x/text/message formats it
	One  string // for the plural form "one" of argument Of
	None string // where that argument is 0
	Of   int    // from 1
}

// Texts are the sentences of a language by key.
type Texts map[Key]Text

// A Language is one the page can speak.
type Language struct {
	ID    string // ISO 639-1
	Name  string // in the language itself
	tag   language.Tag
	texts Texts
	form  Form
}

// languages, the fallback first.
var languages = []Language{english, german, spanish, japanese}

// Languages returns what the page can speak, English first.
func Languages() []Language { return slices.Clone(languages) }

// Words is one language to speak. It is safe for concurrent use.
type Words struct {
	Language
	lock    sync.Mutex // of what follows
	printer *message.Printer
	catalog *catalog.Builder
	ready   map[Key]bool // in the catalog: a sentence is read when it is first said
}

var (
	spoken     = map[string]*Words{}
	spokenLock sync.Mutex
)

// In returns the words of a language by its id, English if there are none.
func In(id string) *Words {
	spokenLock.Lock()
	defer spokenLock.Unlock()
	if w, ok := spoken[id]; ok {
		return w
	}
	l := languages[0]
	for _, other := range languages {
		if other.ID == id {
			l = other
		}
	}
	b := catalog.NewBuilder(catalog.Fallback(l.tag))
	w := &Words{Language: l, printer: message.NewPrinter(l.tag, message.Catalog(b)), catalog: b, ready: map[Key]bool{}}
	spoken[id] = w
	return w
}

// Best returns the id of the language that fits a person's wishes best, most
// wanted first, each a BCP 47 tag such as "de-AT".
func Best(wishes ...string) string {
	for _, wish := range wishes {
		base, _, _ := strings.Cut(strings.ToLower(wish), "-")
		for _, l := range languages {
			if l.ID == base {
				return l.ID
			}
		}
	}
	return languages[0].ID
}

// Say returns the sentence of a key with its arguments.
func (w *Words) Say(k Key, args ...any) string {
	w.lock.Lock()
	defer w.lock.Unlock()
	if !w.ready[k] {
		t, ok := w.texts[k]
		if !ok {
			t, ok = languages[0].texts[k]
		}
		if !ok {
			return "" // no key, no sentence
		}
		if err := w.catalog.Set(w.tag, string(k), t.message()); err != nil {
			return string(k) // a test says every sentence of every language
		}
		w.ready[k] = true
	}
	return w.printer.Sprintf(string(k), args...)
}

// print writes values as the language does.
func (w *Words) print(values ...any) string {
	w.lock.Lock()
	defer w.lock.Unlock()
	return w.printer.Sprint(values...)
}

// message is the sentence as the catalog takes it.
func (t Text) message() catalog.Message {
	if t.Of == 0 {
		return catalog.String(t.Say)
	}
	var cases []any
	if t.None != "" {
		cases = append(cases, "=0", t.None)
	}
	if t.One != "" {
		cases = append(cases, "one", t.One)
	}
	return plural.Selectf(t.Of, "%d", append(cases, "other", t.Say)...)
}
