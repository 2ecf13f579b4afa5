package learn_test

import (
	"fmt"

	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// player is a model of one mode and one look.
const player = `{
	"format": "pitwise/model", "version": 1, "id": "player", "revision": "1", "title": "A player", "most_faults": 1,
	"sources": {"hearsay": {"kind": "memory", "cite": "invented for an example"}},
	"setups": [{"id": "shelf"}],
	"components": [{"id": "lens", "modes": [{"id": "dirty", "prior": 0.2, "source": "hearsay"}]}],
	"tests": [
		{"id": "start", "intake": true, "at": "shelf", "minutes": 1, "money": 0, "outcomes": [{"id": "plays"}, {"id": "stops"}],
			"healthy": [0.9, 0.1], "given": {"lens.dirty": [0.1, 0.9]}, "steadiness": 3, "source": "hearsay"},
		{"id": "look", "at": "shelf", "minutes": 1, "money": 0, "outcomes": [{"id": "clear"}, {"id": "grey"}],
			"healthy": [0.95, 0.05], "given": {"lens.dirty": [0.05, 0.95]}, "steadiness": 3, "source": "hearsay"}],
	"repairs": []}`

// shelf is a unit that stopped, and whose lens was looked at.
func shelf(id string, seen model.OutcomeID) *trail.Trail {
	const at = "2026-03-04T10:00:00Z"
	return &trail.Trail{ID: id, Created: at, Model: trail.ModelRef{ID: "player"}, Events: []trail.Event{
		{N: 1, At: at, Kind: trail.Result, Test: "start", Outcome: "stops"},
		{N: 2, At: at, Kind: trail.Result, Test: "look", Outcome: seen},
	}}
}

// A bench on which 18 of 20 units that were brought in have a grey lens learns that lenses are
// dirtier than was thought.
func ExampleLearner_Fit() {
	m, err := model.Load([]byte(player))
	if err != nil {
		panic(err)
	}
	l, err := learn.New(m)
	if err != nil {
		panic(err)
	}
	for i := range 20 {
		seen := model.OutcomeID("grey")
		if i >= 18 {
			seen = "clear"
		}
		if err := l.Add(shelf(fmt.Sprint("unit ", i), seen)); err != nil {
			panic(err)
		}
	}
	fit, err := l.Fit(learn.Options{})
	if err != nil {
		panic(err)
	}
	for _, f := range fit.Figures()[:1] {
		fmt.Printf("%s %s: %.0f of 100, was %.0f\n", f.Kind, f.Mode, 100*f.P, 100*f.Shipped)
	}
	learnt, err := fit.Model()
	if err != nil {
		panic(err)
	}
	fmt.Println(learnt.Revision[:5])
	// Output:
	// prior lens.dirty: 25 of 100, was 20
	// 1+20.
}

// What does it hang on that the lens is suspected?
func ExampleSensitivity_Of() {
	m, err := model.Load([]byte(`{
	"format": "pitwise/model", "version": 1, "id": "player", "revision": "1", "title": "A player", "most_faults": 1,
	"sources": {"hearsay": {"kind": "memory", "cite": "invented for an example"}},
	"setups": [{"id": "shelf"}],
	"components": [{"id": "lens", "modes": [{"id": "dirty", "prior": 0.2, "source": "hearsay"}]}, {"id": "laser", "modes": [{"id": "worn", "prior": 0.1, "source": "hearsay"}]}],
	"tests": [{"id": "start", "intake": true, "at": "shelf", "minutes": 1, "money": 0, "outcomes": [{"id": "plays"}, {"id": "stops"}],
		"healthy": [0.9, 0.1], "given": {"lens.dirty": [0.3, 0.7], "laser.worn": [0.1, 0.9]}, "steadiness": 3, "source": "hearsay"}],
	"repairs": []}`))
	if err != nil {
		panic(err)
	}
	s, err := learn.NewSensitivity(m)
	if err != nil {
		panic(err)
	}
	unit := shelf("unit", "grey")
	unit.Events = unit.Events[:1]
	h, err := s.Of(unit)
	if err != nil {
		panic(err)
	}
	fmt.Printf("%s leads with %.0f %%\n", h.Leader, 100*h.Odds)
	for _, x := range h.Numbers {
		if x.Kind == learn.Prior && x.Mode == "laser.worn" {
			fmt.Printf("unless %.0f of 100, not %.0f, have %s (%s)\n", 100*x.At, 100*x.Now, x.Mode, x.Grade)
		}
	}
	// Output:
	// lens.dirty leads with 47 %
	// unless 16 of 100, not 10, have laser.worn (memory)
}
