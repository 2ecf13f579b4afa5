// Package evening plays whole units against a planner: what is truly wrong and what every
// test would show are written down, in testdata/evenings, whose README explains each line.
package evening

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"pitwise/engine/model"
)

// An Evening is one unit with its truth and what it shows.
type Evening struct {
	Title string
	Where string         // file:line
	Tell  string         // what is behind it, in a sentence
	Marks []string       // what it is an example of: two, intermittent, repair-fails, misled
	Truth []model.ModeID // what was wrong when it came in
	Told  []Said         // what the owner answers
	Needs []string       // tools without which it cannot end mended; "" if it can at any bench

	scenes []scene
	fails  map[model.RepairID]int            // how many first tries cure nothing
	brings map[string]map[int][]model.ModeID // by "repair ID" or "leave SETUP": faults that come in at that time
}

// Said is an answer of the owner.
type Said struct {
	Test    model.TestID
	Outcome model.OutcomeID
}

// A scene says what tests show while exactly these faults are present.
type scene struct {
	faults []model.ModeID // sorted
	shows  map[model.TestID][]string
}

// ErrForm says that a file of evenings cannot be read.
var ErrForm = errors.New("evening: form")

// Read reads the evenings of one file; name is for places in messages.
func Read(r io.Reader, name string) ([]Evening, error) {
	var all []Evening
	lines := bufio.NewScanner(r)
	for n := 1; lines.Scan(); n++ {
		text, _, _ := strings.Cut(lines.Text(), "#")
		kind, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
		rest = strings.TrimSpace(rest)
		where := fmt.Sprintf("%s:%d", name, n)
		switch {
		case kind == "":
		case kind == "evening":
			all = append(all, Evening{Title: rest, Where: where, fails: map[model.RepairID]int{}, brings: map[string]map[int][]model.ModeID{}})
		case len(all) == 0:
			return nil, fmt.Errorf("%w: %s: %q before the first evening", ErrForm, where, kind)
		default:
			if err := all[len(all)-1].line(kind, rest); err != nil {
				return nil, fmt.Errorf("%w: %s: %w", ErrForm, where, err)
			}
		}
	}
	return all, lines.Err()
}

func (e *Evening) line(kind, rest string) error {
	words := strings.Fields(rest)
	least := map[string]int{"truth": 1, "mark": 1, "told": 2, "show": 2, "fails": 1, "brings": 3, "needs": 1}
	if n := least[kind]; len(words) < n {
		return fmt.Errorf("%d words after %q, want %d or more", len(words), kind, n)
	}
	switch kind {
	case "truth":
		e.Truth = sorted(words)
		e.scene(e.Truth)
	case "mark":
		e.Marks = words
	case "needs":
		e.Needs = words
	case "tell":
		e.Tell = rest
	case "told":
		e.Told = append(e.Told, Said{model.TestID(words[0]), model.OutcomeID(words[1])})
	case "with": // nothing behind it: no fault is left
		e.scene(sorted(words))
	case "show":
		if len(e.scenes) == 0 {
			return errors.New(`"show" before "truth"`)
		}
		shows := e.scenes[len(e.scenes)-1].shows
		if shows[model.TestID(words[0])] != nil {
			return fmt.Errorf("%s is shown twice", words[0])
		}
		shows[model.TestID(words[0])] = words[1:]
	case "fails":
		n := 1
		if len(words) > 1 {
			var err error
			if n, err = strconv.Atoi(words[1]); err != nil {
				return err
			}
		}
		e.fails[model.RepairID(words[0])] = n
	case "brings": // brings repair clean-lens lens.unsprung [2]; brings leave open switch.missed [2]
		n := 1
		if len(words) > 3 {
			var err error
			if n, err = strconv.Atoi(words[3]); err != nil {
				return err
			}
		}
		key := words[0] + " " + words[1]
		if e.brings[key] == nil {
			e.brings[key] = map[int][]model.ModeID{}
		}
		e.brings[key][n] = append(e.brings[key][n], model.ModeID(words[2]))
	default:
		return fmt.Errorf("unknown kind of line %q", kind)
	}
	return nil
}

func (e *Evening) scene(faults []model.ModeID) {
	e.scenes = append(e.scenes, scene{faults, map[model.TestID][]string{}})
}

func sorted(words []string) []model.ModeID {
	var all []model.ModeID
	for _, w := range words {
		all = append(all, model.ModeID(w))
	}
	slices.Sort(all)
	return all
}

// Check returns what in the evening the model does not have.
func (e *Evening) Check(m *model.Model) []string {
	var all []string
	miss := func(ok bool, kind, id string) {
		if !ok {
			all = append(all, fmt.Sprintf("%s: no %s %q", e.Where, kind, id))
		}
	}
	modes := func(list []model.ModeID) {
		for _, id := range list {
			_, ok := m.Mode(id)
			miss(ok, "mode", string(id))
		}
	}
	modes(e.Truth)
	for _, s := range e.Told {
		t, ok := m.Test(s.Test)
		miss(ok && t.Told, "question", string(s.Test))
		if ok {
			_, ok = t.Outcome(s.Outcome)
			miss(ok, "answer to "+string(s.Test), string(s.Outcome))
		}
	}
	for _, s := range e.scenes {
		modes(s.faults)
		for id, shows := range s.shows {
			t, ok := m.Test(id)
			miss(ok && !t.Told, "test", string(id))
			for _, w := range shows {
				if _, err := strconv.ParseFloat(w, 64); ok && (err != nil || t.Reading == nil) {
					_, named := t.Outcome(model.OutcomeID(w))
					miss(named, "outcome of "+string(id), w)
				}
			}
		}
	}
	for id := range e.fails {
		_, ok := m.Repair(id)
		miss(ok, "repair", string(id))
	}
	for key, at := range e.brings {
		kind, id, _ := strings.Cut(key, " ")
		switch kind {
		case "repair":
			_, ok := m.Repair(model.RepairID(id))
			miss(ok, "repair", id)
		case "leave":
			_, ok := m.Setup(model.SetupID(id))
			miss(ok, "setup", id)
		default:
			miss(false, "way for a fault to come in", kind)
		}
		for _, list := range at {
			modes(list)
		}
	}
	slices.Sort(all)
	return all
}
