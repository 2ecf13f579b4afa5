package main

import (
	"fmt"
	"io"
	"slices"
	"sync/atomic"

	"pitwise/app/words"
	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/lint"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// given is a model among the files.
type given struct {
	name  string
	model *model.Model
}

// deep lists what the author of a model would want to look at. The error is of the
// output, or that the person stopped it.
func (c *checker) deep(g *given, termsFile string, units int, exceptions []lint.Exception) error {
	say := func(format string, args ...any) error {
		_, err := io.WriteString(c.desk.out, plain(g.name+": "+fmt.Sprintf(format, args...))+"\n")
		return err
	}
	s, err := belief.NewSpace(g.model)
	if err != nil {
		return err
	}
	if shipped(g.model) {
		own, err := lint.ReadExceptions(catalog.Exceptions())
		if err != nil {
			return err
		}
		exceptions = append(slices.Clone(exceptions), own...)
	}
	terms, err := c.desk.terms(termsFile, g.model)
	if err != nil {
		return err
	}
	for i := range g.model.Tools {
		if id := g.model.Tools[i].ID; !slices.Contains(terms.Tools, id) {
			terms.Tools = append(terms.Tools, id)
		}
	}
	all := append(lint.Rows(s), lint.Unasked(g.model)...)
	advice, err := c.advice(g, s, terms, units)
	if err != nil {
		return err
	}
	left, unused := lint.Apply(g.model.ID, append(all, advice...), exceptions)
	for _, f := range left {
		if err := say("%s", f); err != nil {
			return err
		}
	}
	for _, e := range unused {
		if e.Kind.Searched() { // with other trails or units it may be needed
			continue
		}
		if err := say("the exception %s %v explains no finding: %s", e.Kind, e.Of, e.Why); err != nil {
			return err
		}
	}
	if explained := len(all) + len(advice) - len(left); explained > 0 {
		if err := say("%s left out, as meant", many(explained, "finding")); err != nil {
			return err
		}
	}
	weight, err := lint.Weigh(s)
	if err != nil {
		return err
	}
	w := words.In("en") // for numbers
	money := func(x float64) string { return w.Money(x, terms.Currency) }
	if err := say("asked by these terms: a minute %s, the unit working %s, as it is %s, a comeback %s",
		money(terms.MinuteValue), money(terms.WorkingValue), money(terms.AsIsValue), money(terms.ComebackCost)); err != nil {
		return err
	}
	if err := say("the priors add up to %.3g faults a unit, over %d hypotheses; %s of the odds lie with more than %s at once",
		weight.Priors, weight.Hypotheses, w.Percent(weight.Beyond), many(g.model.MostFaults, "fault")); err != nil {
		return err
	}
	brought := "a unit that comes in has"
	for n, p := range weight.Brought {
		if n > 0 {
			brought += ","
		}
		brought += fmt.Sprintf(" %s with %s", many(n, "fault"), w.Percent(p))
	}
	if err := say("%s", brought); err != nil {
		return err
	}
	for _, t := range c.trailsOf(g.model) {
		shifts, err := lint.Wider(s, []*trail.Trail{t})
		if err != nil {
			err = say("one more fault at once cannot be tried on the trail %s: %v", t.ID, err)
		} else if shift := shifts[0]; shift.By() == 0 {
			err = say("one more fault at once would move nothing in the trail %s", t.ID)
		} else {
			err = say("with one more fault at once, what moves most in the trail %s is %s, from %s to %s after event %d",
				t.ID, shift.Of, w.Percent(shift.From), w.Percent(shift.To), shift.N)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// trailsOf returns the trails among the files that were recorded under the model.
func (c *checker) trailsOf(m *model.Model) []*trail.Trail {
	var all []*trail.Trail
	for _, t := range c.trails {
		if t.Model.SHA256 == m.SHA256 {
			all = append(all, t)
		}
	}
	return all
}

// advice asks the planner, with every tool at hand.
func (c *checker) advice(g *given, s *belief.Space, terms trail.Terms, units int) ([]lint.Finding, error) {
	if err := broughtIn(s); units > 0 && err != nil {
		return nil, err
	}
	var left atomic.Int64
	left.Store(int64(len(g.model.Tests) + len(g.model.Repairs)))
	done := c.desk.counting("Asking the planner about "+g.name, func() string { return many(int(left.Load()), "step") + " not of use yet" })
	defer done()
	type answer struct {
		found []lint.Finding
		err   error
	}
	answers := make(chan answer, 1)
	go func() {
		found, err := lint.Advice(s, terms, lint.Effort{Units: units, Steps: 12, Seed: 1, Trails: c.trailsOf(g.model)}, func(n int) { left.Store(int64(n)) })
		answers <- answer{found, err}
	}()
	select {
	case a := <-answers:
		left.Store(int64(len(a.found)))
		return a.found, a.err
	case <-c.desk.ctx.Done():
		return nil, fmt.Errorf("stopped: %w", c.desk.ctx.Err())
	}
}

// shipped reports whether a model is one that comes with the program.
func shipped(m *model.Model) bool {
	for _, e := range catalog.Models() {
		if e.SHA256 == m.SHA256 {
			return true
		}
	}
	return false
}
