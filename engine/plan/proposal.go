package plan

import "math"

// propose turns the options into proposals. The odds and bits of a test come from the whole
// belief, not from the hypotheses that the search keeps.
func (s *search) propose() {
	s.proposals = s.proposals[:0:0]
	var signOff float64
	for _, o := range s.options {
		if o.step.Kind == SignOff {
			signOff = o.value
		}
	}
	for i, o := range s.options {
		s.proposals = append(s.proposals, s.proposal(i, o, signOff))
	}
}

func (s *search) proposal(i int, o option, signOff float64) Proposal {
	at := s.At(o.step, s.at.Setup)
	way := &s.ways[s.at.Setup][at]
	p := Proposal{Step: o.step, Way: way.moves, Minutes: way.minutes, Money: way.money, Total: o.value}
	p.Reason = Reason{SignOff: signOff, WriteOff: s.Loss, Separates: [2]int{-1, -1}}
	switch o.step.Kind {
	case DoTest:
		t := &s.model.Tests[o.step.Index]
		p.Minutes += t.Minutes
		p.Money += t.Money
	case DoRepair:
		r := &s.model.Repairs[o.step.Index]
		p.Minutes += r.Minutes
		p.Money += r.Money
	}
	if len(s.options) > 1 {
		other := s.options[0]
		if i == 0 {
			other = s.options[1]
		}
		p.Reason.Other, p.Reason.Saves = other.step, other.value-o.value
	}
	_ = math.Log2
	return p
}
