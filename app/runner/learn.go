package runner

import (
	"encoding/json"
	"errors"

	"pitwise/app/state"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A lesson is the units of one model, to learn from, and what other benches lend.
type lesson struct {
	*learn.Learner
	model         *model.Model // as shipped
	lent          learn.Counts // the zero Counts if there are none
	latest, label string       // of the unit that ended last; "" if none has
	stopped       func() bool
}

// lesson takes in all units that were begun with the shipped model of that id, in any revision: one of its
// own numbers too, and the counts that are held of other benches than own. It returns nil where there is nothing, or nobody
// waits any more, and says so.
func (r *Runner) lesson(id, own string, turn int64) *lesson {
	l := &lesson{stopped: func() bool {
		r.Device.Yield()
		return r.learning.Load() != turn
	}}
	failed := func(t state.LearnTrouble) *lesson {
		r.Send(state.LearnFailed{Model: id, Trouble: t})
		return nil
	}
	var err error
	if l.model, err = r.shipped(id); err != nil {
		return failed(state.LearnOther)
	}
	if l.Learner, err = learn.New(l.model); err != nil {
		return failed(state.LearnOther)
	}
	units, err := r.Storage.Units()
	if err == nil {
		err = l.borrow(r, own)
	}
	if err != nil {
		return failed(state.LearnOther)
	}
	at := ""
	for _, u := range units {
		if l.stopped() {
			return nil
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
				l.latest, l.label, at = t.ID, t.Unit.Label, e.At
			}
		}
	}
	if l.Len()+len(l.lent.Benches) == 0 {
		return failed(state.LearnNone)
	}
	return l
}

// options are how the page learns.
func (l *lesson) options(told func(rounds int)) learn.Options {
	return learn.Options{Close: learnClose, Stop: l.stopped, Told: told}
}

// learnClose is learn.Options.Close on the page: numbers are told to two digits there, and a last step of a hundredth of what
// is not known of them does not show.
const learnClose = 1e-2

// learn learns for a model. It stores nothing.
func (r *Runner) learn(e state.Learn, turn int64) {
	id := e.Model
	l := r.lesson(id, e.Bench, turn)
	if l == nil {
		return
	}
	n := l.Len()
	fit, err := l.Fit(l.options(func(round int) { r.Send(state.LearnOn{Model: id, Done: round, Units: n}) }))
	if err == nil {
		err = fit.Intervals(learn.Sweeps{Warm: 20, Keep: 150, Seed: 1, Stop: l.stopped, Told: func(done, of int) { r.Send(state.LearnOn{Model: id, Done: done, Of: of, Units: n}) }})
	}
	var taught []learn.Figure
	if err == nil && l.latest != "" {
		taught, err = l.Taught(fit, l.latest, l.options(nil))
	}
	if r.learning.Load() != turn {
		return
	}
	var fresh *model.Model
	if err == nil {
		fresh, err = fit.Model()
	}
	if err != nil {
		r.Send(state.LearnFailed{Model: id, Trouble: state.LearnOther})
		return
	}
	account := fit.Account()
	r.Send(state.Learnt{Model: id, Account: &account, Base: l.model, Latest: l.label, Taught: taught, Text: fresh.Text})
}

// judgeParts is in how many parts units are left out of learning in turn when they are judged.
const judgeParts = 5

// judge holds the odds of units against the causes that were named.
func (r *Runner) judge(e state.Judge, turn int64) {
	id := e.Model
	l := r.lesson(id, e.Bench, turn)
	if l == nil {
		return
	}
	n := l.Len()
	trial, err := l.Try(l.options(func(part int) { r.Send(state.LearnOn{Model: id, Done: part, Of: judgeParts, Units: n}) }), judgeParts)
	switch {
	case r.learning.Load() != turn:
	case err != nil && !errors.Is(err, learn.ErrNoCauses):
		r.Send(state.LearnFailed{Model: id, Trouble: state.LearnOther})
	default:
		r.Send(state.Judged{Model: id, Trial: &trial})
	}
}

// listModel puts a model of one's own units on the list, as one that is read in would be.
func (r *Runner) listModel(e state.ListModel) {
	msg, err := r.takeInModel(e.Text)
	if err != nil {
		r.Send(state.ImportFailed{Detail: err.Error()})
		return
	}
	if text, err := json.Marshal(e.Spans); err == nil && len(e.Spans) > 0 {
		_ = r.Storage.Keep(spansKey(msg.Model.Choice), string(text)) // without it the numbers have no intervals
	}
	r.Send(msg)
}
