package bench

import (
	"cmp"
	"math"
	"slices"

	"pitwise/engine/model"
	"pitwise/engine/plan"
)

// A Reason is one thing that speaks for a proposal, or that is to be known with it. Only
// the fields of its kind are set.
type Reason struct {
	Kind   ReasonKind
	Text   string       // ReasonTells: the model's own sentence
	Modes  [2]int       // ReasonSeparates: the two; ReasonMends: the first
	Bits   float64      // ReasonSeparates: of which of the two it is
	P      float64      // ReasonMends: the mode's odds now; ReasonLeft: that a fault is left
	Chance float64      // ReasonMends: that the repair takes it away
	N      int          // ReasonAgain: the next run or try is the n-th
	Seen   []model.Seen // ReasonOpened: by which results it is on offer
	Step   plan.Step    // ReasonSaves: the best other step
	First  bool         // ReasonSaves: it is the one proposed, whatever it saves
	Money  float64      // ReasonSaves: less than by Step, negative if more, 0 if as good; ReasonProof: what one more run is worth
	Ends   [2]float64   // ReasonEnds: what signing off and writing off cost now
	Want   Want         // ReasonWants
}

// ReasonKind says what a reason is about.
type ReasonKind string

const (
	ReasonTells     ReasonKind = "tells"     // what a test's result or a repair tells, in the model's words
	ReasonAgain     ReasonKind = "again"     // a test or a repair that was done before, since when nothing touched it
	ReasonBack      ReasonKind = "back"      // the proof of a unit that was signed off, came back and was not started since, and signing it off
	ReasonShut      ReasonKind = "shut"      // the proof of a unit that would else be signed off as it stands open
	ReasonOpened    ReasonKind = "opened"    // a repair that comes only after a result, and which that was
	ReasonSeparates ReasonKind = "separates" // a test, by the two modes it tells apart best
	ReasonMends     ReasonKind = "mends"     // a repair, by a mode that it takes away
	ReasonLeft      ReasonKind = "left"      // signing off: the odds that a fault is left
	ReasonEnds      ReasonKind = "ends"      // an ending: what both endings cost now
	ReasonProof     ReasonKind = "proof"     // signing off: what one more run of the proof is worth before it
	ReasonWants     ReasonKind = "wants"     // writing off: a tool stands between a suspect and its repair
	ReasonSaves     ReasonKind = "saves"     // against the best other step
)

// secondFrom is how far the second mode that a repair takes away may be behind the first and
// still be told: as a part of the first.
const secondFrom = 0.2

// apartFrom is how many bits a test has to tell of which of two faults it is before it is said to tell them
// apart.
const apartFrom = 0.05

// Reasons returns why a proposal stands where it stands, in the order in which it is told. The account must be there
// for a repair; p is of this unit.
func (u *Unit) Reasons(p plan.Proposal) []Reason {
	m, r := u.Model, p.Reason
	shuts := u.shuts(p)
	var all []Reason
	if why := u.Task(p.Step).Why; why != "" {
		all = append(all, Reason{Kind: ReasonTells, Text: why})
	}
	switch p.Step.Kind {
	case plan.DoTest:
		if p.Step.Index == m.Proof && u.Unseen() {
			all = append(all, Reason{Kind: ReasonBack})
		} else if shuts {
			all = append(all, Reason{Kind: ReasonShut})
		} else if n := u.Runs(p.Step.Index); n > 0 {
			all = append(all, Reason{Kind: ReasonAgain, N: n + 1})
		}
		if a, b := r.Separates[0], r.Separates[1]; a >= 0 && b >= 0 && a != b && r.Bits >= apartFrom {
			all = append(all, Reason{Kind: ReasonSeparates, Modes: [2]int{a, b}, Bits: r.Bits})
		}
	case plan.DoRepair:
		if n := u.Tries(p.Step.Index); n > 0 {
			all = append(all, Reason{Kind: ReasonAgain, N: n + 1})
		}
		if by := u.OpenedBy(p.Step.Index); len(by) > 0 {
			all = append(all, Reason{Kind: ReasonOpened, Seen: by})
		}
		odds, _ := u.Now()
		all = append(all, mends(&m.Repairs[p.Step.Index], u.chances(p.Step.Index), odds.Modes)...)
	case plan.SignOff:
		if u.Unseen() {
			all = append(all, Reason{Kind: ReasonBack})
		}
		all = append(all, Reason{Kind: ReasonLeft, P: p.Left}, Reason{Kind: ReasonEnds, Ends: [2]float64{r.SignOff, r.WriteOff}})
		if r.Proof == r.Proof { // NaN where the proof cannot be run
			all = append(all, Reason{Kind: ReasonProof, Money: r.Proof})
		}
	case plan.WriteOff:
		all = append(all, Reason{Kind: ReasonEnds, Ends: [2]float64{r.SignOff, r.WriteOff}})
	}
	for _, w := range u.Wants() {
		if p.Step.Kind == plan.WriteOff || w.P >= likely {
			all = append(all, Reason{Kind: ReasonWants, Want: w})
		}
	}
	if r.Other.Kind != "" && r.Other != p.Step && !shuts {
		saves := r.Saves
		if math.Abs(saves) <= p.Within {
			saves = 0 // the totals are not known more finely
		}
		all = append(all, Reason{Kind: ReasonSaves, Step: r.Other, First: r.First, Money: saves})
	}
	return all
}

// shuts reports whether a proposal is the proof, put before signing off a unit that stands open.
func (u *Unit) shuts(p plan.Proposal) bool {
	proof, _ := u.Proof()
	return p.Step == proof && u.Open() && p.Reason.Other.Kind == plan.SignOff && p.Reason.Saves < -p.Within
}

// likely is from what odds on a suspect that a missing tool would mend is told of beside any step.
const likely = 0.5

// chances returns with which chance each fix of a repair works now: what failed before mostly fails again.
func (u *Unit) chances(repair int) []model.Chance {
	r := &u.Model.Repairs[repair]
	if u.Account == nil || u.Account.Tries == nil {
		return r.Change.Fixes
	}
	return r.After(u.Account.Tries[repair]).Fixes
}

// mends returns what a repair most probably takes away now, and a second thing only if
// that is not far behind.
func mends(r *model.Repair, fixes []model.Chance, odds []float64) []Reason {
	if len(odds) == 0 {
		return nil
	}
	gain := func(c model.Chance) float64 { return odds[c.Mode] * c.P }
	fixes = slices.Clone(fixes)
	slices.SortStableFunc(fixes, func(a, b model.Chance) int { return cmp.Compare(gain(b), gain(a)) })
	var all []Reason
	for _, c := range fixes[:min(len(fixes), 2)] {
		if gain(c) < secondFrom*gain(fixes[0]) {
			break
		}
		all = append(all, Reason{Kind: ReasonMends, Modes: [2]int{c.Mode, -1}, P: odds[c.Mode], Chance: c.P})
	}
	return all
}
