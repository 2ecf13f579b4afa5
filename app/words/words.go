package words

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// A Key names one sentence.
type Key string

// A Text is a sentence, with other forms of it where it counts something. It is data, so
// that a language costs the program nothing but its letters.
type Text struct {
	Say  string // %s and %d stand for the arguments in turn, %[2]s for the second, %% for a percent sign
	One  string // where argument Of is 1
	None string // where that argument is 0
	Of   int    // from 1
}

// Texts are the sentences of a language by key.
type Texts map[Key]Text

// A Language is one the page can speak.
type Language struct {
	ID   string // ISO 639-1
	Name string // in the language itself
	form Form
}

// Languages returns what the page can speak, English first.
func Languages() []Language { return slices.Clone(languages) }

// Words is one language to speak. It is safe for concurrent use.
type Words struct {
	Language
	texts Texts
}

// In returns the words of a language by its id, English if there are none.
func In(id string) *Words {
	texts := textsOf(id)
	i := slices.IndexFunc(languages, func(l Language) bool { return l.ID == id })
	if texts == nil || i < 0 {
		i, texts = 0, textsOf(languages[0].ID)
	}
	return &Words{languages[i], texts}
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
	t, ok := w.texts[k]
	if !ok {
		t = textsOf(languages[0].ID)[k]
	}
	return w.fill(t.form(args), args)
}

// form returns the form of a sentence that goes with its arguments.
func (t Text) form(args []any) string {
	if t.Of == 0 || t.Of > len(args) {
		return t.Say
	}
	switch n := args[t.Of-1]; {
	case n == 0 && t.None != "":
		return t.None
	case n == 1 && t.One != "":
		return t.One
	}
	return t.Say
}

// fill puts arguments in the place of a sentence's verbs.
func (w *Words) fill(sentence string, args []any) string {
	var b strings.Builder
	for next := 0; ; next++ {
		before, verb, found := strings.Cut(sentence, "%")
		b.WriteString(before)
		if !found || verb == "" {
			return b.String()
		}
		if verb[0] == '[' && len(verb) > 3 {
			next = int(verb[1] - '1')
			verb = verb[3:]
		}
		switch {
		case verb[0] == '%':
			b.WriteByte('%')
			next--
		case next < len(args):
			b.WriteString(w.written(args[next]))
		}
		sentence = verb[1:]
	}
}

// written is an argument as the language writes it.
func (w *Words) written(arg any) string {
	switch x := arg.(type) {
	case string:
		return x
	case int:
		return w.grouped(strconv.Itoa(x))
	}
	return fmt.Sprint(arg)
}
