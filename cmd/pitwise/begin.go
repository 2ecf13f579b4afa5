package main

import (
	"flag"
	"fmt"
	"time"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

var beginCommand = &command{
	name:  "begin",
	args:  "-model FILE-or-ID [-label TEXT] [-terms FILE]",
	short: "begin the trail of a unit, with its model inside",
	long: `
Prints a trail of no events that carries the text of its model. The app reads it in as
a new unit on the bench, without putting the model on its list of drives: for that it
reads in the model's own file. It is also the head of a trail that you write by hand.

The terms are those of -terms, or those that "pitwise help simulate" shows, with every
tool of the model at hand.

  pitwise begin -model mine.json -label "Green player, shelf 2" > shelf-2.trail.json`,
	run: begin,
}

func begin(d *desk, flags *flag.FlagSet, args []string) error {
	named := flags.String("model", "", "the model in `FILE`, or the shipped one of that id")
	label := flags.String("label", "", "of the unit (the model's title)")
	termsFile := flags.String("terms", "", "the terms in `FILE`")
	if _, err := d.parse(flags, args, 0, 0); err != nil {
		return err
	}
	if *named == "" {
		return misuse{"-model is missing"}
	}
	m, err := d.model(*named)
	if err != nil {
		return err
	}
	terms, err := d.terms(*termsFile, m)
	if err != nil {
		return err
	}
	if *label == "" {
		*label = m.Words.Title
	}
	if *label == "" {
		*label = m.ID
	}
	_, err = d.out.Write(begun(m, *label, terms, time.Now()).Encode())
	return err
}

// begun is a trail of no events. Its id has the time in it to the nanosecond: no two units
// begun on one desk share it.
func begun(m *model.Model, label string, terms trail.Terms, now time.Time) *trail.Trail {
	now = now.UTC()
	return &trail.Trail{
		ID:        fmt.Sprintf("%s-%s-%09d", m.ID, now.Format("20060102-150405"), now.Nanosecond()),
		Created:   now.Format("2006-01-02T15:04:05Z"),
		Model:     trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Unit:      trail.Unit{Label: label},
		Terms:     terms,
		ModelText: string(m.Text),
	}
}
