// Package worth says what owning a tool saves a bench: which meter to buy next.
//
// A tool opens tests and repairs. What it saves is a matter of the whole plan, not of the tests
// alone: a test may be done in another way, or a unit written off without it. So the planner plays
// the same simulated units twice, without the tool and with it (Of), and the saving of a unit is the
// difference of what it cost. The units are the same as far as the plans are (common random
// numbers, package sim), which makes the standard error of the mean difference a fraction of that of
// either mean.
//
// All amounts are in the currency of the terms, per unit that is brought in. What a tool
// costs is not known here.
package worth

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/sim"
	"pitwise/engine/trail"
)

// ErrStopped says that whoever asked no longer waits.
var ErrStopped = errors.New("worth: stopped")

// A Tool is what one tool saves.
type Tool struct {
	ID            model.ToolID `json:"tool"`
	Saves         float64      `json:"saves"`          // mean cost without it less mean cost with it, Currency a unit
	StandardError float64      `json:"standard_error"` // of Saves
	Mended        float64      `json:"mended"`         // by how much the share of units that are mended grows
	Minutes       float64      `json:"minutes"`        // by how much the mean minutes on a unit grow
}

// Options say how to go about it.
type Options struct {
	Units int    // to play; at least 2
	Seed  uint64 // of the units
	Cores int    // goroutines; the answer does not depend on it
	Told  func() // called after each unit of each game, by many goroutines
	Stop  func() bool
}

// Of plays units without and with each of the tools, and returns what each saves, in their order,
// and what the units came to without any of them. A tool that is in the terms is taken
// out of them for its own game without it.
func Of(s *belief.Space, terms trail.Terms, tools []model.ToolID, o Options) ([]Tool, sim.Summary, error) {
	if o.Units < 2 {
		return nil, sim.Summary{}, fmt.Errorf("worth: %d units, want at least 2", o.Units)
	}
	games := map[string][]sim.Run{} // by the tools at hand: many games without are the same
	game := func(hand []model.ToolID) ([]sim.Run, error) {
		hand = slices.Compact(slices.Sorted(slices.Values(hand)))
		key := fmt.Sprint(hand)
		if runs, ok := games[key]; ok {
			return runs, nil
		}
		with := terms
		with.Tools = hand
		runs, err := play(s, with, o)
		games[key] = runs
		return runs, err
	}
	base, err := game(terms.Tools)
	if err != nil {
		return nil, sim.Summary{}, err
	}
	var all []Tool
	for _, id := range tools {
		without := slices.DeleteFunc(slices.Clone(terms.Tools), func(x model.ToolID) bool { return x == id })
		a, err := game(without)
		if err != nil {
			return nil, sim.Summary{}, err
		}
		b, err := game(append(without, id))
		if err != nil {
			return nil, sim.Summary{}, err
		}
		all = append(all, compare(id, a, b))
	}
	return all, sim.Summarise(base), nil
}

// compare takes the differences unit by unit.
func compare(id model.ToolID, without, with []sim.Run) Tool {
	t := Tool{ID: id}
	n := float64(len(with))
	mended := func(r sim.Run) float64 {
		if r.SignedOff && !r.Faulty {
			return 1
		}
		return 0
	}
	for i := range with {
		t.Saves += without[i].Cost - with[i].Cost
		t.Mended += mended(with[i]) - mended(without[i])
		t.Minutes += with[i].Minutes - without[i].Minutes
	}
	t.Saves /= n
	t.Mended /= n
	t.Minutes /= n
	sum := 0.0
	for i := range with {
		d := without[i].Cost - with[i].Cost - t.Saves
		sum += float64(d * d)
	}
	t.StandardError = math.Sqrt(sum / (n - 1) / n)
	return t
}

// stoppable is a policy that ends when asked to.
type stoppable struct {
	sim.Policy
	stop func() bool
}

func (p stoppable) Next(b *sim.Bench) (plan.Step, error) {
	if p.stop != nil && p.stop() {
		return plan.Step{}, ErrStopped
	}
	return p.Policy.Next(b)
}

func play(s *belief.Space, terms trail.Terms, o Options) ([]sim.Run, error) {
	planner, err := plan.New(s, terms)
	if err != nil {
		return nil, err
	}
	var memory sim.Memory
	policy := func() (sim.Policy, error) {
		return stoppable{memory.Of(sim.Planned{Planner: planner}), o.Stop}, nil
	}
	return sim.PlayAll(plan.NewProblem(s, terms), policy, o.Seed, o.Units, max(o.Cores, 1), nil, o.Told)
}
