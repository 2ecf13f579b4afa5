package state

import (
	"pitwise/engine/learn"
	"pitwise/engine/model"
)

// Learning is where the page stands with learning numbers from the bench's own units. It
// changes no number: what was learnt waits in it until the person takes it or leaves it.
type Learning struct {
	Model   string // id of the model that is learnt for; "" while nothing is asked
	Busy    bool
	Done    int // rounds so far, where Of is not known
	Of      int // how many times Done will have to be told: of draws, or of parts that are judged
	Units   int // trails that are learnt from
	Account *learn.Account
	Base    *model.Model   // the model that was learnt for
	Latest  string         // label of the unit that ended last; "" if none has
	Taught  []learn.Figure // what that one taught: with it, and as shipped without it
	Text    []byte         // of the model with the learnt numbers
	Failed  LearnTrouble

	Judging bool         // it is worked out how often the odds were right, in place of learning
	Trial   *learn.Trial // what came of that; of no units if no unit names its causes

	Giving bool          // this bench's counts are asked for, in place of learning; its name first if it has none
	Give   *learn.Counts // what came of that
}

// LearnTrouble says why nothing was learnt.
type LearnTrouble string

const (
	LearnNone  LearnTrouble = "none"  // there are no units of that model
	LearnOther LearnTrouble = "other" // the storage or a trail stood in the way
)

type (
	// LearnFrom asks to learn for the model of that id from all of its units.
	LearnFrom struct{ Model string }
	// LearnOn says how far that is.
	LearnOn struct {
		Model           string
		Done, Of, Units int // Of is 0 where nobody knows how many rounds there will be
	}
	// Learnt is what came of it. Nothing is stored yet.
	Learnt struct {
		Model   string
		Account *learn.Account
		Base    *model.Model
		Latest  string
		Taught  []learn.Figure
		Text    []byte
	}
	LearnFailed struct {
		Model   string
		Trouble LearnTrouble
	}
	// JudgeUnits asks how often the odds were right on the units of the model of that id.
	JudgeUnits struct{ Model string }
	// Judged says how often.
	Judged struct {
		Model string
		Trial *learn.Trial
	}
	TakeLearnt  struct{} // the yes: new units may be begun with the learnt numbers
	LeaveLearnt struct{} // the no, or no more
)

type (
	// Learn learns for a model, with the counts of all benches that are held but that of the name Bench; answered by
	// LearnOn now and then, and by Learnt or LearnFailed.
	Learn struct{ Model, Bench string }
	// Judge holds the odds of units against their causes; answered by LearnOn now and then, and by Judged or
	// LearnFailed.
	Judge struct{ Model, Bench string }
	// StopLearning ends a Learn, Judge or CountFor that is under way, which then has no answer.
	StopLearning struct{}
	// ListModel puts a model's text on the list of own models; answered by Imported or ImportFailed.
	// With Spans, what learning told of its numbers is kept beside it.
	ListModel struct {
		Text  []byte
		Spans []learn.Figure
	}
)

// learnStep answers what concerns learning. Answers to what is no longer asked change nothing.
func learnStep(s State, m Msg) (State, []Effect) {
	switch m := m.(type) {
	case LearnFrom:
		s.Learning = Learning{Model: m.Model, Busy: true}
		return s, []Effect{Learn{m.Model, s.BenchName()}}
	case JudgeUnits:
		s.Learning = Learning{Model: m.Model, Busy: true, Judging: true}
		return s, []Effect{Judge{m.Model, s.BenchName()}}
	case Judged:
		if s.Learning.Busy && s.Learning.Model == m.Model {
			s.Learning.Busy, s.Learning.Trial = false, m.Trial
		}
	case LearnOn:
		if s.Learning.Busy && s.Learning.Model == m.Model {
			s.Learning.Done, s.Learning.Of, s.Learning.Units = m.Done, m.Of, m.Units
		}
	case Learnt:
		if s.Learning.Busy && s.Learning.Model == m.Model {
			s.Learning.Busy, s.Learning.Account, s.Learning.Base, s.Learning.Text = false, m.Account, m.Base, m.Text
			s.Learning.Units, s.Learning.Latest, s.Learning.Taught = m.Account.Units, m.Latest, m.Taught
			return s, []Effect{ShowTop{}}
		}
	case LearnFailed:
		if s.Learning.Busy && s.Learning.Model == m.Model {
			s.Learning = Learning{Model: m.Model, Failed: m.Trouble}
		}
	case TakeLearnt:
		if text := s.Learning.Text; text != nil {
			spans := s.Learning.Account.Moved
			s.Learning = Learning{}
			return s, []Effect{ListModel{text, spans}}
		}
	case LeaveLearnt:
		busy := s.Learning.Busy
		s.Learning = Learning{}
		if busy {
			return s, []Effect{StopLearning{}}
		}
	}
	return s, nil
}

// InUse is the model that units of that id are begun with where its numbers are the bench's or the person's
// own: of those the one that came last.
func (s State) InUse(id string) (last OwnModel, ok bool) {
	for _, m := range s.Own {
		if m.ID == id && (m.Learnt || m.Mine) && (!ok || Later(m.Added, last.Added)) {
			last, ok = m, true
		}
	}
	return last, ok
}

// inUse is its SHA-256; "" if they are as shipped.
func (s State) inUse(id string) string {
	m, _ := s.InUse(id)
	return m.SHA256
}

// LearntModels are the own models that were learnt for the model of that id, the newest first:
// to forget them is to go back.
func (s State) LearntModels(id string) []OwnModel {
	var all []OwnModel
	for _, m := range s.Own {
		if m.ID == id && m.Learnt {
			all = append(all, m)
		}
	}
	return all
}
