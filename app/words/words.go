package words

import (
	"slices"
	"strings"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/message/catalog"
)

// A Key names one sentence.
type Key string

// Texts are the sentences of a language by key.
type Texts map[Key]catalog.Message

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

// Words speak one language. They are safe for use by one goroutine at a time.
type Words struct {
	Language
	printer *message.Printer
	catalog *catalog.Builder
	ready   map[Key]bool // in the catalog: a sentence is read when it is first said
}

var spoken = map[string]*Words{}

// In returns the words of a language by its id, English if there are none.
func In(id string) *Words {
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
	if !w.ready[k] {
		m, ok := w.texts[k]
		if !ok {
			m, ok = languages[0].texts[k]
		}
		if !ok {
			return "" // no key, no sentence
		}
		if err := w.catalog.Set(w.tag, string(k), m); err != nil {
			return string(k) // a test says every sentence of every language
		}
		w.ready[k] = true
	}
	return w.printer.Sprintf(string(k), args...)
}

// say is a plain sentence.
func say(s string) catalog.Message { return catalog.String(s) }

// count chooses between sentences by the plural form of the argument with the
// given number: count(1, "one", "%d step", "other", "%d steps").
func count(arg int, cases ...any) catalog.Message {
	return plural.Selectf(arg, "%d", cases...)
}
