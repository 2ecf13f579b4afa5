package plan

import (
	"cmp"
	"math"
	"slices"
)

// propose turns the options into proposals. The odds and bits of a test come from the whole
// belief, not from the hypotheses of the root alone; where the space is large, from all of
// those that plans work with.
func (s *search) propose() {
	signOff := 0.0
	proof := math.NaN()
	for _, o := range s.options {
		switch o.step {
		case Step{Kind: SignOff}:
			signOff = o.value
		case Step{DoTest, s.model.Proof}:
			proof = o.value
		}
	}
	s.proposals = make([]Proposal, 0, len(s.options))
	near := s.within()
	known := make([]prospect, len(s.model.Setups))
	there := func(setup int) prospect {
		if known[setup] == nil {
			known[setup] = s.after(setup)
		}
		return known[setup]
	}
	for i, o := range s.options {
		at := s.At(o.step, s.at.Setup)
		p := Proposal{Step: o.step, Way: s.ways[s.at.Setup][at].moves, Total: o.value, Within: near, Hazard: s.Hazard(o.step, s.at.Setup)}
		p.Minutes, p.Money = s.StepWork(o.step, s.at.Setup)
		p.Reason = Reason{First: i == 0, SignOff: signOff, WriteOff: s.Loss, Separates: [2]int{-1, -1}}
		if len(s.options) > 1 {
			other := s.options[0]
			if i == 0 {
				other = s.options[1]
			}
			p.Reason.Other, p.Reason.Saves = other.step, other.value-o.value
		}
		switch o.step.Kind {
		case DoTest:
			s.explain(&p, o, there(at))
		case DoRepair:
			p.Outcomes = slices.Clone(s.follows[o.step])
			for i := range p.Outcomes {
				p.Outcomes[i].P = 1
			}
		case SignOff:
			p.Left = 1 - there(at).Sound()
			p.Reason.Proof = signOff - proof
		}
		s.leaveOpen(o.step, p.Outcomes)
		s.proposals = append(s.proposals, p)
	}
}

// leaveOpen takes back that after a step a unit would be given up, or a test run again at once: that is a plan's word alone, where
// plans are not close. Somebody keener is asked before the first is done (keen.go), and what was run gives way to what was not (near.go).
func (s *search) leaveOpen(step Step, after []Follow) {
	if s.Keener() == nil {
		return
	}
	for i := range after {
		if next := after[i].Next; next.Kind == WriteOff || next.Kind == DoTest && next == step {
			after[i].Next = Step{}
		}
	}
}

// A prospect is what is believed of a unit after a way.
type prospect interface {
	// Sound returns the odds that nothing is wrong.
	Sound() float64
	// Foresee returns the odds of each outcome of a test, and how many bits it is expected to tell.
	Foresee(test int) (odds []float64, bits float64)
}

// after returns the prospect after the way to a setup: a whole belief, or, where the space has
// more hypotheses than plans work with, those alone, as one for every setup would take too long.
func (s *search) after(setup int) prospect {
	if s.lib.net.n < s.space.Len() {
		return s.walked(setup)
	}
	b := s.at.Belief.Clone()
	for _, c := range s.ways[s.at.Setup][setup].changes {
		if err := b.Apply(c); err != nil {
			return s.at.Belief // a way on which everything is cut is never the best
		}
	}
	return b
}

// walked is a prospect given that a unit is one of the hypotheses that plans work with.
type walked struct {
	*walker
	point
	within float64 // the odds that it is one of them
}

func (s *search) walked(setup int) walked {
	q := s.whole
	q.setup, q.record = s.at.Setup, s.root.record
	w := walked{walker: s.lib.walker, point: s.lib.travel(q, setup, s.lib.net.n)}
	for _, p := range s.whole.p {
		w.within += p
	}
	total := 0.0
	for _, p := range w.p {
		total += p
	}
	w.p = slices.Clone(w.p)
	for i := range w.p {
		w.p[i] /= total
	}
	return w
}

func (w walked) Sound() float64 {
	if len(w.hyps) > 0 && w.hyps[0] == 0 {
		return float64(w.p[0] * w.within)
	}
	return 0
}

func (w walked) Foresee(test int) (odds []float64, bits float64) {
	return w.foresee(w.point, test)
}

// explain fills in what a test is expected to show and to tell.
func (s *search) explain(p *Proposal, o option, after prospect) {
	t := o.step.Index
	odds, bits := after.Foresee(t)
	p.Bits = bits
	there, joint, near := s.shown(o.step)
	found := s.follows[o.step]
	for outcome := range odds {
		f := Follow{Outcome: outcome, Suspect: -1}
		if at := slices.IndexFunc(found, func(f Follow) bool { return f.Outcome == outcome }); at >= 0 {
			f = found[at]
		} else if near[outcome] > 0 {
			after := s.lib.see(there, t, outcome, joint[outcome], near[outcome], len(there.hyps))
			f = s.followed(outcome, after, option{})
			next, v := s.lib.best(after.setup, after.hyps, after.p, after.record, s.skip)
			f.Next, f.Total = next.step, s.shared(next.step, v)
		}
		f.P = odds[outcome]
		p.Outcomes = append(p.Outcomes, f)
	}
	p.Reason.Separates, p.Reason.Bits = s.separates(there, joint)
}

// followed says what an outcome leads to.
func (s *search) followed(outcome int, after point, best option) Follow {
	modes, sound := s.modesOf(after.hyps, after.p)
	f := Follow{Outcome: outcome, Next: best.step, Total: best.value, Suspect: -1, Odds: sound}
	for i, p := range modes {
		if p > f.Odds {
			f.Suspect, f.Odds = i, p
		}
	}
	return f
}

// modesOf returns the odds of each mode, and of none, under weights on hypotheses.
func (p *Problem) modesOf(hyps []int32, w []float64) (modes []float64, sound float64) {
	modes = make([]float64, len(p.model.Modes))
	for i, h := range hyps {
		if h == 0 {
			sound += w[i]
		}
		for _, m := range p.space.Modes(int(h)) {
			modes[m] += w[i]
		}
	}
	return modes, sound
}

// separates returns the two of the leading modes that a test tells apart best, and how
// many bits it tells of which of the two it is, if it is one of them.
func (s *search) separates(q point, joint [][]float64) (pair [2]int, bits float64) {
	pair, most := [2]int{-1, -1}, 0.0
	odds, _ := s.modesOf(q.hyps, q.p)
	lead := make([]int, len(odds))
	for i := range lead {
		lead[i] = i
	}
	slices.SortStableFunc(lead, func(a, b int) int { return cmp.Compare(odds[b], odds[a]) })
	lead = lead[:min(6, len(lead))]
	seen := make([][]float64, len(joint)) // by outcome and mode
	for o := range joint {
		seen[o], _ = s.modesOf(q.hyps, joint[o])
	}
	for i, f := range lead {
		for _, g := range lead[:i] {
			if odds[f] <= 0 || odds[g] <= 0 {
				continue
			}
			told := 0.0
			all := odds[f] + odds[g]
			for o := range seen {
				both := seen[o][f] + seen[o][g]
				for _, m := range [2]int{f, g} {
					if x := seen[o][m]; x > 0 {
						told += float64(x / all * math.Log2(x*all/(both*odds[m])))
					}
				}
			}
			if told*all > most { // two of which it is hardly one are not what a test is for
				most, bits, pair = told*all, told, [2]int{g, f}
			}
		}
	}
	return pair, bits
}
