package state

import (
	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/trail"
	"pitwise/engine/worth"
)

// Weighing is where the page stands with what tools are worth on this bench. Units are played beside the
// page, and what they say gets finer as long as they are.
type Weighing struct {
	Model     string // id of the model; "" while nothing was asked
	Turn      int    // rises with every asking; answers of an older one are dropped
	Busy      bool
	Done, All int          // games of the round under way
	Base      *model.Model // what is played by; nil until it is loaded
	Terms     trail.Terms
	Units     int          // played of each game; 0 before the first round is over
	Tools     []worth.Tool // what they save, the most first
	Failed    bool
}

type (
	// WeighTools asks what tools are worth for the model of that id.
	WeighTools struct{ Model string }
	// StopWeighing ends that; what was found stays.
	StopWeighing struct{}
	// WeighingWith says by which model and terms units are played.
	WeighingWith struct {
		Turn  int
		Base  *model.Model
		Terms trail.Terms
	}
	// Weighed is how far it is, and, with Units, what was found so far.
	Weighed struct {
		Turn      int
		Done, All int
		Units     int
		Tools     []worth.Tool
		Over      bool // no more is played
		Failed    bool // it cannot be done
	}
)

// Weigh plays units for what tools are worth; answered by WeighingWith and by Weighed again and again. A
// newer Weigh, Reckon or Rest ends it.
type Weigh struct {
	Turn   int
	Choice string // a model as PickModel names it
	Lang   string
	Draft  TermsDraft
	Tools  []model.ToolID // at hand, of any model
}

// Terms are those of Weigh for a model.
func (e Weigh) Terms(m *model.Model) trail.Terms {
	w := words.In(e.Lang)
	d := e.Draft
	d.Tools = toolsOf(m, e.Tools)
	d = d.exchanged(w, m)
	return d.Value(w.Number, m)
}

// weighing answers what concerns the worth of tools.
func weighing(s State, m Msg) (State, []Effect) {
	w := s.Weighing
	switch m := m.(type) {
	case WeighTools:
		s.Weighing = Weighing{Model: m.Model, Turn: w.Turn + 1, Busy: true}
		return s, []Effect{Weigh{Turn: w.Turn + 1, Choice: s.choice(m.Model), Lang: s.Lang, Draft: s.freshTerms(), Tools: s.Remembered.Tools}}
	case StopWeighing:
		if w.Busy {
			s.Weighing.Busy = false
			s.Weighing.Turn++
			return s, []Effect{Rest{}}
		}
	case WeighingWith:
		if m.Turn == w.Turn {
			s.Weighing.Base, s.Weighing.Terms = m.Base, m.Terms
		}
	case Weighed:
		if m.Turn != w.Turn {
			return s, nil
		}
		s.Weighing.Done, s.Weighing.All = m.Done, m.All
		s.Weighing.Busy, s.Weighing.Failed = !m.Over && !m.Failed, m.Failed
		if m.Units > 0 {
			s.Weighing.Units, s.Weighing.Tools = m.Units, m.Tools
		}
	}
	return s, nil
}

// choice is the model that a unit of that id is begun with: the person's own numbers where there are some.
func (s State) choice(id string) string {
	if own, ok := s.InUse(id); ok {
		return own.SHA256
	}
	return id
}
