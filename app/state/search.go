package state

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/plan"
)

// matches reports whether every word of the search stands in one of the texts,
// whatever the case. An empty search matches everything.
func matches(search string, texts ...string) bool {
	all := strings.ToLower(strings.Join(texts, "\n"))
	for _, word := range strings.Fields(strings.ToLower(search)) {
		if !strings.Contains(all, word) {
			return false
		}
	}
	return true
}

// FindSteps returns the steps on offer that the search over other steps finds: those by their titles
// first, then those that have it in what they tell to do, what may be seen, or what they are about, as a word's
// beginning before within a word.
func (u *Unit) FindSteps(lang string) []plan.Proposal {
	if strings.TrimSpace(u.Find) == "" {
		return u.Proposals
	}
	w := words.In(lang)
	var found [3][]plan.Proposal
	for _, p := range u.Proposals {
		title := w.Step(u.Model, p.Step)
		texts := append(u.tells(w, p.Step), title)
		switch {
		case mentions(u.Find, false, title):
			found[0] = append(found[0], p)
		case mentions(u.Find, true, texts...):
			found[1] = append(found[1], p)
		case mentions(u.Find, false, texts...):
			found[2] = append(found[2], p)
		}
	}
	return slices.Concat(found[:]...)
}

// few is how many faults a test may tell of to be a test of these.
const few = 3

// tells is what stands in a step beside its title, and what faults it is about.
func (u *Unit) tells(w *words.Words, s plan.Step) []string {
	var all []string
	says := func(w model.Words) { all = append(append(all, w.Title, w.Text, w.Why), w.Steps...) }
	switch s.Kind {
	case plan.DoTest:
		t := &u.Model.Tests[s.Index]
		says(t.Words)
		for i := range t.Outcomes {
			says(t.Outcomes[i].Words)
		}
		if len(t.Given) <= few {
			for i := range t.Given {
				all = append(all, u.fault(w, t.Given[i].Mode)...)
			}
		}
	case plan.DoRepair:
		r := &u.Model.Repairs[s.Index]
		says(r.Words)
		for _, c := range r.Change.Fixes {
			all = append(all, u.fault(w, c.Mode)...)
		}
	}
	return all
}

// fault names a fault, and where it is.
func (u *Unit) fault(w *words.Words, mode int) []string {
	place, _ := w.Place(u.Model.Components[u.Model.Modes[mode].Component].Place)
	return []string{words.Fault(u.Model, mode), place}
}

// mentions is matches for texts of the trade: a number and its unit, "5 V", are looked for as one, and not
// within "1.5 V"; begins asks for words only at their beginning.
func mentions(search string, begins bool, texts ...string) bool {
	all := plain(" " + strings.Join(texts, "\n"))
	has := strings.Contains
	if begins {
		has = hasBeginning
	}
	var number string
	for _, word := range strings.Fields(plain(search)) {
		if number != "" {
			if !hasQuantity(all, number+" "+word) {
				return false
			}
			number = ""
		} else if isNumber(word) {
			number = word
		} else if !has(all, word) {
			return false
		}
	}
	return number == "" || has(all, number)
}

// hasBeginning reports whether a word of the text begins so.
func hasBeginning(text, word string) bool {
	for i := strings.Index(text, word); i >= 0; {
		if before, _ := utf8.DecodeLastRuneInString(text[:i]); !unicode.IsLetter(before) && !unicode.IsDigit(before) {
			return true
		}
		next := strings.Index(text[i+1:], word)
		if next < 0 {
			return false
		}
		i += 1 + next
	}
	return false
}

// plain has one kind of space, and small letters.
func plain(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return ' '
		}
		return unicode.ToLower(r)
	}, text)
}

func isNumber(word string) bool {
	return strings.IndexFunc(word, func(r rune) bool { return !unicode.IsDigit(r) && r != '.' && r != ',' }) < 0
}

func hasQuantity(text, quantity string) bool {
	for i := strings.Index(text, quantity); i >= 0; {
		before, _ := utf8.DecodeLastRuneInString(text[:i])
		rest := text[i+len(quantity):]
		after, _ := utf8.DecodeRuneInString(rest)
		if !unicode.IsDigit(before) && before != '.' && before != ',' && !unicode.IsLetter(after) {
			return true
		}
		next := strings.Index(rest, quantity)
		if next < 0 {
			return false
		}
		i += len(quantity) + next
	}
	return false
}
