package sim

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"pitwise/engine/belief"
	"pitwise/engine/plan"
)

// ErrEndless says that a policy went on and on.
var ErrEndless = errors.New("sim: no end after 10,000 steps")

// mostSteps bounds one unit's evening.
const mostSteps = 10_000

// A Run is what one unit came to.
type Run struct {
	Cost      float64 // whole cost, Currency
	Minutes   float64
	Money     float64 // parts and the like, without what an ending costs, Currency
	Steps     int     // steps before the ending
	SignedOff bool
	Faulty    bool      // when it ended
	Decide    []float64 // what the clock said of each decision that was not remembered, milliseconds; nil without a clock
}

// Play takes one unit from its intake to its end. clock, if given, returns milliseconds and
// is only used for Decide.
func Play(p *plan.Problem, policy Policy, u *Unit, intake int, clock func() float64) (Run, error) {
	s := p.Space()
	m := s.Model()
	b := &Bench{Problem: p, Unit: u}
	b.Situation = plan.Situation{Belief: s.Prior(), Setup: m.Root}
	b.Outcomes = make([]int, len(m.Tests))
	for t := range b.Outcomes {
		b.Outcomes[t] = -1
	}
	b.Repaired = make([]int, len(m.Repairs))
	b.Last = plan.Step{Kind: plan.DoTest, Index: m.Intake}
	b.Outcomes[m.Intake] = intake
	b.note(b.Last, intake)
	if err := b.Belief.Observe(m.Intake, belief.Named(&m.Tests[m.Intake], intake)); err != nil {
		return Run{}, err
	}
	var r Run
	for ; r.Steps <= mostSteps; r.Steps++ {
		var start float64
		if clock != nil {
			start = clock()
		}
		b.Recalled = false
		step, err := policy.Next(b)
		if err != nil {
			return r, err
		}
		if clock != nil && !b.Recalled {
			r.Decide = append(r.Decide, clock()-start)
		}
		r.Cost += p.StepCost(step, b.Setup)
		if step.Kind == plan.WriteOff {
			r.Cost += p.Loss
			r.Faulty = u.Faulty()
			return r, nil
		}
		if err := b.do(step, &r); err != nil {
			return r, err
		}
		if step.Kind == plan.SignOff {
			r.SignedOff, r.Faulty = true, u.Faulty()
			if r.Faulty {
				r.Cost += p.Comeback
			}
			return r, nil
		}
		b.Last = step
	}
	return r, ErrEndless
}

// do takes the way to a step and does it.
func (b *Bench) do(step plan.Step, r *Run) error {
	m := b.model()
	minutes, money := b.StepWork(step, b.Setup)
	r.Minutes += minutes
	r.Money += money
	changes := b.WayChanges(step, b.Setup)
	b.Setup = b.At(step, b.Setup)
	if step.Kind == plan.DoRepair {
		changes = append(changes[:len(changes):len(changes)], m.Repairs[step.Index].Change)
		b.Repaired[step.Index]++
	}
	for _, c := range changes {
		b.Unit.Apply(c)
		if err := b.Belief.Apply(c); err != nil {
			return err
		}
		for t := range b.Outcomes {
			if b.Outcomes[t] >= 0 && b.Space().Touches(c, t) {
				b.Outcomes[t] = -1
			}
		}
	}
	o := 0
	if step.Kind == plan.DoTest {
		o = b.Unit.Run(step.Index)
	}
	b.note(step, o)
	if step.Kind == plan.DoTest {
		b.Outcomes[step.Index] = o
		return b.Belief.Observe(step.Index, belief.Named(&m.Tests[step.Index], o))
	}
	return nil
}

// note adds a step and what came of it to the path.
func (b *Bench) note(s plan.Step, outcome int) {
	b.Path = append(b.Path, s.Kind[0], byte(s.Index), byte(s.Index>>8), byte(outcome))
}

// A Summary is what many units came to under one policy.
type Summary struct {
	Units         int
	MeanCost      float64 // Currency
	StandardError float64 // of MeanCost, Currency
	MeanMinutes   float64
	MeanMoney     float64   // Currency
	Fixed         float64   // share that was signed off with nothing wrong
	WrittenOff    float64   // share
	ComeBack      float64   // share that was signed off with a fault left
	Steps         float64   // mean number before the ending
	Decide        []float64 // of all decisions, in order; milliseconds
}

// PlayAll plays the first units of a seed, on so many goroutines, each with a policy of its
// own. Each run goes to its unit's place, so that the answer does not depend on their
// number. done, if given, is called after each unit.
func PlayAll(p *plan.Problem, policy func() (Policy, error), seed uint64, units, goroutines int, clock func() float64, done func()) ([]Run, error) {
	runs := make([]Run, units)
	errs := make([]error, goroutines)
	var wait sync.WaitGroup
	next := make(chan int)
	stop := make(chan struct{})
	var once sync.Once
	for g := range goroutines {
		wait.Go(func() {
			mine, err := policy()
			for n := range next {
				if err == nil {
					u, intake := Draw(p.Space(), seed, n)
					runs[n], err = Play(p, mine, u, intake, clock)
					if err != nil {
						err = fmt.Errorf("unit %d: %w", n, err)
					}
				}
				if err != nil {
					errs[g] = err
					once.Do(func() { close(stop) })
				}
				if done != nil {
					done()
				}
			}
		})
	}
feed:
	for n := range units {
		select {
		case next <- n:
		case <-stop:
			break feed
		}
	}
	close(next)
	wait.Wait()
	return runs, errors.Join(errs...)
}

// Summarise adds runs up, in their order.
func Summarise(runs []Run) Summary {
	s := Summary{Units: len(runs)}
	n := float64(len(runs))
	steps, fixed, writtenOff, comeBack := 0, 0, 0, 0
	for _, r := range runs {
		s.MeanCost += r.Cost
		s.MeanMinutes += r.Minutes
		s.MeanMoney += r.Money
		steps += r.Steps
		switch {
		case !r.SignedOff:
			writtenOff++
		case r.Faulty:
			comeBack++
		default:
			fixed++
		}
		s.Decide = append(s.Decide, r.Decide...)
	}
	s.MeanCost /= n
	s.MeanMinutes /= n
	s.MeanMoney /= n
	s.Steps = float64(steps) / n
	s.Fixed, s.WrittenOff, s.ComeBack = float64(fixed)/n, float64(writtenOff)/n, float64(comeBack)/n
	sum := 0.0
	for _, r := range runs {
		d := r.Cost - s.MeanCost
		sum += float64(d * d)
	}
	if n > 1 {
		s.StandardError = math.Sqrt(sum / (n - 1) / n)
	}
	return s
}
