package stories

import (
	"fmt"

	"pitwise/app/state"
	"pitwise/engine/learn"
)

// numbers is a bench that has learnt from eight units that went as the story's evening did.
func numbers() *stage {
	s := evening()
	m, t := s.state.Unit.Model.Original(), *s.state.Unit.Trail
	l, err := learn.New(m)
	if err != nil {
		panic(err) // a story of a model that is not shipped
	}
	for i := range 8 {
		t.ID = fmt.Sprint("unit ", i)
		if err := l.Add(&t); err != nil {
			panic(err)
		}
	}
	fit, err := l.Fit(learn.Options{})
	if err == nil {
		err = fit.Intervals(learn.Sweeps{Warm: 5, Keep: 20})
	}
	if err != nil {
		panic(err)
	}
	fresh, err := fit.Model()
	if err != nil {
		panic(err)
	}
	taught, err := l.Taught(fit, "unit 7", learn.Options{})
	if err != nil {
		panic(err)
	}
	account := fit.Account()
	return s.send(state.Navigated{Path: "/numbers"}, state.LearnFrom{Model: m.ID}, state.Learnt{Model: m.ID, Account: &account, Base: m, Latest: "Grey one", Taught: taught, Text: fresh.Text})
}
