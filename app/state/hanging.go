package state

import (
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// Hanging is what the leading suspect and the proposed step of a unit hang on. It is worked out when it is
// asked for, and stands until the unit is worked out anew.
type Hanging struct {
	Busy, Failed bool
	Lead         *learn.Hangs
	Step         *learn.StepHangs
}

type (
	// AskHangs asks for it.
	AskHangs struct{}
	// Hung is what was found; nothing if it cannot be worked out.
	Hung struct {
		ID   string
		Turn int
		Lead *learn.Hangs
		Step *learn.StepHangs
	}
)

// Hang works it out; answered by Hung. A newer Reckon or Rest ends it.
type Hang struct {
	ID    string
	Turn  int
	Trail *trail.Trail
	Model *model.Model
}

// hanging answers what concerns it.
func hanging(s State, m Msg) (State, []Effect) {
	u := *s.Unit
	switch m := m.(type) {
	case AskHangs:
		if u.Model == nil || u.Account == nil || u.Hanging.Busy {
			return s, nil
		}
		u.Hanging = Hanging{Busy: true}
		s.Unit = &u
		return s, []Effect{Hang{u.Trail.ID, u.Turn, u.Trail, u.Model}}
	case Hung:
		if m.ID == u.Trail.ID && m.Turn == u.Turn {
			u.Hanging = Hanging{Failed: m.Lead == nil, Lead: m.Lead, Step: m.Step}
		}
	}
	s.Unit = &u
	return s, nil
}
