package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"
)

// command is one verb. Each lies in a file of its own and stands in commands.
type command struct {
	name  string
	args  string // what follows the verb, as help shows it
	short string // one line, no full stop
	long  string // paragraphs for "help VERB"
	// run does the work. It adds its flags to the set and calls d.parse. An
	// error from misuse gives status 2, any other 1.
	run func(d *desk, flags *flag.FlagSet, args []string) error
}

// commands lists the verbs in the order in which help shows them.
func commands() []*command {
	return []*command{serveCommand, buildCommand, checkCommand, replayCommand, beginCommand, proposeCommand, simulateCommand, learnCommand, calibrateCommand, worthCommand, sensitivityCommand, modelsCommand, schemaCommand, exportCommand, sendCommand, receiveCommand}
}

// desk is what a verb works with.
type desk struct {
	ctx context.Context // ends with SIGINT or SIGTERM
	in  io.Reader
	out io.Writer // results
	err io.Writer // messages
}

// misuse is an error in how the program was called.
type misuse struct{ text string }

func (m misuse) Error() string { return m.text }

// errTold ends a verb with status 1 after it has told the person all there is.
var errTold = errors.New("told")

// parse reads the flags, which may stand before and after the arguments, and checks how many
// arguments there are; most < 0 is any number. It returns the arguments. What follows -- is
// an argument whatever it looks like.
func (d *desk) parse(flags *flag.FlagSet, args []string, least, most int) ([]string, error) {
	var plain []string
	for {
		if err := flags.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return nil, err
			}
			return nil, misuse{err.Error()}
		}
		left := flags.Args()
		if read := len(args) - len(left); len(left) == 0 || read > 0 && args[read-1] == "--" {
			plain = append(plain, left...)
			break
		}
		plain, args = append(plain, left[0]), left[1:]
	}
	switch n := len(plain); {
	case n < least:
		return nil, misuse{fmt.Sprintf("%d argument(s) given, at least %d wanted", n, least)}
	case most >= 0 && n > most:
		return nil, misuse{fmt.Sprintf("%d argument(s) given, at most %d wanted: %q", n, most, plain)}
	}
	return plain, nil
}

// run carries out the command line and returns the exit status.
func (d *desk) run(args []string) int {
	name := "serve"
	if len(args) > 0 && !strings.HasPrefix(args[0], "-") {
		name, args = args[0], args[1:]
	} else if len(args) > 0 && isHelp(args[0]) {
		name, args = "help", args[1:]
	}
	if name == "help" {
		return d.help(args)
	}
	c := find(name)
	if c == nil {
		fmt.Fprintf(d.err, "pitwise: there is no verb %q; \"pitwise help\" lists them\n", name)
		return 2
	}
	flags := flag.NewFlagSet(c.name, flag.ContinueOnError)
	flags.SetOutput(io.Discard)
	err := c.run(d, flags, args)
	var wrong misuse
	switch {
	case err == nil:
		return 0
	case errors.Is(err, flag.ErrHelp):
		d.describe(c, flags)
		return 0
	case errors.As(err, &wrong):
		fmt.Fprintf(d.err, "pitwise %s: %s; \"pitwise help %s\" says how\n", c.name, plain(wrong.text), c.name)
		return 2
	case errors.Is(err, errTold):
		return 1
	default:
		for line := range strings.Lines(err.Error()) {
			fmt.Fprintf(d.err, "pitwise %s: %s\n", c.name, plain(strings.TrimSuffix(line, "\n")))
		}
		return 1
	}
}

func isHelp(arg string) bool {
	return arg == "-h" || arg == "-help" || arg == "--help"
}

func find(name string) *command {
	for _, c := range commands() {
		if c.name == name {
			return c
		}
	}
	return nil
}

func (d *desk) help(args []string) int {
	if len(args) == 0 {
		fmt.Fprint(d.out, "Pitwise finds what is wrong with a disc-playing unit in the fewest minutes.\n\n")
		for _, c := range commands() {
			fmt.Fprintf(d.out, "  pitwise %-10s %s\n", c.name, c.short)
		}
		fmt.Fprintln(d.out)
		for _, g := range guides {
			fmt.Fprintf(d.out, "  pitwise help %-10s %s\n", g.name, g.short)
		}
		fmt.Fprint(d.out, "\nWith no verb it serves. \"pitwise help VERB\" says more.\n"+
			"Exit status: 0 done, 1 bad input or a failure, 2 called wrongly.\n")
		return 0
	}
	if i := slices.IndexFunc(guides, func(g guide) bool { return g.name == args[0] }); i >= 0 && len(args) == 1 {
		fmt.Fprint(d.out, guides[i].text)
		return 0
	}
	c := find(args[0])
	if c == nil || len(args) > 1 {
		fmt.Fprintf(d.err, "pitwise help: there is no verb %q\n", strings.Join(args, " "))
		return 2
	}
	// The verb itself adds its flags, then meets -help and returns.
	flags := flag.NewFlagSet(c.name, flag.ContinueOnError)
	flags.SetOutput(io.Discard)
	if err := c.run(d, flags, []string{"-help"}); !errors.Is(err, flag.ErrHelp) {
		fmt.Fprintf(d.err, "pitwise help: %s has no help: %v\n", c.name, err)
		return 1
	}
	d.describe(c, flags)
	return 0
}

func (d *desk) describe(c *command, flags *flag.FlagSet) {
	fmt.Fprintf(d.out, "pitwise %s %s\n\n%s\n", c.name, c.args, strings.TrimSpace(c.long))
	any := false
	flags.VisitAll(func(f *flag.Flag) {
		if !any {
			fmt.Fprintln(d.out)
			any = true
		}
		kind, usage := flag.UnquoteUsage(f)
		fmt.Fprintf(d.out, "  -%s %s\n        %s\n", f.Name, kind, usage)
	})
}
