package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"

	"pitwise/app/words"
	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/sim"
	"pitwise/engine/trail"
	"pitwise/engine/worth"
)

var worthCommand = &command{
	name:  "worth",
	args:  "-model FILE-or-ID [-terms FILE] [-units N] [-seed S] [-quick] [-json] [TOOL…]",
	short: "what owning each tool saves on a unit: which one to buy next",
	long: `
Plays simulated units through the planner without a tool and with it, the same units
both times, and prints what the tool saves on a unit in the mean, with the standard error
of that, how many units more are mended and how many minutes more are spent. Tools are
those named, or all that the terms do not have at hand; where the terms have every tool
(as without -terms), each is taken away in its turn.

With -quick each step is decided without a long search, as on the page: a tenth of the
time, by plans that cost more with the tool and without it.

A tool is worth its price once it has saved it on so many units. The units are drawn
from the model: with a learnt model, from what this bench sees.

  pitwise worth -model top-loader -units 500
  pitwise worth -model tray -terms shop.json scope`,
	run: worthOf,
}

func worthOf(d *desk, flags *flag.FlagSet, args []string) error {
	named := flags.String("model", "", "the model in `FILE`, or the shipped one of that id")
	termsFile := flags.String("terms", "", "the terms in `FILE`")
	units := flags.Int("units", 300, "play `N` units (300)")
	seed := flags.Uint64("seed", 1, "of the units, a whole number `S` from 0 (1)")
	cores := flags.Int("cores", runtime.GOMAXPROCS(0), "play `N` units at a time (as many as there are cores)")
	quick := flags.Bool("quick", false, "decide each step without a long search")
	asJSON := flags.Bool("json", false, "one JSON object")
	ids, err := d.parse(flags, args, 0, -1)
	switch {
	case err != nil:
		return err
	case *named == "":
		return misuse{"-model is missing"}
	case *units < 2 || *units > mostUnits:
		return misuse{fmt.Sprintf("-units %d is not from 2 to %d", *units, mostUnits)}
	case *cores < 1 || *cores > 4096:
		return misuse{fmt.Sprintf("-cores %d is not from 1 to 4096", *cores)}
	}
	m, err := d.model(*named)
	if err != nil {
		return err
	}
	terms, err := d.terms(*termsFile, m)
	if err != nil {
		return err
	}
	tools, err := toolsFor(m, terms, ids)
	if err != nil {
		return err
	}
	s, err := belief.NewSpace(m)
	if err != nil {
		return err
	}
	if err := broughtIn(s); err != nil {
		return err
	}
	var played atomic.Int64
	done := d.counting(fmt.Sprintf("Playing %s for each of %s", many(*units, "unit"), many(len(tools), "tool")),
		func() string { return many(int(played.Load()), "unit") })
	all, base, err := worth.Of(s, terms, tools, worth.Options{Units: *units, Seed: *seed, Cores: *cores, Quick: *quick,
		Told: func() { played.Add(1) }, Stop: func() bool { return d.ctx.Err() != nil }})
	done()
	if errors.Is(err, worth.ErrStopped) {
		return errors.New("stopped")
	}
	if err != nil {
		return err
	}
	slices.SortStableFunc(all, func(a, b worth.Tool) int { return cmp.Compare(b.Saves, a.Saves) })
	if *asJSON {
		return json.NewEncoder(steady{d.out}).Encode(struct {
			Units    int          `json:"units"`
			MeanCost float64      `json:"mean_cost"`
			Currency string       `json:"currency"`
			Tools    []worth.Tool `json:"tools"`
		}{*units, base.MeanCost, terms.Currency, all})
	}
	_, err = fmt.Fprint(d.out, tellWorth(all, base, m, terms))
	return err
}

// toolsFor returns the tools to weigh: those named, else those that are not at hand, else all.
func toolsFor(m *model.Model, terms trail.Terms, ids []string) ([]model.ToolID, error) {
	var tools []model.ToolID
	for _, id := range ids {
		if _, ok := m.Tool(model.ToolID(id)); !ok {
			return nil, fmt.Errorf("the model %s has no tool %q", m.ID, id)
		}
		tools = append(tools, model.ToolID(id))
	}
	if len(tools) > 0 {
		return tools, nil
	}
	if tools = worth.Tools(m, terms); len(tools) == 0 {
		return nil, fmt.Errorf("the model %s has no tools", m.ID)
	}
	return tools, nil
}

func tellWorth(all []worth.Tool, base sim.Summary, m *model.Model, terms trail.Terms) string {
	var b strings.Builder
	w := words.In("en")
	fmt.Fprintf(&b, "%s of %s revision %s; as things are a unit costs %s\n", many(base.Units, "unit"), m.ID, plain(m.Revision), w.Money(base.MeanCost, terms.Currency))
	for _, t := range all {
		tool, _ := m.Tool(t.ID)
		name := plain(tool.Title)
		if name == "" {
			name = string(t.ID)
		}
		fmt.Fprintf(&b, "  %-32s saves %s a unit, standard error %s; mended %s more of 100, minutes %s more\n", name,
			w.Money(t.Saves, terms.Currency), w.Money(t.StandardError, terms.Currency), w.Decimal(100*t.Mended, 1), w.Decimal(t.Minutes, 1))
	}
	return b.String()
}
