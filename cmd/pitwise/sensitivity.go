package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"strings"

	"pitwise/app/words"
	"pitwise/engine/learn"
	"pitwise/engine/model"
)

var sensitivityCommand = &command{
	name:  "sensitivity",
	args:  "[-model FILE-or-ID] [-any-revision] [-top N] [-json] TRAIL",
	short: "what the leading suspect and the proposed step hang on: which number, which result would change it",
	long: `
Works the TRAIL out and asks of every number of the model how far it would have to be
off for another suspect to lead, all other numbers being as they are. Listed are the
nearest, with how often the number says a thing happens of 100 cases, where the lead
would turn and to whom, and how well the number is known, with its source in the
model. After them, the outcomes of tests still open that would make another suspect
lead, the likeliest first.

Then the same of the proposed step: by which number another step would cost less, by
more than totals can be told apart. It holds the listed plans as they are, and moves what
is believed of the unit by what was recorded; what a number does to tests and repairs
that are still to come, and plans that would be others then, are not looked into.

With -json the output is one object: leader, odds, second, second_odds, numbers,
turns; and "step": {"step": {"kind", "id"}, "numbers"}, where "instead" is the step
that takes over.

The model is found as "pitwise help replay" says.

  pitwise sensitivity shelf-3.trail.json
  pitwise sensitivity -top 0 -json shelf-3.trail.json`,
	run: sensitivity,
}

func sensitivity(d *desk, flags *flag.FlagSet, args []string) error {
	named := flags.String("model", "", "work it out with the model in `FILE`, or the shipped one of that id")
	anyRevision := flags.Bool("any-revision", false, "go on with a model that the trail does not name")
	top := flags.Int("top", 10, "list the nearest `N` numbers and the likeliest N results, 0 for all (10)")
	asJSON := flags.Bool("json", false, "one JSON object")
	args, err := d.parse(flags, args, 1, 1)
	if err != nil {
		return err
	}
	if *top < 0 {
		return misuse{fmt.Sprintf("-top %d is less than 0", *top)}
	}
	u, err := d.unit(args[0], *named, *anyRevision)
	if err != nil {
		return err
	}
	s, err := learn.NewSensitivity(u.Model)
	if err != nil {
		return err
	}
	h, err := s.Of(u.Trail)
	if err != nil {
		return err
	}
	if _, err := u.replay(); err != nil {
		return err
	}
	search, err := d.settled(u)
	if err != nil {
		return err
	}
	step, err := s.OfStep(u.Trail, search.Stands(stepsWatched))
	if err != nil {
		return err
	}
	if *top > 0 {
		h.Numbers = h.Numbers[:min(*top, len(h.Numbers))]
		step.Numbers = step.Numbers[:min(*top, len(step.Numbers))]
		h.Turns = h.Turns[:min(*top, len(h.Turns))]
	}
	if *asJSON {
		return json.NewEncoder(steady{d.out}).Encode(struct {
			learn.Hangs
			Step learn.StepHangs `json:"step"`
		}{h, step})
	}
	_, err = fmt.Fprint(d.out, tellHangs(u.Model, h)+tellStepHangs(u.Model, step))
	return err
}

// stepsWatched is how many of the listed steps may take over.
const stepsWatched = 12

func tellHangs(m *model.Model, h learn.Hangs) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s leads with %s %%, before %s with %s %%.\n", h.Leader, hundred(h.Odds), h.Second, hundred(h.SecondP))
	if len(h.Numbers) == 0 {
		b.WriteString("No single number could turn that.\n")
	}
	for _, x := range h.Numbers {
		fmt.Fprintf(&b, "  %s: then %s leads\n", unless(m, x), x.Other)
	}
	for _, x := range h.Turns {
		fmt.Fprintf(&b, "  %s shows %s (%s %%): then %s leads with %s %%\n", x.Test, x.Outcome, hundred(x.P), x.Leader, hundred(x.Odds))
	}
	return b.String()
}

func tellStepHangs(m *model.Model, h learn.StepHangs) string {
	var b strings.Builder
	name := func(x learn.Instead) string { return strings.TrimSpace(string(x.Kind) + " " + x.ID) }
	fmt.Fprintf(&b, "Proposed is %s.\n", name(h.Step))
	if len(h.Numbers) == 0 {
		b.WriteString("No single number behind what was recorded could turn that.\n")
	}
	for _, x := range h.Numbers {
		fmt.Fprintf(&b, "  %s: then %s\n", unless(m, x), name(*x.Instead))
	}
	return b.String()
}

// unless says where a number would have to be, how far that is, and how well the number is known.
func unless(m *model.Model, x learn.Hang) string {
	f := learn.Figure{Kind: x.Kind, Test: x.Test, Outcome: x.Outcome, Mode: x.Mode, Repair: x.Repair, Setup: x.Setup, Leave: x.Leave}
	known := string(x.Grade)
	if x.Source != "" {
		known += ", source " + string(x.Source)
	}
	return fmt.Sprintf("holds unless %s in %s of 100, not %s (%s the odds; %s)",
		figureName(m, f), hundred(x.At, x.Now), hundred(x.Now, x.At), timesTold(times(x)), known)
}

// timesTold says a factor as finely as anybody knows it.
func timesTold(x float64) string {
	w := words.In("en")
	switch {
	case x >= 9999.5:
		return "more than " + w.Decimal(10000, 0) + " times"
	case x >= 99.5:
		return w.Decimal(x, 0) + " times"
	}
	return w.Decimal(x, 1) + " times"
}

// times is by what factor the odds of a number are to be off, 1 or more.
func times(h learn.Hang) float64 {
	r := h.At / (1 - h.At) / (h.Now / (1 - h.Now))
	if r < 1 {
		return 1 / r
	}
	return r
}
