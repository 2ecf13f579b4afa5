package main

import (
	"flag"
	"fmt"
	"strings"

	"pitwise/engine/model"
	"pitwise/engine/network"
)

var exportCommand = &command{
	name:  "export",
	args:  "-as bif|uai [-single] [-tests ID,ID…] MODEL",
	short: "write a model as a Bayesian network for other programs",
	long: `
Writes the MODEL, a shipped one's id or a file, as a Bayesian network on standard
output: every combination of up to most_faults faults as a unit comes in, and one
run of each test. The prior holds to most_faults by a count along the components;
a test is a chain of links, each the worse of the one before and of what one
component adds, so that no table is large.

  -as bif   the Bayesian Interchange Format, with names
  -as uai   a BAYES file; its numbers are explained on standard error, a variable
            a line: number, name, states

With -single it says the same for exactly one fault or none: one variable for the
fault, a table for each test. Repeats, readings, repairs and setups have no place
in such a network.

  pitwise export -as bif top-loader > top-loader.bif
  pitwise export -as uai -single -tests listen,known-disc tray > tray.uai`,
	run: export,
}

func export(d *desk, flags *flag.FlagSet, args []string) error {
	as := flags.String("as", "", "the `FORM`: bif or uai")
	single := flags.Bool("single", false, "exactly one fault or none")
	only := flags.String("tests", "", "only the tests with these `IDS`, with commas between")
	args, err := d.parse(flags, args, 1, 1)
	if err != nil {
		return err
	}
	if *as != "bif" && *as != "uai" {
		return misuse{fmt.Sprintf("-as %q is neither bif nor uai", *as)}
	}
	m, err := d.model(args[0])
	if err != nil {
		return err
	}
	tests, err := testsOf(m, *only)
	if err != nil {
		return err
	}
	of := network.Full
	if *single {
		of = network.Single
	}
	n := of(m, tests)
	if *as == "bif" {
		_, err = d.out.Write(n.BIF())
		return err
	}
	for i, v := range n.Variables {
		fmt.Fprintf(d.err, "%d %s: %s\n", i, v.Name, strings.Join(v.States, " "))
	}
	_, err = d.out.Write(n.UAI())
	return err
}

// testsOf returns the tests with the given ids, in the model's order; all of them for "".
func testsOf(m *model.Model, ids string) ([]int, error) {
	wanted := map[model.TestID]bool{}
	for _, id := range strings.FieldsFunc(ids, func(r rune) bool { return r == ',' }) {
		if _, ok := m.Test(model.TestID(id)); !ok {
			return nil, misuse{fmt.Sprintf("-tests: the model %s has no test %q", m.ID, id)}
		}
		wanted[model.TestID(id)] = true
	}
	var tests []int
	for i := range m.Tests {
		if ids == "" || wanted[m.Tests[i].ID] {
			tests = append(tests, i)
		}
	}
	return tests, nil
}
