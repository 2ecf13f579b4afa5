package learn

import (
	"math"
	"slices"
	"sort"

	"pitwise/engine/model"
)

// A Figure is one number of a model in plain terms: of the units or tries that it is about, the
// share P in which it happens. Which ids are set depends on the kind:
//
//	Prior    Mode: of all units of this kind, brought in or not, have it
//	Healthy  Test, Outcome: of units with nothing that matters to the test, show the outcome
//	Link     Test, Mode, Outcome: of units with just this fault, show the outcome, as the rows
//	         of a model have it, with whatever a sound unit would show by itself
//	Fix      Repair or Setup, Mode: of tries on units with the mode, take it away
//	Risk     Repair or Setup, Mode: of tries on units whose component is sound, bring it in
//	Record   of causes that were written down, were wrong
type Figure struct {
	Kind    Kind            `json:"kind"`
	Test    model.TestID    `json:"test,omitempty"`
	Outcome model.OutcomeID `json:"outcome,omitempty"`
	Mode    model.ModeID    `json:"mode,omitempty"`
	Repair  model.RepairID  `json:"repair,omitempty"`
	Setup   model.SetupID   `json:"setup,omitempty"`
	Leave   bool            `json:"leave,omitempty"` // of Setup: on leaving it

	Shipped  float64          `json:"shipped"`
	P        float64          `json:"p"`
	Interval *Interval        `json:"interval,omitempty"` // nil unless Intervals were worked out
	Seen     float64          `json:"seen"`               // how many units or tries it rests on, in expectation
	Weight   float64          `json:"weight"`             // how many the shipped number counts for
	Source   model.SourceID   `json:"source,omitempty"`
	Grade    model.SourceKind `json:"grade"`
	Learnt   bool             `json:"learnt"` // this bench's units moved it by more than a rounding
}

// learntShare is how far, as a share of the odds, a number must move to be called learnt.
const learntShare = 0.05

// Figures returns every number of the model, in the model's order: modes, tests, repairs,
// setup steps.
func (fit *Fit) Figures() []Figure {
	f := fit.frame
	m := f.model
	rowsAt, _ := f.rowPlaces()
	var all []Figure
	add := func(x Figure, block int, source model.SourceID, shipped, now float64, at int, seen float64) {
		b := &f.blocks[block]
		x.Kind, x.Shipped, x.P, x.Seen, x.Weight, x.Source = b.Kind, shipped, now, seen, float64(fit.Trust*b.Weight), source
		x.Grade = model.Memory
		if s, ok := m.Source(source); ok {
			x.Grade = s.Kind
		}
		if fit.spans != nil {
			x.Interval = &fit.spans[at]
		}
		x.Learnt = math.Abs(logit(now)-logit(shipped)) > learntShare
		all = append(all, x)
	}
	total := func(block int) float64 {
		sum := 0.0
		for _, x := range f.row(fit.counts, block) {
			sum += x
		}
		return sum
	}
	for i := range m.Modes {
		block := f.prior[m.Modes[i].Component]
		at := f.blocks[block].at + 1 + i - m.Components[m.Modes[i].Component].FirstMode
		add(Figure{Mode: m.Modes[i].ID}, block, m.Modes[i].Source, m.Modes[i].Prior, fit.numbers[at], at, fit.counts[at])
	}
	for t := range m.Tests {
		test := &m.Tests[t]
		leak := f.row(fit.numbers, f.leak[t])
		for k := range test.Outcomes {
			add(Figure{Test: test.ID, Outcome: test.Outcomes[k].ID}, f.leak[t], test.Source, test.Healthy[k], leak[k], f.blocks[f.leak[t]].at+k, total(f.leak[t]))
		}
		for i, g := range test.Given {
			block := f.links[t][i]
			row := rowOf(leak, f.row(fit.numbers, block))
			for k := range test.Outcomes {
				add(Figure{Test: test.ID, Mode: m.Modes[g.Mode].ID, Outcome: test.Outcomes[k].ID}, block, test.Source, g.P[k], row[k], rowsAt[block]+k, total(block))
			}
		}
	}
	for c := range f.change {
		mv := &f.change[c]
		for _, block := range append(slices.Clone(mv.fixes), mv.risks...) {
			b := &f.blocks[block]
			x := Figure{Mode: m.Modes[b.Mode].ID, Leave: b.Leave}
			if b.Repair >= 0 {
				x.Repair = m.Repairs[b.Repair].ID
			} else {
				x.Setup = m.Setups[b.Setup].ID
			}
			add(x, block, b.Source, f.ship[b.at], fit.numbers[b.at], b.at, total(block))
		}
	}
	return all
}

func logit(p float64) float64 { return math.Log(p) - math.Log(1-p) }

// A Memory is what a repair was found to remember.
type Memory struct {
	Repair  model.RepairID `json:"repair"`
	Shipped float64        `json:"shipped"` // steadiness
	Now     float64        `json:"now"`
	Seen    float64        `json:"seen"` // expected further tries of what had failed before
}

// An Account says what was learnt, for a person to read before they say yes to it.
type Account struct {
	Model    string   `json:"model"`
	Revision string   `json:"revision"`
	Units    int      `json:"units"`
	Rounds   int      `json:"rounds"`
	Trust    float64  `json:"trust"` // how many times what their sources say the shipped numbers were taken to be worth
	Gain     float64  `json:"gain"`  // of the log likelihood a unit, against the shipped numbers, nats
	Wrong    Figure   `json:"wrong_causes"`
	Moved    []Figure `json:"moved"` // farthest first
	Memories []Memory `json:"memories,omitempty"`
	Benches  []Bench  `json:"benches,omitempty"` // whose counts were taken in
	Left     []string `json:"left_out,omitempty"`
}

// Trusts reports whether the shipped numbers count for more than their sources say, by as much as is worth telling.
func (a Account) Trusts() bool { return a.Trust >= trustTold }

// Account returns what moved: every number that was learnt, those that moved farthest, by the
// ratio of their odds, first.
func (fit *Fit) Account() Account {
	f := fit.frame
	a := Account{Model: f.model.ID, Revision: f.model.Revision, Units: fit.Units, Rounds: fit.Rounds, Trust: fit.Trust}
	if fit.Units > 0 {
		a.Gain = (fit.Log - fit.Shipped) / float64(fit.Units)
	}
	named := 0.0
	for i := range fit.groups {
		if g := &fit.groups[i]; g.shape.named() {
			named += g.n
		}
	}
	a.Wrong = Figure{Kind: Record, Shipped: recordWrong, P: f.row(fit.numbers, f.record)[0], Seen: named, Weight: recordWeight, Grade: model.Memory}
	if fit.spans != nil {
		a.Wrong.Interval = &fit.spans[f.blocks[f.record].at]
	}
	a.Wrong.Learnt = a.Wrong.Seen > 0
	for _, x := range fit.Figures() {
		if x.Learnt {
			a.Moved = append(a.Moved, x)
		}
	}
	farthest(a.Moved)
	for c := range f.change {
		if mv := &f.change[c]; mv.kappa > 0 && fit.tries[c] > 0 {
			a.Memories = append(a.Memories, Memory{f.model.Repairs[mv.repair].ID, mv.kappa, fit.kappa[c], fit.tries[c]})
		}
	}
	for _, b := range fit.benches {
		a.Benches = append(a.Benches, Bench{ID: b.ID, Units: b.Units})
	}
	for _, left := range fit.Left {
		a.Left = append(a.Left, left.ID+": "+left.Err.Error())
	}
	return a
}

// Taught returns what one unit taught: the numbers that are not the same without it, those that it
// moved farthest first, with the number without it as Shipped and that of fit as P. Learnt is true of
// them all.
func (l *Learner) Taught(fit *Fit, id string, o Options) ([]Figure, error) {
	rest := &Learner{frame: l.frame, trails: map[string]kept{}, others: l.others}
	for other, k := range l.trails {
		if other != id {
			rest.trails[other] = k
		}
	}
	o.start, o.trust = func(numbers []float64) { copy(numbers, fit.numbers) }, fit.Trust
	without, err := rest.Fit(o)
	if err != nil {
		return nil, err
	}
	before, now := without.Figures(), fit.Figures()
	var all []Figure
	for i, x := range now {
		x.Shipped = before[i].P
		x.Learnt = math.Abs(logit(x.P)-logit(x.Shipped)) > learntShare
		if x.Learnt {
			all = append(all, x)
		}
	}
	farthest(all)
	return all, nil
}

// farthest sorts by how far numbers moved, by the ratio of their odds.
func farthest(all []Figure) {
	far := func(x Figure) float64 { return math.Abs(logit(x.P) - logit(x.Shipped)) }
	sort.SliceStable(all, func(i, j int) bool { return far(all[i]) > far(all[j]) })
}
