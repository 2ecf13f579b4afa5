package bench

import (
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// A Cost is what one thing that was done cost by the numbers of the model.
type Cost struct {
	N       int // the event
	Kind    trail.Kind
	Step    plan.Step  // of a result or a repair
	Move    model.Move // of a setup step
	Minutes float64
	Money   float64 // in the currency of the terms that stand now
}

// Costs returns what each result, each repair and each setup step walked by the live events
// cost, in order. What the owner tells is free. Without a model there are none. Money is at the rate that stood
// when it was spent; what was spent under another currency is at the rate of now.
func (u *Unit) Costs() []Cost {
	if u.Model == nil {
		return nil
	}
	var all []Cost
	terms, now := u.Trail.Terms, u.Terms()
	at := u.Model.Root
	for _, e := range u.live() {
		add := func(c Cost) {
			rate := terms.Rate()
			if terms.Currency != now.Currency {
				rate = now.Rate()
			}
			c.N, c.Kind, c.Money = e.N, e.Kind, c.Money*rate
			all = append(all, c)
		}
		switch e.Kind {
		case trail.NewTerms:
			terms = *e.Terms
		case trail.Result, trail.Repair:
			if s, ok := StepOf(u.Model, e.Test, e.Repair); ok && !u.Told(e.Test) {
				task := u.Task(s)
				add(Cost{Step: s, Minutes: task.Minutes, Money: task.Money})
			}
		case trail.Setup:
			to, ok := u.Model.Setup(e.Setup)
			if !ok {
				continue
			}
			for _, mv := range u.Model.Way(at, to.Index) {
				work, _ := u.Model.Move(mv)
				add(Cost{Move: mv, Minutes: work.Minutes, Money: work.Money})
			}
			at = to.Index
		}
	}
	return all
}

// Spent adds up what was done so far.
func (u *Unit) Spent() (minutes, money float64) {
	for _, c := range u.Costs() {
		minutes += c.Minutes
		money += c.Money
	}
	return minutes, money
}

// Money returns what money of the model comes to in the currency of the terms that stand.
func (u *Unit) Money(model float64) float64 { return float64(model * u.Terms().Rate()) }
