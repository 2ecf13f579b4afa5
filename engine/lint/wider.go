package lint

import (
	"fmt"
	"math"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A Shift is how far a posterior moves when one more fault may be present at once.
type Shift struct {
	Trail string // its id
	N     int    // the event after which it moves most
	Of    string // the mode that moves most, or "sound"
	From  float64
	To    float64
}

// By returns how far it moves.
func (s Shift) By() float64 { return math.Abs(s.To - s.From) }

// Wider replays trails under the model and under the same model with most_faults one
// higher, and returns for each trail what moves most, over all its lines. A model that
// cannot be wider (6 faults, or too many hypotheses) is an error.
func Wider(s *belief.Space, trails []*trail.Trail) ([]Shift, error) {
	m := s.Model()
	if m.MostFaults >= model.MaxFaults {
		return nil, fmt.Errorf("lint: most_faults is %d already", m.MostFaults)
	}
	wide := *m
	wide.MostFaults++
	w, err := belief.NewSpace(&wide)
	if err != nil {
		return nil, err
	}
	var all []Shift
	for _, t := range trails {
		narrow, err := trail.Replay(s, t)
		if err != nil {
			return nil, err
		}
		broad, err := trail.Replay(w, t)
		if err != nil {
			return nil, err
		}
		shift := Shift{Trail: t.ID}
		for i := range narrow.Lines {
			a, b := &narrow.Lines[i], &broad.Lines[i]
			at := func(of string, from, to float64) {
				if math.Abs(to-from) > shift.By() {
					shift = Shift{t.ID, a.N, of, from, to}
				}
			}
			at("sound", a.Sound, b.Sound)
			for f := range a.Modes {
				at(string(m.Modes[f].ID), a.Modes[f], b.Modes[f])
			}
		}
		all = append(all, shift)
	}
	return all, nil
}
