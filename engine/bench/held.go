package bench

import (
	"slices"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// A Held is a step that is not on offer, and why.
type Held struct {
	Step  plan.Step
	Why   HeldWhy
	Lacks []model.ToolID // of HeldTools
	Skip  trail.Event    // of HeldSkipped
	After []model.Seen   // of HeldNotYet: any of these results puts it on offer
}

// HeldWhy says why a step is not on offer.
type HeldWhy string

const (
	HeldTools   HeldWhy = "tools"   // a tool is not at hand
	HeldSkipped HeldWhy = "skipped" // the person said: not now
	HeldNotYet  HeldWhy = "not-yet" // a repair that comes only after a result
)

// Held returns what is not on offer, tests before repairs, each in the model's order, with
// the first reason of the three. What the owner tells is no step.
func (u *Unit) Held() []Held {
	var all []Held
	hand := u.Terms().Tools
	skipped, seen := u.Skipped(), u.seen()
	for i := range u.Model.Tests {
		t := &u.Model.Tests[i]
		h := Held{Step: plan.Step{Kind: plan.DoTest, Index: i}}
		if h.Lacks = lacks(t.Needs, hand); len(h.Lacks) > 0 {
			h.Why = HeldTools
		} else if h.Lacks = u.Model.Missing(t, seen); len(h.Lacks) > 0 {
			h.Why = HeldTools
		} else if skipped[i] {
			h.Why = HeldSkipped
			h.Skip, _ = u.Skip(i)
		}
		if h.Why != "" && !t.Told {
			all = append(all, h)
		}
	}
	for i := range u.Model.Repairs {
		r := &u.Model.Repairs[i]
		h := Held{Step: plan.Step{Kind: plan.DoRepair, Index: i}}
		if h.Lacks = lacks(r.Needs, hand); len(h.Lacks) > 0 {
			h.Why = HeldTools
		} else if !u.Model.Allows(&r.OnlyAfter, seen, hand) {
			h.Why, h.After = HeldNotYet, r.OnlyAfter.Any
		}
		if h.Why != "" {
			all = append(all, h)
		}
	}
	return all
}

// HeldBy returns why a step is not on offer, false if it is.
func (u *Unit) HeldBy(s plan.Step) (Held, bool) {
	all := u.Held()
	if i := slices.IndexFunc(all, func(h Held) bool { return h.Step == s }); i >= 0 {
		return all[i], true
	}
	return Held{}, false
}

// OpenedBy returns the results that put a repair on offer that asks for one, in the order of
// the model's list; nil if it asks for none.
func (u *Unit) OpenedBy(repair int) []model.Seen {
	var all []model.Seen
	seen := u.seen()
	for _, x := range u.Model.Repairs[repair].OnlyAfter.Any {
		if o := seen[x.Test]; o >= 0 && slices.Contains(x.Outcomes, o) {
			all = append(all, model.Seen{Test: x.Test, Outcomes: []int{o}})
		}
	}
	return all
}

// seen returns the last live outcome of each test, -1 for none.
func (u *Unit) seen() []int { return u.seenAfter(0) }

// seenAfter is seen of the events after the n-th.
func (u *Unit) seenAfter(n int) []int {
	all := make([]int, len(u.Model.Tests))
	for i := range all {
		all[i] = -1
	}
	for _, e := range u.live() {
		if t, ok := u.Model.Test(e.Test); ok && e.Kind == trail.Result && e.N > n {
			all[t.Index] = OutcomeOf(t, e)
		}
	}
	return all
}

// OutcomeOf returns the outcome that a result counts as where one has to be named, an index
// in t.Outcomes: the one that was named, or of a reading the one with the largest weight, the first listed
// if equal; -1 if the test does not have it.
func OutcomeOf(t *model.Test, e *trail.Event) int {
	if e.Reading == nil {
		if o, ok := t.Outcome(e.Outcome); ok {
			return o
		}
		return -1
	}
	if t.Reading == nil {
		return -1
	}
	return trail.Heaviest(belief.Weights(t, *e.Reading))
}
