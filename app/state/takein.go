package state

import (
	"slices"

	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
)

// freshDraft is a unit that nothing is known of yet, of the family of the last one.
func freshDraft(s State) Draft {
	d := Draft{Model: s.Draft.Model, ModelID: s.Draft.ModelID, TermsDraft: s.freshTerms()}
	if d.Model != nil {
		d.Tools = s.ownTools(d.Model)
		d.TermsDraft = s.exchanged(d.TermsDraft, d.Model)
	}
	return d
}

// takeIn answers what concerns the unit that is being taken in.
func takeIn(s State, m Msg) (State, []Effect) {
	d := s.Draft
	w := words.In(s.Lang)
	var effects []Effect
	switch m := m.(type) {
	case PickModel:
		if m.ID == d.ModelID && d.Model != nil {
			return s, nil
		}
		d.ModelID, d.Model, d.Answers, d.Tools, d.Terms[TermExchange] = m.ID, nil, nil, nil, ""
		effects = []Effect{LoadModel(m)}
	case ModelLoaded:
		if m.ID != d.ModelID {
			return s, nil
		}
		d = s.loaded(d, m.Model)
		s.Draft = d
		return s, growing(s)
	case ModelFailed:
		return s.complain(TroubleModel, m.Detail), nil
	case SetLabel:
		d.Label = m.Text
	case SetNotes:
		d.Notes = m.Text
	case Answer:
		d = d.answered(m.Test, m.Outcome)
	case SetTool, SetCurrency, SetTerm:
		if d.Model == nil {
			return s, nil
		}
		d.TermsDraft = d.TermsDraft.set(w, d.Model, m)
		s.Draft = d
		effects = growing(s)
	case StartUnit:
		d.Tried = true
		if !d.Ready(w.Number) || d.Starting || s.Intake.Busy > 0 {
			s.Draft = d
			return s, nil
		}
		d.Starting = true
		t := d.Trail(w.Number)
		s.Draft = d
		s, keep := s.remember(t.Terms, d.Model)
		return s, []Effect{Create{Trail: t, Model: d.Model}, keep}
	}
	s.Draft = d
	return s, append(effects, d.keep())
}

// growing asks for what planning will need as soon as the terms are known, while the person
// still fills in the rest.
func growing(s State) []Effect {
	d, parse := s.Draft, words.In(s.Lang).Number
	if s.Route.Screen != ScreenIntake || d.Model == nil || len(d.Wrong(parse, d.Model)) > 0 {
		return nil
	}
	t := d.Trail(parse)
	t.Events = nil
	return []Effect{Grow{Trail: &t, Model: d.Model}}
}

// loaded puts the model of the draft's family into it. What a kept draft holds that the model
// does not have is left out.
func (s State) loaded(d Draft, m *model.Model) Draft {
	d.Model = catalog.Speak(m, s.Lang)
	if d.Tools == nil {
		d.Tools = s.ownTools(d.Model)
	} else {
		d.Tools = slices.DeleteFunc(slices.Clone(d.Tools), func(id model.ToolID) bool { _, ok := m.Tool(id); return !ok })
	}
	for test, outcome := range d.Answers {
		t, ok := m.Test(test)
		if ok {
			_, ok = t.Outcome(outcome)
		}
		if !ok {
			d = d.answered(test, outcome) // away with it
		}
	}
	d.TermsDraft = s.exchanged(d.TermsDraft, d.Model)
	return d
}

// set answers one change of terms.
func (d TermsDraft) set(w *words.Words, m *model.Model, msg Msg) TermsDraft {
	switch msg := msg.(type) {
	case SetTool:
		return d.withTool(m, msg.ID, msg.On)
	case SetCurrency:
		return d.in(w, msg.Code, m)
	case SetTerm:
		if msg.Term >= 0 && msg.Term < TermCount {
			d.Terms[msg.Term] = msg.Text
		}
	}
	return d
}

// created goes to a unit that was stored, and clears the intake if it was that.
func created(s State, m Created) (State, []Effect) {
	var effects []Effect
	if !m.Sample {
		s.Draft = freshDraft(s)
		s.Intake = Album{} // the runner has put them with the unit
		effects = append(effects, forget)
	}
	effects = append(effects, s.readBench(), GoTo{Route{Screen: ScreenUnit, Unit: m.Trail.ID}.Path()})
	if !s.Storage.Asked {
		effects = append(effects, Persist{})
	}
	return s, effects
}

// createFailed begins a unit all the same, in memory, with the export at hand.
func createFailed(s State, m CreateFailed) (State, []Effect) {
	s = letGo(s)
	s.Storage.Trouble = m.Trouble
	s.Unit = &Unit{Unit: bench.Unit{Trail: m.Trail, Model: m.Model}, Unsaved: len(m.Trail.Events), Trouble: m.Trouble}
	s.Absent = NoTrouble
	if !m.Sample {
		s.Draft = freshDraft(s)
		s = albumUnsaved(s)
	}
	s, effects := reckon(s)
	return s, append(effects, GoTo{Route{Screen: ScreenUnit, Unit: m.Trail.ID}.Path()})
}
