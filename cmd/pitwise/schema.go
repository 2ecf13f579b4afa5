package main

import (
	"flag"
	"fmt"

	"pitwise/engine/model"
	"pitwise/engine/trail"
)

var schemaCommand = &command{
	name:  "schema",
	args:  "model|trail",
	short: "print the JSON Schema of a model or of a trail",
	long: `
Prints the form of a model file or of a trail file as a JSON Schema (draft
2020-12), so that an editor can complete one and mark what is wrong in it. A file
that passes may still break a rule that a schema cannot say, such as rows that sum
to 1: "pitwise check" finds those too.

  pitwise schema model > model.schema.json
  pitwise schema trail > trail.schema.json`,
	run: schema,
}

func schema(d *desk, flags *flag.FlagSet, args []string) error {
	args, err := d.parse(flags, args, 1, 1)
	if err != nil {
		return err
	}
	switch args[0] {
	case "model":
		_, err = d.out.Write(model.Schema())
	case "trail":
		_, err = d.out.Write(trail.Schema())
	default:
		return misuse{fmt.Sprintf("there is no schema of %q, only of a model or a trail", args[0])}
	}
	return err
}
