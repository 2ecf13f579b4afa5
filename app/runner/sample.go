package runner

import (
	"errors"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// sampleModel is the shipped model of the sample unit.
const sampleModel = "top-loader"

// sample is a unit from an invented bench, taken in and looked at from outside.
func sample(m *model.Model) trail.Trail {
	terms := bench.DefaultTerms(nil)
	terms.Tools = []model.ToolID{"their-disc", "good-disc", "slow-motion", "screwdriver", "multimeter", "loupe", "alcohol", "iron"}
	return trail.Trail{
		ID:    state.SampleID,
		Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Unit:  trail.Unit{Label: "Grey top-loader, box 7 (sample)", Notes: "From a house clearance. The lid was glued once."},
		Terms: terms,
		Events: []trail.Event{
			{N: 1, Kind: trail.Result, Test: "first-boot", Outcome: "asks"},
			{N: 2, Kind: trail.Note, Text: "The owner says it got worse over a few weeks."},
		},
	}
}

// createSample stores the sample unit, or goes to it if it is here already.
func (r *Runner) createSample() {
	m, err := r.shipped(sampleModel)
	if err != nil {
		r.Send(state.ModelFailed{ID: sampleModel, Detail: err.Error()})
		return
	}
	t := sample(m)
	t.Created = r.stamp()
	for i := range t.Events {
		t.Events[i].At = r.stamp()
	}
	if err := r.store(&t, m); err != nil && !errors.Is(err, browser.ErrExists) {
		r.Send(state.CreateFailed{Trouble: troubleOf(err), Detail: err.Error(), Trail: &t, Model: m, Sample: true})
		return
	}
	r.Send(state.Created{Trail: &t, Sample: true})
}
