package runner

import (
	"encoding/json"

	"pitwise/app/state"
	"pitwise/engine/learn"
)

// weigh begins to play units for what tools are worth.
func (r *Runner) weigh(e state.Weigh) {
	m, err := r.chosen(e.Choice)
	if err != nil {
		r.Send(state.Weighed{Turn: e.Turn, Failed: true})
		return
	}
	terms := e.Terms(m)
	r.Send(state.WeighingWith{Turn: e.Turn, Base: m, Terms: terms})
	r.engine.Weigh(Weigh{Turn: e.Turn, Model: m, Terms: terms})
}

// spansKey is where what learning told of a model's numbers is kept.
func spansKey(sha256 string) string { return "learnt/" + sha256 }

// readFigures reads a model whose numbers are to be shown.
func (r *Runner) readFigures(e state.ReadFigures) {
	msg := state.FiguresRead{Model: e.Model}
	now, err := r.chosen(e.Choice)
	if err == nil {
		msg.Now = now
		msg.Shipped, err = r.shipped(e.Model)
	}
	if msg.Failed = err != nil; msg.Failed {
		msg.Now, msg.Shipped = nil, nil
	} else if text, err := r.Storage.Kept(spansKey(now.SHA256)); err == nil && text != "" {
		_ = json.Unmarshal([]byte(text), &msg.Spans) // without it they have no intervals
	}
	r.Send(msg)
}

// override puts a number of the person's own into a model and lists what comes of it, in the place of an
// earlier revision with own numbers: the new one has those as well.
func (r *Runner) override(e state.Override) {
	answer := state.FigureKept{Model: e.Model}
	m, err := learn.Override(e.Now, e.Own)
	if err == nil {
		_, err = r.list(m)
	}
	if err == nil {
		if text, err := r.Storage.Kept(spansKey(e.Now.SHA256)); err == nil && text != "" {
			_ = r.Storage.Keep(spansKey(m.SHA256), text)
		}
		if learn.Owned(e.Now) {
			_ = r.Storage.DropModel(e.Now.SHA256) // it stays on the list then, which harms nothing
		}
		answer.Own, err = r.own()
	}
	if err != nil {
		answer.Wrong = err.Error()
	}
	r.Send(answer)
}
