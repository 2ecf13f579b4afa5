package main

import (
	"flag"
	"fmt"
	"strings"
	"text/tabwriter"

	"pitwise/engine/catalog"
	"pitwise/engine/model"
)

var modelsCommand = &command{
	name:  "models",
	args:  "[ID]",
	short: "list the shipped models, or print one",
	long: `
Without an ID, lists the models that come with the program, one a line: id,
revision, title, and how many components, modes, tests and repairs it has. With
an ID, prints the exact text of that model, byte for byte; its SHA-256 is the one
that trails recorded under it name.

  pitwise models
  pitwise models top-loader > mine.json`,
	run: models,
}

func models(d *desk, flags *flag.FlagSet, args []string) error {
	args, err := d.parse(flags, args, 0, 1)
	if err != nil {
		return err
	}
	if len(args) == 1 {
		text, ok := catalog.Text(args[0])
		if !ok {
			return fmt.Errorf("%w: %q; there are %s", catalog.ErrUnknown, args[0], shippedIDs())
		}
		_, err := d.out.Write(text)
		return err
	}
	w := tabwriter.NewWriter(d.out, 0, 0, 2, ' ', 0)
	for _, e := range catalog.Models() {
		m, err := catalog.Load(e.ID)
		if err != nil {
			return err
		}
		fmt.Fprintf(w, "%s\trevision %s\t%s\t%s\n", e.ID, e.Revision, e.Title, size(m))
	}
	return w.Flush()
}

// size says how much a model knows.
func size(m *model.Model) string {
	return strings.Join([]string{many(len(m.Components), "component"), many(len(m.Modes), "mode"),
		many(len(m.Tests), "test"), many(len(m.Repairs), "repair")}, ", ")
}

// many says a number of things.
func many(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
