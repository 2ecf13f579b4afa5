package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"runtime"
	"strings"
	"sync/atomic"

	"pitwise/app/words"
	"pitwise/engine/learn"
)

var calibrateCommand = &command{
	name:  "calibrate",
	args:  "-model FILE-or-ID [-folds N] [-json] TRAIL|DIR…",
	short: "when it says 70 %, is it right 70 % of the time",
	long: `
Takes the trails that name causes, works out the odds of each mode at intake from
everything but the causes, and holds them against the causes: once with the numbers
of the model, and once with numbers learnt from the other trails. The trails are
dealt into -folds parts (20), each of which is left out of learning in turn; with
-folds 0 each unit is left out alone, which takes as long as there are units.

Of each it prints how often what was said to have a chance was so, Brier's score with
its parts (reliability: less is better; resolution: more is better; uncertainty: how
hard the units were; within: what is left because a row of the table holds unlike
chances) and the log score; and how often the leading suspects were right. Trails
that "pitwise simulate -trails" writes can be judged as a bench's own.

  pitwise calibrate -model top-loader trails/
  pitwise simulate -model tray -units 200 -trails made && pitwise calibrate -model tray made`,
	run: calibrate,
}

func calibrate(d *desk, flags *flag.FlagSet, args []string) error {
	named := flags.String("model", "", "judge the model in `FILE`, or the shipped one of that id")
	folds := flags.Int("folds", 20, "leave the units out in `N` parts (20); 0: one by one")
	asJSON := flags.Bool("json", false, "one JSON object")
	cores := flags.Int("cores", runtime.GOMAXPROCS(0), "use `N` cores (as many as there are)")
	paths, err := d.parse(flags, args, 1, -1)
	switch {
	case err != nil:
		return err
	case *named == "":
		return misuse{"-model is missing"}
	case *folds < 0 || *folds == 1:
		return misuse{fmt.Sprintf("-folds %d leaves nothing to learn from", *folds)}
	case *cores < 1 || *cores > 4096:
		return misuse{fmt.Sprintf("-cores %d is not from 1 to 4096", *cores)}
	}
	m, err := d.model(*named)
	if err != nil {
		return err
	}
	l, err := learn.New(m)
	if err != nil {
		return err
	}
	if err := d.takeIn(l, paths, *cores); err != nil {
		return err
	}
	var fold atomic.Int64
	done := d.counting("Judging", func() string { return fmt.Sprintf("part %d", fold.Load()) })
	t, err := l.Try(learn.Options{Cores: *cores, Stop: func() bool { return d.ctx.Err() != nil }, Told: func(n int) { fold.Store(int64(n)) }}, *folds)
	done()
	if err != nil {
		return err
	}
	if *asJSON {
		return json.NewEncoder(steady{d.out}).Encode(t)
	}
	_, err = fmt.Fprint(d.out, tellTrial(t))
	return err
}

// tellTrial draws the reliability of both as tables, with a picture of the learnt one.
func tellTrial(t learn.Trial) string {
	var b strings.Builder
	w := words.In("en")
	fmt.Fprintf(&b, "%s with known causes, left out of learning in %d parts\n\n", many(t.Units, "unit"), t.Folds)
	fmt.Fprintf(&b, "%-14s %10s %10s\n", "", "shipped", "learnt")
	for _, row := range []struct {
		name            string
		shipped, learnt float64
	}{
		{"Brier score", t.Shipped.Brier, t.Learnt.Brier},
		{"  reliability", t.Shipped.Reliability, t.Learnt.Reliability},
		{"  resolution", t.Shipped.Resolution, t.Learnt.Resolution},
		{"  uncertainty", t.Shipped.Uncertainty, t.Learnt.Uncertainty},
		{"  within", t.Shipped.Within, t.Learnt.Within},
		{"log score", t.Shipped.Log, t.Learnt.Log},
	} {
		fmt.Fprintf(&b, "%-14s %10s %10s\n", row.name, w.Decimal(row.shipped, 5), w.Decimal(row.learnt, 5))
	}
	for _, each := range []struct {
		name string
		lead learn.Lead
	}{{"shipped", t.ShippedLead}, {"learnt", t.LearntLead}} {
		verdict := "as often as was said"
		switch {
		case each.lead.Units < learn.Enough:
			verdict = "too few units to tell"
		case each.lead.Off() && each.lead.Was < each.lead.Said:
			verdict = "less often than was said"
		case each.lead.Off():
			verdict = "more often than was said"
		}
		fmt.Fprintf(&b, "\n%s: the leading suspect was said to have %s %%, and was right %s of 100 times, over %s: %s\n",
			each.name, hundred(each.lead.Said), hundred(each.lead.Was), many(each.lead.Units, "unit"), verdict)
	}
	for _, each := range []struct {
		name string
		c    learn.Calibration
	}{{"shipped", t.Shipped}, {"learnt", t.Learnt}} {
		fmt.Fprintf(&b, "\n%s: said, was so, how often; o is what was so, | what was said\n", each.name)
		for _, bin := range each.c.Bins {
			fmt.Fprintf(&b, "%7s %%  %7s %% %7d  %s\n", hundred(bin.Said), hundred(bin.Was), bin.N, reliability(bin))
		}
	}
	return b.String()
}

// reliability draws a bin on a line of 50 places.
func reliability(b learn.Bin) string {
	line := []rune(strings.Repeat("·", 51))
	line[int(50*b.Said+0.5)] = '|'
	line[int(50*b.Was+0.5)] = 'o'
	return string(line)
}
