package sim

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
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
	Faulty    bool // when it ended
	Odd       Odd
	Decide    []float64 // what the clock said of each decision that was not remembered, milliseconds; nil without a clock
}

// Mended reports whether the unit left the bench sound.
func (r *Run) Mended() bool { return r.SignedOff && !r.Faulty }

// begin puts a unit on the bench with what is known of it.
func begin(p *plan.Problem, u *Unit, known []Answer) (*Bench, error) {
	s := p.Space()
	m := s.Model()
	b := &Bench{Problem: p, Unit: u}
	b.Situation = plan.Situation{Belief: s.Prior(), Setup: m.Root, Tries: m.Untried(), Seen: make([]int, len(m.Tests))}
	b.Outcomes = make([]int, len(m.Tests))
	for t := range b.Outcomes {
		b.Outcomes[t], b.Seen[t] = -1, -1
	}
	b.Repaired = make([]int, len(m.Repairs))
	for _, a := range known {
		step := plan.Step{Kind: plan.DoTest, Index: a.Test}
		b.note(step, a.Outcome)
		if err := b.see(a); err != nil {
			return nil, err
		}
		b.Last = step
	}
	b.Last = plan.Step{Kind: plan.DoTest, Index: m.Intake}
	return b, nil
}

// Play takes one unit from what is known of it at first to its end. The unit may have been drawn
// from another model than the policy's, of the same parts. clock, if given, returns
// milliseconds and is only used for Decide.
func Play(p *plan.Problem, policy Policy, u *Unit, known []Answer, clock func() float64) (Run, error) {
	r, _, err := play(p, policy, u, known, clock)
	return r, err
}

func play(p *plan.Problem, policy Policy, u *Unit, known []Answer, clock func() float64) (Run, *Bench, error) {
	b, err := begin(p, u, known)
	if err != nil {
		return Run{}, nil, err
	}
	var r Run
	for watch := newWatch(b); r.Steps <= mostSteps; r.Steps++ {
		var start float64
		if clock != nil {
			start = clock()
		}
		b.Recalled = false
		step, err := policy.Next(b)
		if err != nil {
			return r, b, err
		}
		if clock != nil && !b.Recalled {
			r.Decide = append(r.Decide, clock()-start)
		}
		watch.step(step, &r.Odd)
		r.Cost += p.StepCost(step, b.Setup)
		if step.Kind == plan.WriteOff {
			r.Cost += p.Loss
			r.Faulty = u.Faulty()
			b.event(trail.Event{Kind: trail.End, As: trail.WrittenOff})
			return r, b, nil
		}
		if err := b.do(step, &r); err != nil {
			return r, b, err
		}
		if step.Kind == plan.SignOff {
			r.SignedOff, r.Faulty = true, u.Faulty()
			if r.Faulty {
				r.Cost += p.Comeback
				r.Odd.SignedOff++
			}
			b.end()
			return r, b, nil
		}
		b.Last = step
	}
	return r, b, ErrEndless
}

// do takes the way to a step and does it.
func (b *Bench) do(step plan.Step, r *Run) error {
	m := b.model()
	minutes, money := b.StepWork(step, b.Setup)
	r.Minutes += minutes
	r.Money += money
	b.minutes += minutes
	to := b.At(step, b.Setup)
	b.Unit.Move(b.Setup, to)
	for _, c := range b.WayChanges(step, b.Setup) {
		if err := b.change(c); err != nil {
			return err
		}
		b.Tries = m.Disturbed(b.Tries, c)
	}
	if to != b.Setup {
		b.event(trail.Event{Kind: trail.Setup, Setup: m.Setups[to].ID})
	}
	b.Setup = to
	switch step.Kind {
	case plan.DoRepair:
		b.Unit.Repair(step.Index)
		c := m.Repairs[step.Index].Change
		if b.Tries != nil {
			c = m.Repairs[step.Index].After(b.Tries[step.Index])
		}
		if err := b.change(c); err != nil {
			return err
		}
		b.Tries = m.Tried(b.Tries, step.Index)
		b.Repaired[step.Index]++
		b.note(step, 0)
		b.event(trail.Event{Kind: trail.Repair, Repair: m.Repairs[step.Index].ID})
	case plan.DoTest:
		o := b.Unit.Run(step.Index)
		b.note(step, o)
		return b.see(Answer{step.Index, o})
	}
	return nil
}

// see takes in what a test showed.
func (b *Bench) see(a Answer) error {
	t := &b.model().Tests[a.Test]
	b.Outcomes[a.Test] = a.Outcome
	b.Seen = slices.Clone(b.Seen) // a policy may have kept the situation
	b.Seen[a.Test] = a.Outcome
	b.event(trail.Event{Kind: trail.Result, Test: t.ID, Outcome: t.Outcomes[a.Outcome].ID})
	return b.Belief.Observe(a.Test, belief.Named(t, a.Outcome))
}

// change takes a change into what is believed.
func (b *Bench) change(c model.Change) error {
	if err := b.Belief.Apply(c); err != nil {
		return err
	}
	for t := range b.Outcomes {
		if b.Outcomes[t] >= 0 && b.Space().Touches(c, t) {
			b.Outcomes[t] = -1
		}
	}
	return nil
}

// event adds an event to what a trail of the evening holds.
func (b *Bench) event(e trail.Event) {
	e.N = len(b.Events) + 1
	e.At = came.Add(time.Duration(float64(b.minutes * float64(time.Minute)))).Format("2006-01-02T15:04:05Z")
	b.Events = append(b.Events, e)
}

// came is when every simulated unit comes in.
var came = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)

// Trail makes a trail of the events that Games hands over, under the problem's model and terms. No
// two trails of a bench may have the same id.
func Trail(p *plan.Problem, id string, events []trail.Event) *trail.Trail {
	m := p.Space().Model()
	return &trail.Trail{
		ID: id, Created: came.Format("2006-01-02T15:04:05Z"),
		Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Unit:  trail.Unit{Label: id}, Terms: p.Terms, Events: events,
	}
}

// mostStarts bounds how often a unit that was signed off with a fault is started by its owner.
const mostStarts = 50

// end records a sign-off: of a sound unit with what was wrong with it, of a faulty one with
// what its owner sees until it fails. The proof is run until it shows anything but its best
// outcome, and every run is recorded, so that the trail says no more than was seen.
func (b *Bench) end() {
	m := b.model()
	e := trail.Event{Kind: trail.End, As: trail.SignedOff}
	if !b.Unit.Faulty() {
		for _, i := range b.Unit.Origin() {
			e.Causes = append(e.Causes, m.Modes[i].ID)
		}
		b.event(e)
		return
	}
	b.event(e)
	b.event(trail.Event{Kind: trail.Note, Text: "It came back."})
	t := &m.Tests[m.Proof]
	for range mostStarts {
		o := b.Unit.Run(m.Proof)
		b.event(trail.Event{Kind: trail.Result, Test: t.ID, Outcome: t.Outcomes[o].ID})
		if o > 0 {
			return
		}
	}
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
	Odd           Odd       // over all units
	Decide        []float64 // of all decisions, in order; milliseconds
}

// PlayAll plays the first units of a seed, on so many goroutines, each with a policy of its
// own. Each run goes to its unit's place, so that the answer does not depend on their
// number. done, if given, is called after each unit.
func PlayAll(p *plan.Problem, policy func() (Policy, error), seed uint64, units, goroutines int, clock func() float64, done func()) ([]Run, error) {
	g := Games{Problem: p, Policy: policy, Seed: seed, Units: units, Goroutines: goroutines, Clock: clock}
	if done != nil {
		g.Done = func(int, Run, []trail.Event) error { done(); return nil }
	}
	return g.Play()
}

// Games are units to be played through a policy.
type Games struct {
	Problem    *plan.Problem
	Truth      *belief.Space          // what units are drawn from; the problem's space if nil. Comparable must hold
	Policy     func() (Policy, error) // called once a goroutine
	Seed       uint64
	From       int // number of the first unit
	Units      int
	Goroutines int
	Clock      func() float64 // of milliseconds, for Run.Decide; may be nil

	// Done, if given, is called after each unit with its number, what it came to and the
	// events of its trail, by many goroutines at once. An error ends the games.
	Done func(n int, r Run, events []trail.Event) error
}

// Play plays the units. Each run goes to its unit's place, so that the answer does not depend
// on the number of goroutines.
func (g Games) Play() ([]Run, error) {
	truth := g.Truth
	if truth == nil {
		truth = g.Problem.Space()
	}
	if err := Comparable(g.Problem.Space().Model(), truth.Model()); err != nil {
		return nil, err
	}
	runs := make([]Run, g.Units)
	errs := make([]error, g.Goroutines)
	var wait sync.WaitGroup
	next := make(chan int)
	stop := make(chan struct{})
	var once sync.Once
	for i := range g.Goroutines {
		wait.Go(func() {
			mine, err := g.Policy()
			for n := range next {
				if err == nil {
					var b *Bench
					u, known := Draw(truth, g.Seed, g.From+n)
					runs[n], b, err = play(g.Problem, mine, u, known, g.Clock)
					if err == nil && g.Done != nil {
						err = g.Done(g.From+n, runs[n], b.Events)
					}
					if err != nil {
						err = fmt.Errorf("unit %d: %w", g.From+n, err)
					}
				}
				if err != nil {
					errs[i] = err
					once.Do(func() { close(stop) })
				}
			}
		})
	}
feed:
	for n := range g.Units {
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
		s.Odd.add(r.Odd)
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
