package state

import (
	"cmp"
	"slices"
	"strings"

	"pitwise/engine/learn"
)

// Lending is what the bench has to do with other benches: their counts, which learning takes in.
type Lending struct {
	Held []Lent
	Out  []learn.Counts // of one bench each, taken out since the screen was opened
}

// Lent are counts of other benches, all of the numbers of one model.
type Lent struct {
	learn.Counts
	Stale bool // the model that is here has other numbers: they are not used
}

// Counts of other benches, and those of this one.
type (
	// LentRead is all that is held for the model of that id; counts of no bench stand for those that are all out.
	LentRead struct {
		Model string
		Held  []Lent
	}
	// DropBench takes the counts of one bench, of that text of a model, out; as an effect it is answered by
	// LentRead or StorageChanged.
	DropBench struct{ Model, SHA256, ID string }
	// RestoreBench brings them back.
	RestoreBench struct{ Model, SHA256, ID string }
	// A TakenCounts is what a file of counts brought.
	TakenCounts struct {
		Benches int // that the file is of
		LentRead
	}
	SetBench struct{ Text string } // the name of this bench
	// BenchNamed is the name that is kept: a bench had it that was read in, or another window gave it.
	BenchNamed struct{ Text string }
	// GiveCounts asks for this bench's counts for the model of that id, and for its name if it has none.
	GiveCounts struct{ Model string }
	NameBench  struct{} // ask for another name
	CountUnits struct{} // the name is right
	// Counted is what there is to give: of this bench, and of those that were taken in.
	Counted struct {
		Model  string
		Counts learn.Counts
	}
)

type (
	// ReadLent reads what is held; answered by a LentRead for each family.
	ReadLent struct{}
	// Lend takes counts in; answered by LentRead or StorageChanged.
	Lend struct{ Counts learn.Counts }
	// CountFor counts the units of a model under the name of this bench; answered by LearnOn now and then, and by
	// Counted or LearnFailed.
	CountFor struct{ Model, Bench string }
	// TakeCounts hands counts over; answered by Taken or TakeFailed. As a message it has the way alone.
	TakeCounts struct {
		Way    Way
		Bench  string // the name of this one
		Counts learn.Counts
	}
)

// SettingBench is the setting under which the name of this bench is kept.
const SettingBench = "bench"

// BenchName is the name by which other benches tell this one, "" if it has none.
func (s State) BenchName() string { return strings.TrimSpace(Printable(s.Bench)) }

// lending answers what concerns other benches.
func lending(s State, m Msg) (State, []Effect) {
	switch m := m.(type) {
	case LentRead:
		s.Lending = s.Lending.with(m)
	case DropBench:
		if one, ok := s.Lending.bench(m.SHA256, m.ID); ok {
			s.Lending.Out = append(slices.Clip(s.Lending.Out), one)
			return s, []Effect{m}
		}
	case RestoreBench:
		for _, c := range s.Lending.Out {
			if c.SHA256 == m.SHA256 && c.Benches[0].ID == m.ID {
				return s, []Effect{Lend{c}}
			}
		}
	case SetBench:
		s.Bench = m.Text
		return s, []Effect{KeepSetting{Key: SettingBench, Value: m.Text}}
	case BenchNamed:
		s.Bench = cmp.Or(s.Bench, m.Text) // what is being typed is kept next
	case GiveCounts:
		var effects []Effect
		if s.Learning.Busy {
			effects = []Effect{StopLearning{}}
		}
		s.Learning = Learning{Model: m.Model, Giving: true}
		if s.BenchName() == "" {
			return s, effects
		}
		s, count := s.count()
		return s, append(effects, count...)
	case NameBench:
		if s.Learning.Giving && !s.Learning.Busy {
			s.Learning.Give = nil
		}
	case CountUnits:
		return s.count()
	case Counted:
		if l := s.Learning; l.Busy && l.Giving && l.Model == m.Model {
			s.Learning.Busy, s.Learning.Give = false, &m.Counts
		}
	case TakeCounts:
		if give := s.Learning.Give; give != nil {
			return s, []Effect{TakeCounts{m.Way, s.BenchName(), *give}}
		}
	}
	return s, nil
}

// count asks for what there is to give, under the name that the bench has.
func (s State) count() (State, []Effect) {
	name := s.BenchName()
	if !s.Learning.Giving || s.Learning.Busy || name == "" {
		return s, nil
	}
	s.Learning.Busy, s.Learning.Give = true, nil
	return s, []Effect{CountFor{s.Learning.Model, name}}
}

// bench returns what is held of one bench.
func (l Lending) bench(sha256, id string) (learn.Counts, bool) {
	for _, h := range l.Held {
		if h.SHA256 != sha256 {
			continue
		}
		for _, b := range h.Benches {
			if b.ID == id {
				one := h.Counts
				one.Benches = []learn.Bench{b}
				return one, true
			}
		}
	}
	return learn.Counts{}, false
}

// with puts what is held for a model in the place of what was.
func (l Lending) with(m LentRead) Lending {
	held := m.Held
	for _, h := range l.Held {
		if h.Model != m.Model {
			held = append(held, h)
		}
	}
	l.Held = held
	return l
}

// A Lender is a bench whose counts are held, or were just taken out.
type Lender struct {
	ID     string
	Units  int
	SHA256 string // of the model's text
	Stale  bool   // not used: the model that is here has other numbers
	Own    bool   // not used: it has the name of this bench
	Out    bool
}

// Lenders are those for the model of that id, by their names: one that is taken out keeps its place.
func (s State) Lenders(model string) (all []Lender) {
	for _, held := range s.Lending.Held {
		c := held.Counts
		for _, out := range s.Lending.Out {
			if both, err := learn.Merge(c, out); err == nil { // else it is of another model
				c = both
			}
		}
		for _, b := range c.Benches {
			if _, in := s.Lending.bench(c.SHA256, b.ID); c.Model == model {
				all = append(all, Lender{b.ID, b.Units, c.SHA256, held.Stale, b.ID == s.BenchName(), !in})
			}
		}
	}
	return all
}

// countsTaken says what a file of counts brought, and goes to where they are.
func countsTaken(s State, m Imported) (State, []Effect) {
	s = s.notify(NoticeLent, "", m.Counts.Benches)
	if m.Same {
		s = s.notify(NoticeSame, "", 0)
	}
	s.Lending = s.Lending.with(m.Counts.LentRead)
	effects := []Effect{DismissLater{s.Notice.Serial}}
	if s.Route.Screen != ScreenNumbers {
		effects = append(effects, GoTo{Route{Screen: ScreenNumbers}.Path()})
	}
	return s, effects
}
