package state

import (
	"slices"

	"pitwise/engine/plan"
)

// The messages about reading aloud.
type (
	// VoicesKnown are the languages of the page for which the device has a voice of its own.
	VoicesKnown struct{ Langs []string }
	// ReadAloud reads the texts one after the other.
	ReadAloud struct{ Texts []string }
	// StopAloud ends that.
	StopAloud struct{}
	// ReadOut: what had this turn is read, or could not be.
	ReadOut struct{ Turn int }
)

// The effects about reading aloud.
type (
	// Speak reads texts with a voice of the device; answered by ReadOut.
	Speak struct {
		Lang  string
		Texts []string
		Turn  int
	}
	// Hush ends it.
	Hush struct{}
)

// Speech is what is being read aloud.
type Speech struct {
	Langs []string // for which the device has a voice of its own
	On    bool
	Turn  int // tells what was read before from what is being read
}

// Can reports whether a language is read aloud on this device.
func (s Speech) Can(lang string) bool { return slices.Contains(s.Langs, lang) }

func aloud(s State, m Msg) (State, []Effect) {
	switch m := m.(type) {
	case VoicesKnown:
		s.Speech.Langs = m.Langs
	case ReadAloud:
		if !s.Speech.Can(s.Lang) {
			return s, nil
		}
		s.Speech.On = true
		s.Speech.Turn++
		return s, []Effect{Speak{Lang: s.Lang, Texts: m.Texts, Turn: s.Speech.Turn}}
	case StopAloud:
		return s.hushed()
	case ReadOut:
		if m.Turn == s.Speech.Turn {
			s.Speech.On = false
		}
	}
	return s, nil
}

func (s State) hushed() (State, []Effect) {
	if !s.Speech.On {
		return s, nil
	}
	s.Speech.On = false
	return s, []Effect{Hush{}}
}

// reads is what a step that is read aloud belongs to: once it changes, the reading ends.
type reads struct {
	route           Route
	lang, unit      string
	turn, seen      int
	chosen, inPlace bool
	step            plan.Step
	sheet           Sheet
}

func (s State) reads() reads {
	r := reads{route: s.Route, lang: s.Lang}
	if u := s.Unit; u != nil {
		r.unit, r.turn, r.seen, r.chosen, r.inPlace, r.step, r.sheet = u.Trail.ID, u.Turn, len(u.Marks.Seen), u.HasChosen, u.InPlace, u.Chosen, u.Sheet
	}
	return r
}
