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
	b := catalog.NewBuilder(catalog.Fallback(languages[0].tag))
	for _, each := range []Language{languages[0], l} {
		for k, m := range each.texts {
			if err := b.Set(each.tag, string(k), m); err != nil {
				panic("words: " + each.ID + ": " + string(k) + ": " + err.Error()) // held by a test
			}
		}
	}
	w := &Words{Language: l, printer: message.NewPrinter(l.tag, message.Catalog(b))}
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
	return w.printer.Sprintf(string(k), args...)
}

// say is a plain sentence.
func say(s string) catalog.Message { return catalog.String(s) }

// count chooses between sentences by the plural form of the argument with the
// given number: count(1, "one", "%d step", "other", "%d steps").
func count(arg int, cases ...any) catalog.Message {
	return plural.Selectf(arg, "%d", cases...)
}
