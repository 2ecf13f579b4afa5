package lint

import (
	"pitwise/engine/belief"
)

// A Weight is what the priors of a model add up to.
type Weight struct {
	Hypotheses int
	Priors     float64   // of all modes together: the mean number of faults before anything is seen
	Faults     []float64 // probability of 0, 1, … most_faults faults, before anything is seen
	Brought    []float64 // the same once the intake test has shown anything but its best outcome
	Beyond     float64   // probability of more faults than most_faults
	Fails      float64   // probability that the intake test shows anything but its best outcome
}

// Weigh adds up the priors of a model.
func Weigh(s *belief.Space) (Weight, error) {
	m := s.Model()
	w := Weight{Hypotheses: s.Len()}
	for _, mode := range m.Modes {
		w.Priors += mode.Prior
	}
	b := s.Prior()
	w.Faults, w.Beyond = b.Faults(nil), b.Dropped()
	weights := make([]float64, len(m.Tests[m.Intake].Outcomes))
	for i := range weights {
		weights[i] = 1
	}
	weights[0] = 0
	for o, p := range b.Predict(nil, m.Intake) {
		if o > 0 {
			w.Fails += p
		}
	}
	if len(weights) == 1 {
		w.Brought = w.Faults
		return w, nil
	}
	if err := b.Observe(m.Intake, weights); err != nil {
		return Weight{}, err
	}
	w.Brought = b.Faults(nil)
	return w, nil
}
