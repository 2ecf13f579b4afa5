package plan

import "slices"

// keenness is how much more the keener planner takes to be lost by writing off, as a share of what is,
// by measurement (engine/DECISIONS.md).
const keenness = 1

// dearer returns the problem of somebody to whom a working unit is worth so much more.
//
// A total is the cost of a plan that is written down now, and who decides anew at each step does
// better: on the shipped models going on comes to about half of what such a plan says. Writing
// off costs what it says. A unit is therefore given up only where the keener would give it up too.
func (p *Problem) dearer() *Problem {
	terms := p.Terms
	terms.WorkingValue += float64(keenness * p.Loss)
	return NewProblem(p.space, terms)
}

// keen reports whether this is the keener planner itself.
func (p *planner) keen() bool { return p.own == keenRound }

// Keener returns the keener planner, nil where none is asked: nobody is keener than the keener, with nothing
// to lose one gives up, and a small problem's plans are close as they are.
func (p *planner) Keener() Planner {
	if p.keen() || p.Loss <= 0 || p.small(p.kept()) {
		return nil
	}
	return p.keener()
}

// keener returns the keener planner.
func (p *planner) keener() *planner {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.other == nil {
		p.other = &planner{Problem: p.dearer(), own: keenRound, beamFor: p.beamFor}
	}
	return p.other
}

// doubts reports whether somebody keener is to be asked: the unit would be given up, or as well given up, as far
// as that can be told, as a test run once more or a step that is idle.
func (s *search) doubts() bool {
	best := s.options[0]
	again := best.step.Kind == DoTest && s.root.run.has(best.step.Index)
	asWell := !best.step.ends() && s.Loss <= best.value+s.within() && (again || s.idle(best.step))
	return (best.step.Kind == WriteOff || asWell) && s.Keener() != nil
}

// ask begins a keener search of the same situation.
func (s *search) ask() *search {
	return &search{planner: s.keener(), at: s.at, beam: s.beam, root: s.root, modes: s.modes, sound: s.sound, whole: s.whole, odds: s.odds, skip: s.skip, stage: growing}
}

// Asks implements Search.
func (s *search) Asks() Planner {
	if s.asked == nil {
		return nil
	}
	return s.asked.planner
}

// adopt takes over what a keener search would do, unless it ends the work too. Of its steps the first is taken
// that is not idle: a unit is kept alive for something, or it would be kept for ever. Totals of going on shrink by the
// share by which writing off was made dearer, so that all are again of a problem in which it costs what it costs;
// those of the endings are known.
func (s *search) adopt(keener *search) {
	first := slices.IndexFunc(keener.options, func(o option) bool { return o.step.ends() || !s.idle(o.step) })
	if first < 0 || keener.options[first].step.ends() {
		return
	}
	share := s.Loss / keener.Loss
	endings := map[StepKind]option{}
	for _, o := range s.options {
		if o.step.ends() {
			endings[o.step.Kind] = o
		}
	}
	s.lib, s.share = keener.lib, share
	s.follows = keener.follows
	s.options = slices.Concat(keener.options[first:first+1], keener.options[:first], keener.options[first+1:])
	for i := range s.options {
		o := &s.options[i]
		if o.step.ends() {
			*o = endings[o.step.Kind]
			continue
		}
		costs, plus := o.vector()
		o.costs = make([]float64, len(costs))
		for h, c := range costs {
			o.costs[h] = float64(share * c)
		}
		o.value, o.plus = float64(share*o.value), float64(share*plus)
	}
	s.lib.sort(s.options[1:]) // the first stays
	for _, found := range s.follows {
		for i := range found {
			found[i].Total = s.shared(found[i].Next, found[i].Total)
		}
	}
}

// slight is what a step has to be expected to tell, bits, or the odds on which it has to mend something, for a
// unit to be kept alive for it.
const slight = 0.05

// idle reports whether a step is a test that tells next to nothing, or a repair that failed twice or will hardly
// mend anything, though nothing was seen of it.
func (s *search) idle(step Step) bool {
	if step.Kind == DoTest {
		return s.stale(step) || s.bits(step) < slight
	}
	return s.twice(step) || s.mends(step.Index) < slight && !s.showed(step.Index)
}

// shared is what a total of the library comes to where writing off costs what it costs.
func (s *search) shared(next Step, total float64) float64 {
	if s.share == 0 || next.Kind == SignOff {
		return total
	}
	return float64(s.share * total)
}
