package runner

import (
	"pitwise/app/state"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// learn learns for the shipped model of that id from all units that were begun with it, in any
// revision: one of its own numbers too. It stores nothing.
func (r *Runner) learn(id string, turn int64) {
	failed := func(t state.LearnTrouble) { r.Send(state.LearnFailed{Model: id, Trouble: t}) }
	stopped := func() bool {
		r.Device.Yield()
		return r.learning.Load() != turn
	}
	m, err := r.shipped(id)
	if err != nil {
		failed(state.LearnOther)
		return
	}
	l, err := learn.New(m)
	if err != nil {
		failed(state.LearnOther)
		return
	}
	units, err := r.Storage.Units()
	if err != nil {
		failed(state.LearnOther)
		return
	}
	latest, label, at := "", "", "" // the unit that ended last
	for _, u := range units {
		if stopped() {
			return
		}
		t, damaged, err := r.read(u.ID)
		if err != nil || len(damaged) > 0 || t.Model.ID != id || u.ID == state.SampleID {
			continue // a unit that cannot be read whole teaches nothing
		}
		// One that does not fit this revision is left out; its own screen says more.
		if l.Add(t) != nil {
			continue
		}
		live := t.Live()
		for i := range t.Events {
			if e := &t.Events[i]; live[i] && e.Kind == trail.End && e.At >= at {
				latest, label, at = t.ID, t.Unit.Label, e.At
			}
		}
	}
	if l.Len() == 0 {
		failed(state.LearnNone)
		return
	}
	n := l.Len()
	fit, err := l.Fit(learn.Options{Stop: stopped, Told: func(round int) { r.Send(state.LearnOn{Model: id, Done: round, Units: n}) }})
	if err == nil {
		err = fit.Intervals(learn.Sweeps{Warm: 20, Keep: 150, Seed: 1, Stop: stopped})
	}
	var taught []learn.Figure
	if err == nil && latest != "" {
		taught, err = l.Taught(fit, latest, learn.Options{Stop: stopped})
	}
	if r.learning.Load() != turn {
		return
	}
	var fresh *model.Model
	if err == nil {
		fresh, err = fit.Model()
	}
	if err != nil {
		failed(state.LearnOther)
		return
	}
	account := fit.Account()
	r.Send(state.Learnt{Model: id, Account: &account, Base: m, Latest: label, Taught: taught, Text: fresh.Text})
}

// listModel puts a model of one's own units on the list, as one that is read in would be.
func (r *Runner) listModel(text []byte) {
	msg, err := r.takeInModel(text)
	if err != nil {
		r.Send(state.ImportFailed{Detail: err.Error()})
		return
	}
	r.Send(msg)
}
