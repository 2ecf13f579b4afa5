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

// Tools returns the tools to weigh on a bench: those that it does not have at hand, or all where it has
// every one.
func Tools(m *model.Model, terms trail.Terms) []model.ToolID {
	var all, away []model.ToolID
	for _, t := range m.BenchTools() {
		all = append(all, t.ID)
		if !slices.Contains(terms.Tools, t.ID) {
			away = append(away, t.ID)
		}
	}
	if len(away) > 0 {
		return away
	}
	return all
}

// Options say how to go about it.
type Options struct {
	Units int    // to play; at least 2
	Seed  uint64 // of the units
	Cores int    // goroutines; the answer does not depend on it
	Quick bool   // decide as plan.Planner's Quick does: a tenth of the time, and plans that cost more
	Told  func() // called after each unit of each game, by many goroutines
	Stop  func() bool
}

func (o Options) stopped() error {
	if o.Stop != nil && o.Stop() {
		return ErrStopped
	}
	return nil
}

// Of plays units without and with each of the tools, and returns what each saves, in their order,
// and what the units came to without any of them. A tool that is in the terms is taken
// out of them for its own game without it.
func Of(s *belief.Space, terms trail.Terms, tools []model.ToolID, o Options) ([]Tool, sim.Summary, error) {
	if o.Units < 2 {
		return nil, sim.Summary{}, fmt.Errorf("worth: %d units, want at least 2", o.Units)
	}
	return NewStudy(s, terms, tools).Play(o)
}

// A Study weighs tools, some units at a time: what it has played stands, and what it says gets finer. It is
// not safe for concurrent use.
type Study struct {
	space *belief.Space
	base  *game
	pairs []pair           // by tool
	games map[string]*game // by the tools at hand: many games without are the same
}

// A pair is the games without and with a tool.
type pair struct {
	tool          model.ToolID
	without, with *game
}

// A game is units played with some tools at hand.
type game struct {
	terms   trail.Terms
	planner plan.Planner
	memory  sim.Memory
	runs    []sim.Run
}

// NewStudy begins to weigh tools, as Of does.
func NewStudy(s *belief.Space, terms trail.Terms, tools []model.ToolID) *Study {
	study := &Study{space: s, games: map[string]*game{}}
	at := func(hand []model.ToolID) *game {
		hand = slices.Compact(slices.Sorted(slices.Values(hand)))
		key := fmt.Sprint(hand)
		if study.games[key] == nil {
			g := &game{terms: terms}
			g.terms.Tools = hand
			study.games[key] = g
		}
		return study.games[key]
	}
	study.base = at(terms.Tools)
	for _, id := range tools {
		without := slices.DeleteFunc(slices.Clone(terms.Tools), func(x model.ToolID) bool { return x == id })
		study.pairs = append(study.pairs, pair{id, at(without), at(append(slices.Clone(without), id))})
	}
	return study
}

// Games returns in how many games each unit is played.
func (s *Study) Games() int { return len(s.games) }

// Play plays so many units more, and returns what all of them come to. One that was stopped has to be
// begun anew.
func (s *Study) Play(o Options) ([]Tool, sim.Summary, error) {
	order := []*game{s.base}
	for _, p := range s.pairs {
		order = append(order, p.without, p.with)
	}
	until := len(s.base.runs) + o.Units
	for _, g := range order {
		if err := g.play(s.space, until-len(g.runs), o); err != nil {
			return nil, sim.Summary{}, err
		}
	}
	var all []Tool
	for _, p := range s.pairs {
		all = append(all, compare(p.tool, p.without.runs, p.with.runs))
	}
	return all, sim.Summarise(s.base.runs), nil
}

// compare takes the differences unit by unit.
func compare(id model.ToolID, without, with []sim.Run) Tool {
	t := Tool{ID: id}
	n := float64(len(with))
	mended := func(r sim.Run) float64 {
		if r.Mended() {
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

// play plays so many units more, if any.
func (g *game) play(s *belief.Space, units int, o Options) (err error) {
	if units == 0 {
		return nil
	}
	if g.planner == nil {
		if g.planner, err = plan.New(s, g.terms); err != nil {
			return err
		}
	}
	for !g.planner.Grow() {
		if err := o.stopped(); err != nil {
			return err
		}
	}
	var policy sim.Policy = sim.Planned{Planner: g.planner}
	if o.Quick {
		policy = sim.Quick{Planner: g.planner}
	}
	games := sim.Games{Problem: plan.NewProblem(s, g.terms), Seed: o.Seed, From: len(g.runs), Units: units, Goroutines: max(o.Cores, 1),
		Policy: func() (sim.Policy, error) { return sim.Until{Policy: g.memory.Of(policy), Stopped: o.stopped}, nil }}
	if o.Told != nil {
		games.Done = func(int, sim.Run, []trail.Event) error { o.Told(); return nil }
	}
	runs, err := games.Play()
	if err == nil {
		g.runs = append(g.runs, runs...)
	}
	return err
}
