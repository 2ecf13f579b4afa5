package learn

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// A Hang is one number on which the leading suspect or the proposed step hangs: with all other numbers as
// they are, and the other entries of its row keeping their proportions, it leads until the number
// gets to At, and there Other or Instead takes over.
type Hang struct {
	Kind    Kind             `json:"kind"`
	Test    model.TestID     `json:"test,omitempty"`
	Outcome model.OutcomeID  `json:"outcome,omitempty"`
	Mode    model.ModeID     `json:"mode,omitempty"`
	Repair  model.RepairID   `json:"repair,omitempty"`
	Setup   model.SetupID    `json:"setup,omitempty"`
	Leave   bool             `json:"leave,omitempty"`
	Source  model.SourceID   `json:"source,omitempty"`
	Grade   model.SourceKind `json:"grade"`
	Now     float64          `json:"now"` // as a Figure has it
	At      float64          `json:"at"`
	Other   model.ModeID     `json:"other,omitempty"`   // the suspect that leads beyond
	Instead *Instead         `json:"instead,omitempty"` // the step that is proposed beyond
	Bans    float64          `json:"bans"`              // how far At is: log10 of the ratio of the odds of At and Now, in size

	block, entry int
}

// Instead is a step that would be proposed.
type Instead struct {
	Kind plan.StepKind `json:"kind"`
	ID   string        `json:"id,omitempty"` // of the test or repair
}

// A Turn is an outcome of a test that is open which would make another mode the leading suspect.
type Turn struct {
	Test    model.TestID    `json:"test"`
	Outcome model.OutcomeID `json:"outcome"`
	P       float64         `json:"p"`      // of the outcome now
	Leader  model.ModeID    `json:"leader"` // after it
	Odds    float64         `json:"odds"`   // of Leader after it
}

// Hangs is what the leading suspect of one unit hangs on.
type Hangs struct {
	Leader  model.ModeID `json:"leader"`
	Odds    float64      `json:"odds"`
	Second  model.ModeID `json:"second"`
	SecondP float64      `json:"second_odds"`
	Numbers []Hang       `json:"numbers"` // nearest first; none for what cannot turn it
	Turns   []Turn       `json:"turns"`   // likeliest first
}

// edge is how near to never or always a number is looked at: one that would have to be nearer turns nothing.
const edge = 1e-6

// rivals is how many of the next suspects are watched.
const rivals = 12

// A Sensitivity works out what a unit's odds and its proposed step hang on.
type Sensitivity struct {
	Stop func() bool // asked now and then; true ends with ErrStopped. May be nil

	frame *frame
}

// NewSensitivity lays a model out for it; a learnt model will do as well as any.
func NewSensitivity(m *model.Model) (*Sensitivity, error) {
	f, err := newFrame(m)
	if err != nil {
		return nil, err
	}
	return &Sensitivity{frame: f}, nil
}

// Of returns what the leading suspect of a unit hangs on. Nothing is approximated: the probability of
// everything recorded together with a mode is linear in a number that was used once, so that
// the odds of two modes against each other cross at most once, and where follows from the
// expected counts under each (Coupé & van der Gaag 2002, Ann. Math. Artif. Intell. 36; the counts
// are those of one smoothing each). Where a test or repair was used more than once, the
// crossing on the way of the number to 0 or to 1 is found by bisection on the odds themselves;
// a lead that is lost on the way and won back before its end is not told. Only the leader and the
// next twelve suspects are watched.
//
// Odds are those of a replay: what endings and written causes tell is left out of them.
func (s *Sensitivity) Of(t *trail.Trail) (Hangs, error) {
	f := s.frame
	m := f.model
	p, err := s.prober(t)
	if err != nil {
		return Hangs{}, err
	}
	now, err := p.modes()
	if err != nil {
		return Hangs{}, err
	}
	order := make([]int, len(now))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(now[b], now[a]) })
	out := Hangs{Leader: m.Modes[order[0]].ID, Odds: now[order[0]]}
	if len(order) < 2 {
		return out, nil
	}
	out.Second, out.SecondP = m.Modes[order[1]].ID, now[order[1]]
	for _, mode := range order[:min(1+rivals, len(order))] {
		if err := p.watch(f.having(mode)); err != nil {
			return out, err
		}
	}
	if out.Numbers, err = p.numbers(func(h *Hang, i int) { h.Other = m.Modes[order[i]].ID }); err != nil {
		return out, err
	}
	out.Turns, err = s.turns(t, order[0])
	return out, err
}

// A StepHangs is what the proposed step of one unit hangs on.
type StepHangs struct {
	Step    Instead `json:"step"`
	Numbers []Hang  `json:"numbers"` // nearest first; none for what cannot turn it
}

// OfStep returns what the step that is proposed hangs on: the numbers by which another of the listed
// steps would cost less by more than totals can be told apart (plan.Proposal.Within). stands are those of
// the unit's settled search, the proposed one first.
//
// The plans of the steps are taken as they are, with what they cost under each hypothesis; what moves is
// what is believed of the unit. Their totals are then ratios of linear functions of a number that was used
// once, and where they cross is exact; where it was used more often it is found by bisection, as in Of. Not
// told is what a number does to what is still to come: it bears on how a repair that was not tried or a
// test that was not run will go, and a plan that would be another then is not sought.
func (s *Sensitivity) OfStep(t *trail.Trail, stands []plan.Stand) (StepHangs, error) {
	if len(stands) == 0 {
		return StepHangs{}, nil
	}
	f := s.frame
	out := StepHangs{Step: f.instead(stands[0].Step)}
	p, err := s.prober(t)
	if err != nil {
		return out, err
	}
	if _, err := p.modes(); err != nil {
		return out, err
	}
	// What is saved against the worst there is: from 0 on, and the most where the least is spent.
	least, worst := math.Inf(1), 0.0
	for _, x := range stands {
		least = min(least, x.Total)
		for _, c := range x.Cost {
			worst = max(worst, math.Abs(c))
		}
	}
	share := 0.0
	if least != 0 {
		share = stands[0].Within / math.Abs(least)
	}
	for i, x := range stands {
		w := slices.Clone(x.Cost)
		for h, c := range w {
			if i > 0 {
				c += float64(share * math.Abs(c))
			}
			w[h] = max(float64(2*worst)-c, 0)
		}
		if err := p.watch(w); err != nil {
			return out, err
		}
	}
	out.Numbers, err = p.numbers(func(h *Hang, i int) {
		step := f.instead(stands[i].Step)
		h.Instead = &step
	})
	return out, err
}

// instead names a step.
func (f *frame) instead(s plan.Step) Instead {
	switch s.Kind {
	case plan.DoTest:
		return Instead{s.Kind, string(f.model.Tests[s.Index].ID)}
	case plan.DoRepair:
		return Instead{s.Kind, string(f.model.Repairs[s.Index].ID)}
	}
	return Instead{Kind: s.Kind}
}

// course returns the stages of a trail as a replay takes them.
func (f *frame) course(t *trail.Trail) ([]stage, error) {
	shape, err := f.shapeOf(t)
	if err != nil {
		return nil, err
	}
	stages, err := f.stages(shape)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(stages, func(g stage) bool {
		return g.op == written || g.op == answered || g.op == ended || g.implied
	}), nil
}

// A prober works out the odds of modes at the end of one trail for any numbers.
type prober struct {
	*frame
	*smoother
	round  *round
	stages []stage
	uses   []int // how often each block was used, at most
	top    []contender
	stop   func() bool // may be nil
}

// prober lays a trail out.
func (s *Sensitivity) prober(t *trail.Trail) (*prober, error) {
	f := s.frame
	m := f.model
	stages, err := f.course(t)
	if err != nil {
		return nil, err
	}
	used := make([]bool, len(m.Tests))
	uses := make([]int, len(f.blocks))
	for i := range stages {
		g := &stages[i]
		switch g.op {
		case named, weighed:
			used[g.test] = true
			uses[f.leak[g.test]]++
			for _, b := range f.links[g.test] {
				uses[b]++
			}
		case changed:
			for _, b := range slices.Concat(f.change[g.change].fixes, f.change[g.change].risks) {
				uses[b]++
			}
		}
	}
	for _, b := range f.prior {
		uses[b]++
	}
	kappa := f.kappas()
	for i, u := range used {
		if u {
			f.laws[i].sort()
		}
	}
	p := &prober{frame: f, stages: stages, uses: uses, stop: s.Stop}
	p.round = f.newRound(f.ship, kappa, used, nil)
	p.smoother = p.round.smoother()
	return p, nil
}

// modes returns the odds of each mode at the end, and leaves the masses in the smoother.
func (p *prober) modes() ([]float64, error) {
	p.follow(nil)
	if _, ok := p.smooth(p.stages, nil); !ok {
		return nil, ErrImpossible
	}
	return p.odds(), nil
}

func (p *prober) odds() []float64 {
	out := make([]float64, len(p.frame.model.Modes))
	for at, h := range p.act {
		x := p.a[at]
		if x == 0 {
			continue
		}
		for _, i := range p.frame.space.Modes(int(h)) {
			out[i] += x
		}
	}
	return out
}

// having is 1 for the hypotheses that have a mode.
func (f *frame) having(mode int) []float64 {
	w := make([]float64, f.space.Len())
	for h := range w {
		if slices.Contains(f.space.Modes(h), uint16(mode)) {
			w[h] = 1
		}
	}
	return w
}

// A contender is what leads, or may lead, by the mean of its weights over the odds at the end.
type contender struct {
	weight []float64 // by hypothesis, from 0 on
	value  float64   // the mean
	counts []float64 // the expected counts of all entries where the end is weighed so; nil if the mean is 0
}

// value is the mean of weights over the odds that the last modes left.
func (p *prober) value(weight []float64) float64 {
	sum := 0.0
	for at, h := range p.act {
		sum += float64(p.a[at] * weight[h])
	}
	return sum
}

// watch adds a contender. The first is the one that leads.
func (p *prober) watch(weight []float64) error {
	if p.stop != nil && p.stop() {
		return ErrStopped
	}
	_, _ = p.modes() // that it is possible was seen before
	c := contender{weight: weight, value: p.value(weight)}
	if c.value > 0 {
		var out sink
		p.follow(nil)
		p.end = weight
		_, ok := p.smooth(p.stages, &out)
		p.end = nil
		if ok {
			counts := make([]float64, p.round.places)
			for i, place := range out.places {
				counts[place] += out.adds[i]
			}
			p.round.shareOut(counts)
			c.counts = counts[:len(p.frame.ship)]
		}
	}
	p.top = append(p.top, c)
	return nil
}

// numbers returns what the lead of the first contender hangs on, nearest first. name says of a Hang who
// takes over.
func (p *prober) numbers(name func(h *Hang, contender int)) ([]Hang, error) {
	var all []Hang
	for b := range p.frame.blocks {
		if p.uses[b] > 1 && p.stop != nil && p.stop() {
			return nil, ErrStopped
		}
		if p.uses[b] > 0 && !p.frame.blocks[b].Kind.ofTheBench() {
			all = append(all, p.entries(b, p.uses[b] == 1, name)...)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Bans < all[j].Bans })
	return all, nil
}

// entries returns the hangs of one block's numbers. With counts n_k of an entry of probability x
// and N of its block, where the end is weighed as for a contender, its mean times the probability of what
// is recorded goes as
//
//	1 - N + n_k y/x + (N - n_k) (1-y)/(1-x)
//
// when the entry becomes y and the block was used once at most.
func (p *prober) entries(block int, once bool, name func(h *Hang, contender int)) []Hang {
	f := p.frame
	b := &f.blocks[block]
	var all []Hang
	for k := range b.Len {
		if b.Kind == Prior && k == 0 || (b.Kind == Fix || b.Kind == Risk) && k == 1 {
			continue // told by the others
		}
		at := b.at + k
		x := f.ship[at]
		if x <= 0 || x >= 1 {
			continue
		}
		line := func(i int) (value, slope float64) { // of a contender at y: value + slope (y-x)
			c := p.top[i].counts
			n, all := c[at], 0.0
			for j := b.at; j < b.at+b.Len; j++ {
				all += c[j]
			}
			return p.top[i].value, float64(p.top[i].value * (n/x - (all-n)/(1-x)))
		}
		best := Hang{Bans: math.Inf(1)}
		take := func(y float64, other int) {
			if !(y >= edge && y <= 1-edge) {
				return
			}
			if far := math.Abs(logit(y)-logit(x)) / math.Ln10; far < best.Bans {
				best = f.hang(block, k, y)
				best.Bans = far
				name(&best, other)
			}
		}
		if !once {
			matters := false
			for _, c := range p.top {
				for j := b.at; c.counts != nil && j < b.at+b.Len; j++ {
					matters = matters || math.Abs(c.counts[j]) > 1e-6
				}
			}
			for _, end := range []float64{edge, 1 - edge} {
				if y, other, ok := p.bisect(block, k, end); matters && ok {
					take(y, other)
				}
			}
			if !math.IsInf(best.Bans, 1) {
				all = append(all, best)
			}
			continue
		}
		lead, leadSlope := line(0)
		for i := 1; i < len(p.top); i++ {
			if p.top[i].counts == nil || p.top[0].counts == nil {
				continue
			}
			v, slope := line(i)
			if slope == leadSlope {
				continue
			}
			take(x+(lead-v)/(slope-leadSlope), i)
		}
		if !math.IsInf(best.Bans, 1) {
			all = append(all, best)
		}
	}
	return all
}

// hang tells a number as a Figure does.
func (f *frame) hang(block, k int, y float64) Hang {
	m := f.model
	b := &f.blocks[block]
	h := Hang{Kind: b.Kind, Source: b.Source, Grade: model.Memory, Leave: b.Leave, block: block, entry: k}
	row := f.row(f.ship, block)
	then := moved(row, k, y)
	h.Now, h.At = row[k], then[k]
	switch b.Kind {
	case Prior:
		mode := &m.Modes[m.Components[b.Component].FirstMode+k-1]
		h.Mode, h.Source = mode.ID, mode.Source
	case Healthy:
		h.Test, h.Outcome = m.Tests[b.Test].ID, m.Tests[b.Test].Outcomes[k].ID
	case Link:
		h.Test, h.Outcome, h.Mode = m.Tests[b.Test].ID, m.Tests[b.Test].Outcomes[k].ID, m.Modes[b.Mode].ID
		leak := f.row(f.ship, f.leak[b.Test])
		h.Now, h.At = rowOf(leak, row)[k], rowOf(leak, then)[k]
	default:
		h.Mode = m.Modes[b.Mode].ID
		if b.Repair >= 0 {
			h.Repair = m.Repairs[b.Repair].ID
		} else {
			h.Setup = m.Setups[b.Setup].ID
		}
	}
	if s, ok := m.Source(h.Source); ok {
		h.Grade = s.Kind
	}
	return h
}

// moved returns a row with another entry k, the others in proportion.
func moved(row []float64, k int, y float64) []float64 {
	out := slices.Clone(row)
	for j := range out {
		if j == k {
			out[j] = y
		} else {
			out[j] = float64(row[j] * ((1 - y) / (1 - row[k])))
		}
	}
	return out
}

// first returns which contender leads with entry k of a block at y; the first where that cannot be.
func (p *prober) first(block, k int, y float64) int {
	f := p.frame
	numbers := slices.Clone(f.ship)
	copy(f.row(numbers, block), moved(f.row(f.ship, block), k, y))
	r := *p.round
	r.numbers, r.sums = numbers, f.sumsOf(numbers)
	b := &f.blocks[block]
	switch b.Kind {
	case Prior:
		r.in = 0
		r.weigh()
	case Healthy, Link:
		r.tables = slices.Clone(r.tables)
		r.tables[b.Test] = f.laws[b.Test].table(numbers, r.sums, nil)
	}
	old := p.smoother.round
	p.smoother.round = &r
	_, err := p.modes()
	p.smoother.round = old
	if err != nil {
		return 0
	}
	best, most := 0, math.Inf(-1)
	for i := range p.top {
		if v := p.value(p.top[i].weight); v > most {
			best, most = i, v
		}
	}
	return best
}

// bisect finds where the leader is passed on the way of an entry to an end, and by whom.
func (p *prober) bisect(block, k int, end float64) (y float64, other int, ok bool) {
	if other = p.first(block, k, end); other == 0 {
		return 0, 0, false
	}
	in, out := p.frame.row(p.frame.ship, block)[k], end
	for range 40 {
		// Half way in log odds, by the geometric mean of the odds.
		o := math.Sqrt(float64(in/(1-in)) * (out / (1 - out)))
		mid := o / (1 + o)
		if now := p.first(block, k, mid); now == 0 {
			in = mid
		} else {
			out, other = mid, now
		}
		if math.Abs(in-out) <= 1e-5*in {
			break
		}
	}
	return out, other, true
}

// turns finds the outcomes of open tests that would make another mode lead: of tests that were
// not run since a change touched them, are no question to the owner, and need nothing that is not there.
func (s *Sensitivity) turns(t *trail.Trail, leader int) ([]Turn, error) {
	account, err := trail.Replay(s.frame.space, t)
	if err != nil {
		return nil, err
	}
	m := s.frame.model
	b := account.Final
	skipped := t.Skipped(m)
	var all []Turn
	for i := range m.Tests {
		test := &m.Tests[i]
		if test.Told || skipped[i] || len(m.Missing(test, account.Seen)) > 0 || b.Counts(i) != nil {
			continue
		}
		for o, p := range b.Predict(nil, i) {
			if p < 1e-4 {
				continue
			}
			after := b.Clone()
			if after.Observe(i, belief.Named(test, o)) != nil {
				continue
			}
			odds := after.Modes(nil)
			top := slices.Index(odds, slices.Max(odds))
			if top != leader {
				all = append(all, Turn{test.ID, test.Outcomes[o].ID, p, m.Modes[top].ID, odds[top]})
			}
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].P > all[j].P })
	return all, nil
}
