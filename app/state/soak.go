package state

import (
	"slices"
	"strings"

	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A Soak counts starts, or runs of any kind, for a test that takes many of them. It is
// kept with the marks, so that it outlives a page loaded anew and a locked device. It is
// no evidence: the person records the result.
type Soak struct {
	Test  model.TestID `json:"test"`
	Since string       `json:"since,omitempty"` // RFC 3339; "" until the runner has said it
	Runs  string       `json:"runs,omitempty"`  // a letter for each run, in order: good or failed
}

const (
	ranGood   = "+"
	ranFailed = "-"
	// mostRuns is how many runs a soak counts.
	mostRuns = 999
	// enoughRuns is from how many runs on a count that is all good or all failed stands
	// for a result.
	enoughRuns = 5
)

// Good returns how many runs were good.
func (s Soak) Good() int { return strings.Count(s.Runs, ranGood) }

// Failed returns how many runs failed.
func (s Soak) Failed() int { return strings.Count(s.Runs, ranFailed) }

// Soaks reports whether a test can take many runs: it has no reading, it is done on the
// unit closed as it came, and three quarters of all modes show in it, so that it is the
// whole unit that runs.
func Soaks(m *model.Model, t *model.Test) bool {
	return t.Reading == nil && t.At == m.Root && 4*len(t.Given) >= 3*len(m.Modes)
}

// Outcomes with these ids are those that a count of some failed and of all failed runs
// stands for, in any model.
const (
	someRuns model.OutcomeID = "some"
	noRuns   model.OutcomeID = "none"
)

// Fits returns the outcome of a test that the counts stand for, false if they stand for
// none: the best one if all runs were good, the one with the id "some" if some were, that
// with the id "none" if none was. Where a test tells other ways of failing apart, only the
// person has seen which.
func (s Soak) Fits(t *model.Test) (int, bool) {
	good, failed := s.Good(), s.Failed()
	switch {
	case s.Test != t.ID:
	case failed == 0 && good >= enoughRuns:
		return 0, true
	case good > 0 && failed > 0:
		return t.Outcome(someRuns)
	case failed >= enoughRuns:
		return t.Outcome(noRuns)
	}
	return 0, false
}

// soak handles the counter's messages.
func soak(s State, m Msg) (State, []Effect) {
	u := *s.Unit
	id := u.Trail.ID
	switch m := m.(type) {
	case StartSoak:
		u.Marks.Soak, u.Soaked = Soak{Test: m.Test}, 0
		s.Unit = &u
		return s, []Effect{RunSoak{ID: id}}
	case Soaked:
		if m.ID != id || u.Marks.Soak.Test == "" {
			return s, nil
		}
		fresh := u.Marks.Soak.Since != m.Since
		u.Marks.Soak.Since, u.Soaked = m.Since, m.Seconds
		s.Unit = &u
		if !fresh {
			return s, nil
		}
	case CountRun:
		if u.Marks.Soak.Test == "" || len(u.Marks.Soak.Runs) >= mostRuns {
			return s, nil
		}
		run := ranFailed
		if m.Good {
			run = ranGood
		}
		u.Marks.Soak.Runs += run
	case UndoRun:
		if n := len(u.Marks.Soak.Runs); n > 0 {
			u.Marks.Soak.Runs = u.Marks.Soak.Runs[:n-1]
		}
	case EndSoak:
		u.Marks.Soak, u.Soaked = Soak{}, 0
		s.Unit = &u
		return s, []Effect{StopSoak{}, KeepMarks{id, u.Marks}}
	}
	s.Unit = &u
	return s, []Effect{KeepMarks{id, u.Marks}}
}

// counted is the test that the counter counts for.
func (u *Unit) counted() (*model.Test, bool) {
	if u.Model == nil {
		return nil, false
	}
	return u.Model.Test(u.Marks.Soak.Test)
}

// counts says what was counted for a test, and in which time.
func counts(s State, t *model.Test) string {
	k := s.Unit.Marks.Soak
	return words.In(s.Lang).Say(words.SoakNoteText, words.Title(t.Words, t.ID), k.Good(), k.Failed(), words.Clocked(s.Unit.Soaked))
}

// soakOver clears the counter if one of the events ends what it counts for: the result
// of its test, a repair, the end of the unit.
func soakOver(u *Unit, events []trail.Event) []Effect {
	over := slices.ContainsFunc(events, func(e trail.Event) bool {
		return e.Kind == trail.Repair || e.Kind == trail.End || e.Kind == trail.Result && e.Test == u.Marks.Soak.Test
	})
	if u.Marks.Soak.Test == "" || !over {
		return nil
	}
	u.Marks.Soak, u.Soaked = Soak{}, 0
	return []Effect{StopSoak{}}
}
