package state

import (
	"strings"

	"pitwise/app/words"
	"pitwise/engine/learn"
	"pitwise/engine/model"
)

// Figures is the model whose numbers are on the screen.
type Figures struct {
	Model   string         // id; "" while nothing was asked
	Now     *model.Model   // as units are begun with it; nil until loaded
	Shipped *model.Model   // as it was shipped
	SHA256  string         // of Now, if it is not as shipped
	Spans   []learn.Figure // what learning told of the numbers that moved, with their intervals; nil if it is not known
	Failed  bool

	Edit   *learn.Figure // the number that is asked about
	Text   string        // of 100, as typed
	Reason string
	Busy   bool   // it is being put into the model
	Wrong  string // the engine's words on why it cannot be
}

// A Subject is what numbers are about.
type Subject string

const (
	SubjectMode   Subject = "mode"
	SubjectTest   Subject = "test"
	SubjectRepair Subject = "repair"
)

var subjects = []Subject{SubjectMode, SubjectTest, SubjectRepair}

type (
	// FiguresRead is the model of that id as it is used, and as it was shipped.
	FiguresRead struct {
		Model        string
		Now, Shipped *model.Model
		Spans        []learn.Figure
		Failed       bool
	}
	// EditFigure asks for a number of one's own; the zero Figure leaves it.
	EditFigure struct{ Figure learn.Figure }
	SetFigure  struct{ Text string }
	SetReason  struct{ Text string }
	// KeepFigure puts it into the model.
	KeepFigure struct{}
	// FigureKept says that it is in, or in the engine's words why not.
	FigureKept struct {
		Model string
		Wrong string
		Own   []OwnModel
	}
)

type (
	// ReadFigures reads a model; answered by FiguresRead.
	ReadFigures struct{ Model, Choice string }
	// Override puts a number of one's own into a model; answered by FigureKept.
	Override struct {
		Model string
		Now   *model.Model
		Own   learn.Own
	}
)

// Share is the number that was typed, of 1.
func (f Figures) Share(w *words.Words) (float64, bool) {
	x, err := w.Number(f.Text)
	return x / 100, err == nil && x > 0 && x < 100
}

// figures answers what concerns the numbers of a model.
func figures(s State, m Msg) (State, []Effect) {
	f := &s.Figures
	switch m := m.(type) {
	case FiguresRead:
		if m.Model == f.Model {
			*f = Figures{Model: m.Model, Now: m.Now, Shipped: m.Shipped, Spans: m.Spans, Failed: m.Failed}
			if m.Now != nil && m.Now.SHA256 != m.Shipped.SHA256 {
				f.SHA256 = m.Now.SHA256
			}
		}
	case EditFigure:
		f.Edit, f.Text, f.Reason, f.Wrong = nil, "", "", ""
		if m.Figure.Kind != "" {
			f.Edit = &m.Figure
		}
		return s, []Effect{ShowTop{}}
	case SetFigure:
		f.Text, f.Wrong = m.Text, ""
	case SetReason:
		f.Reason = m.Text
	case KeepFigure:
		p, ok := f.Share(words.In(s.Lang))
		if f.Edit == nil || f.Busy || !ok || strings.TrimSpace(f.Reason) == "" {
			return s, nil
		}
		own := learn.Own{Figure: *f.Edit, Reason: strings.TrimSpace(f.Reason)}
		own.P = p
		f.Busy = true
		return s, []Effect{Override{f.Model, f.Now, own}}
	case FigureKept:
		if m.Model != f.Model || !f.Busy {
			return s, nil
		}
		if f.Busy, f.Wrong = false, m.Wrong; m.Wrong != "" {
			return s, nil
		}
		id := f.Model
		same := s.Draft.ModelID == "" || s.family(s.Draft.ModelID) == id // as the list was
		s.Own = m.Own
		s, effects := s.readFigures(id)
		if same {
			s, picked := takeIn(s, PickModel{ID: s.choice(id)})
			return s, append(effects, picked...)
		}
		return s, effects
	}
	return s, nil
}

// family is the id of the model that a choice at intake names.
func (s State) family(choice string) string {
	for _, m := range s.Own {
		if m.SHA256 == choice {
			return m.ID
		}
	}
	return choice
}

// readFigures asks for the numbers of a model.
func (s State) readFigures(id string) (State, []Effect) {
	s.Figures = Figures{Model: id}
	return s, []Effect{ReadFigures{id, s.choice(id)}, ShowTop{}}
}
