package plan

// A Stand is a step on offer with what its plan costs under each hypothesis: its total is linear in what is
// believed, as long as the plan stays the same.
type Stand struct {
	Step   Step
	Total  float64   // as the Proposal has it, Currency
	Within float64   // as the Proposal has it, Currency
	Cost   []float64 // by hypothesis of the space, Currency; Total is their mean under the belief
}

// Stands implements Search. Hypotheses beyond those that plans work with cost what the ones with the most
// faults do in the mean.
func (s *search) Stands(most int) []Stand {
	if s.stage != finished {
		return nil
	}
	all := make([]Stand, 0, min(most, len(s.options)))
	near := s.within()
	for i := range s.options[:cap(all)] {
		o := &s.options[i]
		costs, plus := o.vector()
		cost := make([]float64, s.space.Len())
		copy(cost, costs)
		rest, few := 0.0, 0.0
		for j, h := range s.whole.hyps {
			if int(h) >= s.lib.net.full {
				few += s.whole.p[j]
				rest += float64(s.whole.p[j] * cost[h])
			}
		}
		if few > 0 {
			rest /= few
		}
		for h := range cost {
			if h >= s.lib.net.n {
				cost[h] = rest
			}
			cost[h] += plus
		}
		all = append(all, Stand{o.step, o.value, near, cost})
	}
	return all
}
