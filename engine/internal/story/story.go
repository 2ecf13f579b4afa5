// Package story reads the stories of units in testdata/stories, whose README explains
// each kind of line.
package story

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A Story is one unit, as a repairer would tell it.
type Story struct {
	Title   string
	Where   string         // file:line
	Tell    string         // what happened, in a sentence
	Truth   []model.ModeID // what was wrong when it came in
	Brought []model.ModeID // what the work brought in
	Slips   []int          // numbers of the results that were the operator's slips
	Events  []trail.Event
	Claims  []Claim
}

// A Claim is something that must hold once the first After events are recorded.
type Claim struct {
	Where string // file:line
	After int
	Kind  string // leads, trio, likely, sound, unsound, doubt, origin, never
	Words []string
}

// ErrForm says that a file of stories cannot be read.
var ErrForm = errors.New("story: form")

// Read reads the stories of one file; name is for places in messages.
func Read(r io.Reader, name string) ([]Story, error) {
	var all []Story
	lines := bufio.NewScanner(r)
	for n := 1; lines.Scan(); n++ {
		text, _, _ := strings.Cut(lines.Text(), "#")
		kind, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
		rest = strings.TrimSpace(rest)
		where := fmt.Sprintf("%s:%d", name, n)
		switch {
		case kind == "":
		case kind == "story":
			all = append(all, Story{Title: rest, Where: where})
		case len(all) == 0:
			return nil, fmt.Errorf("%w: %s: %q before the first story", ErrForm, where, kind)
		default:
			if err := all[len(all)-1].line(where, kind, rest); err != nil {
				return nil, fmt.Errorf("%w: %s: %w", ErrForm, where, err)
			}
		}
	}
	return all, lines.Err()
}

func (s *Story) line(where, kind, rest string) error {
	words := strings.Fields(rest)
	want := map[string]int{"slip": 1, "result": 2, "setup": 1, "repair": 1, "void": 1}
	if n, ok := want[kind]; ok && len(words) != n {
		return fmt.Errorf("%d words after %q, want %d", len(words), kind, n)
	}
	modes := func(to *[]model.ModeID) {
		for _, w := range words {
			*to = append(*to, model.ModeID(w))
		}
	}
	switch kind {
	case "truth":
		modes(&s.Truth)
	case "brought":
		modes(&s.Brought)
	case "tell":
		s.Tell = rest
	case "slip":
		n, err := strconv.Atoi(rest)
		if err != nil {
			return err
		}
		s.Slips = append(s.Slips, n)
	case "result":
		e := trail.Event{Kind: trail.Result, Test: model.TestID(words[0])}
		if x, err := strconv.ParseFloat(words[1], 64); err == nil {
			e.Reading = &x
		} else {
			e.Outcome = model.OutcomeID(words[1])
		}
		s.add(e)
	case "setup":
		s.add(trail.Event{Kind: trail.Setup, Setup: model.SetupID(rest)})
	case "repair":
		s.add(trail.Event{Kind: trail.Repair, Repair: model.RepairID(rest)})
	case "void":
		n, err := strconv.Atoi(rest)
		if err != nil {
			return err
		}
		s.add(trail.Event{Kind: trail.Void, Of: n, Reason: "looked again"})
	case "leads", "trio", "likely", "sound", "unsound", "doubt", "origin", "never":
		if len(words) == 0 {
			return fmt.Errorf("nothing after %q", kind)
		}
		s.Claims = append(s.Claims, Claim{Where: where, After: len(s.Events), Kind: kind, Words: words})
	default:
		return fmt.Errorf("unknown kind of line %q", kind)
	}
	return nil
}

func (s *Story) add(e trail.Event) {
	e.N = len(s.Events) + 1
	e.At = fmt.Sprintf("2026-01-01T%02d:%02d:00Z", 10+e.N/60, e.N%60)
	s.Events = append(s.Events, e)
}

// Trail returns the story's first n events as a trail under a model, by the terms that
// the README of the stories names; the tools are left out.
func (s *Story) Trail(m *model.Model, n int) *trail.Trail {
	return &trail.Trail{
		ID: "story", Created: "2026-01-01T10:00:00Z",
		Model:  trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Unit:   trail.Unit{Label: s.Title},
		Terms:  trail.Terms{MinuteValue: 0.25, Currency: "EUR", WorkingValue: 80, AsIsValue: 10, ComebackCost: 40},
		Events: s.Events[:n],
	}
}
