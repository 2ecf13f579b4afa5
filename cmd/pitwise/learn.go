package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"

	"pitwise/app/words"
	"pitwise/engine/learn"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

var learnCommand = &command{
	name:  "learn",
	args:  "-model FILE-or-ID [-json] [-counts FILE]… [-bench NAME [-give FILE]] TRAIL|DIR…",
	short: "learn a model's numbers from the trails of whole units",
	long: `
Reads trails, and every *.json below a directory, and prints the model with the
numbers that fit them: priors, what tests show, chances, memories and risks of
repairs and setup steps. Every trail counts, ended or not, mended, written off or
come back; each is taken as a unit that was brought in because its intake test did
not show its best outcome. Causes named at an end are believed as far as they prove
right. The shipped numbers weigh as many units as their source says (published 200,
practice 30, memory 8), or up to 64 times as many as far as the trails bear them
out. The same unit twice counts once, in its later state; trails of another model
are left out, and named.

An account goes to standard error: what moved, from what to what, on how much, with
90 % intervals. With -json only the account is printed, on standard output.

-counts takes in what other benches counted; each weighs like 100 units at most.
-give writes the counts of this bench to a file, under the name that -bench gives,
merged with those taken in: expected counts of modes, outcomes, fixes and risks, no
texts, photographs or times. -plain leaves the intervals out, which saves most of the
time.

  pitwise learn -model top-loader trails/ > mine.json
  pitwise learn -model top-loader -json trails/ | head
  pitwise learn -model tray -bench shed -give shed.json -counts pier.json trails/`,
	run: learnt,
}

// files is a flag that may be given many times.
type files []string

func (f *files) String() string     { return strings.Join(*f, " ") }
func (f *files) Set(s string) error { *f = append(*f, s); return nil }

func learnt(d *desk, flags *flag.FlagSet, args []string) error {
	named := flags.String("model", "", "learn from the model in `FILE`, or the shipped one of that id, on")
	asJSON := flags.Bool("json", false, "print the account alone, as one JSON object")
	bare := flags.Bool("plain", false, "work out no intervals")
	cores := flags.Int("cores", runtime.GOMAXPROCS(0), "use `N` cores (as many as there are); the answer does not depend on it")
	var counts files
	flags.Var(&counts, "counts", "take in the counts of other benches from `FILE`; may be given more than once")
	bench := flags.String("bench", "", "the `NAME` of this bench among others")
	give := flags.String("give", "", "write the counts of this bench and of those taken in to `FILE`")
	paths, err := d.parse(flags, args, 1, -1)
	switch {
	case err != nil:
		return err
	case *named == "":
		return misuse{"-model is missing"}
	case *cores < 1 || *cores > 4096:
		return misuse{fmt.Sprintf("-cores %d is not from 1 to 4096", *cores)}
	case *give != "" && *bench == "":
		return misuse{"-give needs a name of this bench: -bench"}
	}
	m, err := d.model(*named)
	if err != nil {
		return err
	}
	l, err := learn.New(m)
	if err != nil {
		return err
	}
	others := learn.Counts{}
	for _, name := range counts {
		text, err := d.read(name)
		if err != nil {
			return err
		}
		c, err := learn.LoadCounts(text)
		if err == nil {
			err = l.Lend(c, *bench)
		}
		if err == nil && others.Format != "" {
			others, err = learn.Merge(others, c)
		} else if err == nil {
			others = c
		}
		if err != nil {
			return d.refuse(name, err)
		}
	}
	if err := d.takeIn(l, paths, *cores); err != nil {
		return err
	}
	fit, err := d.fit(l, *cores, !*bare)
	if err != nil {
		return err
	}
	if err := d.tellFit(fit, m, *asJSON); err != nil || *give == "" {
		return err
	}
	mine := fit.Counts(*bench) // written last: what was learnt is there whatever becomes of it
	if others.Format != "" {
		if mine, err = learn.Merge(mine, others); err != nil {
			return err
		}
	}
	return os.WriteFile(*give, mine.Encode(), 0o644)
}

// tellFit prints the account, and the learnt model unless the account alone is asked for.
func (d *desk) tellFit(fit *learn.Fit, m *model.Model, asJSON bool) error {
	account := fit.Account()
	if asJSON {
		e := json.NewEncoder(steady{d.out})
		e.SetIndent("", " ")
		return e.Encode(account)
	}
	fresh, err := fit.Model()
	if err != nil {
		return err
	}
	fmt.Fprint(d.err, tellAccount(account, m, fresh))
	_, err = d.out.Write(fresh.Text)
	return err
}

// takeIn reads the trails of files and directories, on so many cores.
func (d *desk) takeIn(l *learn.Learner, paths []string, cores int) error {
	type read struct {
		name string
		t    *trail.Trail
		err  error
	}
	names, all := make(chan string, 64), make(chan read, 64)
	var taken atomic.Int64
	done := d.counting("Reading trails", func() string { return many(int(taken.Load()), "trail") })
	defer done()
	var walked error
	go func() {
		defer close(names)
		for _, path := range paths {
			walked = filepath.WalkDir(path, func(name string, e fs.DirEntry, err error) error {
				if err != nil || d.ctx.Err() != nil {
					return errors.Join(err, d.ctx.Err())
				}
				if !e.IsDir() && (name == path || filepath.Ext(name) == ".json") {
					names <- name
				}
				return nil
			})
			if walked != nil {
				return
			}
		}
	}()
	var wait sync.WaitGroup
	for range cores {
		wait.Go(func() {
			for name := range names {
				text, err := d.read(name)
				r := read{name: name, err: err}
				if err == nil {
					r.t, r.err = trail.Load(text)
				}
				all <- r
			}
		})
	}
	go func() { wait.Wait(); close(all) }()
	for r := range all {
		if r.err == nil {
			r.err = l.Add(r.t)
		}
		if r.err != nil {
			fmt.Fprintf(d.err, "%s is left out: %s\n", plain(r.name), plain(firstLine(r.err)))
			continue
		}
		taken.Add(1)
	}
	if walked != nil {
		return walked
	}
	if l.Len() == 0 {
		return errors.New("there is no trail of this model to learn from")
	}
	return nil
}

func firstLine(err error) string {
	s, _, more := strings.Cut(err.Error(), "\n")
	if more {
		s += " …"
	}
	return s
}

// fit learns, and says how far it has come.
func (d *desk) fit(l *learn.Learner, cores int, intervals bool) (*learn.Fit, error) {
	var rounds, within, sweeps, of atomic.Int64
	done := d.counting("Learning from "+many(l.Len(), "unit"), func() string {
		if of.Load() > 0 {
			return fmt.Sprintf("intervals, %d of %d", sweeps.Load(), of.Load())
		}
		return fmt.Sprintf("%s, %s of the next", many(int(rounds.Load()), "round"), many(int(within.Load()), "unit"))
	})
	defer done()
	stop := func() bool { return d.ctx.Err() != nil }
	fit, err := l.Fit(learn.Options{Cores: cores, Stop: stop,
		Told: func(n int) { rounds.Store(int64(n)); within.Store(0) }, Within: func(n int) { within.Store(int64(n)) }})
	if err != nil || !intervals {
		return fit, err
	}
	return fit, fit.Intervals(learn.Sweeps{Seed: 1, Cores: cores, Stop: stop, Told: func(n, all int) { sweeps.Store(int64(n)); of.Store(int64(all)) }})
}

// movedTold is how many numbers the account tells in words.
const movedTold = 40

// tellAccount says what was learnt in plain words.
func tellAccount(a learn.Account, was, now *model.Model) string {
	var b strings.Builder
	w := words.In("en")
	fmt.Fprintf(&b, "%s revision %s, learnt from %s: revision %s\n", a.Model, plain(a.Revision), many(a.Units, "unit"), plain(now.Revision))
	for _, bench := range a.Benches {
		fmt.Fprintf(&b, "  and from the counts of %s, %s\n", plain(bench.ID), many(bench.Units, "unit"))
	}
	fmt.Fprintf(&b, "The trails fit %s nats a unit better.\n", w.Decimal(a.Gain, 3))
	if a.Trusts() {
		fmt.Fprintf(&b, "As far as they bear the shipped numbers out, these count %s what their sources say.\n", timesTold(a.Trust))
	}
	if a.Wrong.Seen > 0 {
		fmt.Fprintf(&b, "Of %s causes that were written down, %s %% seem wrong (taken for %s %% before).\n",
			w.Decimal(a.Wrong.Seen, 0), hundred(a.Wrong.P), hundred(a.Wrong.Shipped))
	}
	if len(a.Moved) == 0 {
		b.WriteString("No number moved.\n")
	}
	for i, f := range a.Moved {
		if i == movedTold {
			fmt.Fprintf(&b, "  and %s less far; -json lists them all\n", many(len(a.Moved)-i, "number"))
			break
		}
		fmt.Fprintf(&b, "  %s: %s of 100, was %s", figureName(was, f), hundred(f.P, f.Shipped), hundred(f.Shipped, f.P))
		if f.Interval != nil {
			fmt.Fprintf(&b, " (90 %%: %s to %s)", hundred(f.Interval.Low), hundred(f.Interval.High))
		}
		fmt.Fprintf(&b, ", on %s against %s of %s\n", w.Decimal(f.Seen, 1), w.Decimal(f.Weight, 0), f.Grade)
	}
	for _, m := range a.Memories {
		fmt.Fprintf(&b, "  steadiness of %s: %s, was %s, on %s further tries\n", m.Repair, w.Decimal(m.Now, 2), w.Decimal(m.Shipped, 2), w.Decimal(m.Seen, 1))
	}
	for _, left := range a.Left {
		fmt.Fprintf(&b, "left out: %s\n", plain(left))
	}
	return b.String()
}

// hundred says a share as so many of 100, as finely as it is worth beside others.
func hundred(p float64, others ...float64) string { return words.In("en").OfHundred(p, others...) }

// figureName says what a number is about, in the model's ids.
func figureName(m *model.Model, f learn.Figure) string {
	switch f.Kind {
	case learn.Prior:
		return fmt.Sprintf("have %s", f.Mode)
	case learn.Healthy:
		return fmt.Sprintf("%s without a fault that matters shows %s", f.Test, f.Outcome)
	case learn.Link:
		return fmt.Sprintf("%s with %s shows %s", f.Test, f.Mode, f.Outcome)
	case learn.Record:
		return "causes written down are wrong"
	}
	by := string(f.Repair)
	if f.Setup != "" {
		by = "entering " + string(f.Setup)
		if f.Leave {
			by = "leaving " + string(f.Setup)
		}
	}
	if f.Kind == learn.Fix {
		return fmt.Sprintf("%s takes %s away", by, f.Mode)
	}
	return fmt.Sprintf("%s brings %s in", by, f.Mode)
}
