package bench

import (
	"slices"

	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// DoubtBelow is the probability of a result given all the others below which it is
// worth another look.
const DoubtBelow = 0.05

// hearsayBelow is that for what the owner says: a complaint that starts now and then do not bear out is what such a unit is brought in for.
const hearsayBelow = 0.01

// Doubtful returns the result that sits worst with the others, if it is worth another look. While there are only answers of
// the owner none is: what few complain of is rare, not odd.
func (u *Unit) Doubtful() (trail.Doubt, bool) {
	if u.Account != nil && !u.tried() {
		return trail.Doubt{}, false
	}
	worst := trail.Doubt{P: DoubtBelow}
	for _, d := range u.Doubts {
		limit := worst.P
		if u.Trail != nil && u.Told(u.Trail.Events[d.N-1].Test) {
			limit = min(limit, hearsayBelow)
		}
		if d.P < limit {
			worst = d
		}
	}
	return worst, worst.N > 0
}

// tried reports whether a test was run at the bench.
func (u *Unit) tried() bool {
	for t, outcome := range u.Account.Seen {
		if outcome >= 0 && !u.Model.Tests[t].Told {
			return true
		}
	}
	return false
}

// SupportedFrom is the probability at the origin from which on a fault is offered as what it was.
const SupportedFrom = 0.05

// Supported returns the modes that may be offered as what was wrong when the unit came in, the most
// probable first: those that the odds of the origin (while it is not worked out, of now) support. They
// are offered; what it was only a person can say.
func (u *Unit) Supported() []int {
	odds, ok := u.Now()
	if u.Origin != nil {
		odds, ok = *u.Origin, true
	}
	if !ok {
		return nil
	}
	var all []int
	for _, i := range odds.Ranked() {
		if odds.Modes[i] >= SupportedFrom {
			all = append(all, i)
		}
	}
	return all
}

// PartFrom is what a repair costs from which on it needs a part that one orders, rather than
// swabs or a drop of grease, in the model's currency.
const PartFrom = 1.0

// Spares returns the repairs that need a part and take a supported suspect away, by index, those of
// the most probable suspect first: what a unit may have to wait for.
func (u *Unit) Spares() []int {
	var all []int
	for _, mode := range u.Supported() {
		for i := range u.Model.Repairs {
			fixes := func(c model.Chance) bool { return c.Mode == mode && c.P > 0 }
			r := &u.Model.Repairs[i]
			if r.Money >= PartFrom && slices.ContainsFunc(r.Change.Fixes, fixes) && !slices.Contains(all, i) {
				all = append(all, i)
			}
		}
	}
	return all
}

// A Want is a tool that stands between a suspect and its repair.
type Want struct {
	Mode   int // the suspect
	P      float64
	Repair int            // the surest repair of it whose tools are not all at hand
	Lacks  []model.ToolID // of that repair
}

// WantedFrom is the probability from which on a suspect that no repair on offer takes away is worth a word.
const WantedFrom = 0.10

// Wants returns the suspects that a repair whose tools are not at hand would take away markedly
// more surely (by a ninth) than any whose tools are, the most probable first. Where writing off leads, this is what it may hang on.
func (u *Unit) Wants() []Want {
	odds, ok := u.Now()
	if !ok {
		return nil
	}
	held := map[int]Held{}
	for _, h := range u.Held() {
		if h.Step.Kind == plan.DoRepair {
			held[h.Step.Index] = h
		}
	}
	var all []Want
	for _, mode := range odds.Ranked() {
		if odds.Modes[mode] < WantedFrom {
			break
		}
		w, chance, free := Want{Mode: mode, P: odds.Modes[mode], Repair: -1}, 0.0, 0.0
		for i := range u.Model.Repairs {
			for _, c := range u.Model.Repairs[i].Change.Fixes {
				if c.Mode != mode || c.P == 0 {
					continue
				}
				h, is := held[i]
				if !is || h.Why != HeldTools {
					free = max(free, c.P)
				} else if c.P > chance {
					w.Repair, w.Lacks, chance = i, h.Lacks, c.P
				}
			}
		}
		if w.Repair >= 0 && free < 0.9*chance {
			all = append(all, w)
		}
	}
	return all
}
