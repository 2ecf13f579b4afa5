package main

import (
	"bufio"
	"cmp"
	"flag"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"pitwise/app/words"
	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/trail"
)

var replayCommand = &command{
	name:  "replay",
	args:  "[-model FILE-or-ID] [-json] [-any-revision] TRAIL",
	short: "work a trail out, step by step",
	long: `
Works out what every event of the TRAIL did to the odds. TRAIL is a file, or - for
standard input. For each event it shows the three leading suspects after it and
what it moved most; at the end what was wrong when the unit came in, by all that
is known since, how each result sits with the others, and what is worth a look.

The model is the one that -model gives, or else the text that the trail carries, or
else the shipped model that it names. If its SHA-256 is not the one in the trail,
nothing is worked out, unless -any-revision is given; the warnings then begin with
one that says so.

With -json the output is one JSON object a line: one for the start, with "n": 0 and
"kind": "start"; one for each event,

  {"n", "kind", "live", "belief": {"sound", "modes": {MODE: p}, "faults": [p]},
   "log_evidence", "dropped", "decibans": {MODE: w}, "setup"}

where decibans stand on results alone; and one for the whole trail,

  {"origin": {"sound", "modes", "faults"}, "doubts": [{"n", "p"}], "warnings": [{"n", "text"}]}

Every number reads back to the same float64. If an event cannot be worked out, there
is no output but a message, and the status is 1.

  pitwise replay shelf-3.trail.json
  pitwise replay -json shelf-3.trail.json > shelf-3.jsonl
  pitwise replay -model mine.json -any-revision shelf-3.trail.json`,
	run: replay,
}

func replay(d *desk, flags *flag.FlagSet, args []string) error {
	named := flags.String("model", "", "work it out with the model in `FILE`, or the shipped one of that id")
	asJSON := flags.Bool("json", false, "one JSON object a line")
	anyRevision := flags.Bool("any-revision", false, "go on with a model that the trail does not name")
	args, err := d.parse(flags, args, 1, 1)
	if err != nil {
		return err
	}
	u, err := d.unit(args[0], *named, *anyRevision)
	if err != nil {
		return err
	}
	a, err := u.replay()
	if a == nil || err != nil && *asJSON {
		return err
	}
	w := bufio.NewWriter(d.out)
	told := &telling{w: w, words: words.In("en"), unit: u}
	if err != nil {
		told.account(a)
		if flushed := w.Flush(); flushed != nil {
			return flushed
		}
		return err
	}
	late, err := u.LookBack(u.space, nil)
	if err != nil {
		return err
	}
	if late {
		a.Warnings = append([]trail.Warning{{Text: "no result was held against the others: " + belief.ErrTooLong.Error()}}, a.Warnings...)
	}
	origin, doubts := *u.Origin, u.Doubts
	if *asJSON {
		if err := a.WriteLines(steady{w}, u.Model, origin, doubts); err != nil {
			return err
		}
		return w.Flush()
	}
	told.account(a)
	told.whole(a, origin, doubts)
	return w.Flush()
}

// A telling is an account for people to read.
type telling struct {
	w     io.Writer
	words *words.Words
	*unit
}

func (t *telling) line(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	fmt.Fprintln(t.w, strings.TrimRight(s[:len(s)-len(strings.TrimLeft(s, " "))]+plain(strings.TrimLeft(s, " ")), " "))
}

// number is which step an event is, a dot if it is none.
func (t *telling) number(n int) string {
	if k := t.Number(n); k > 0 {
		return strconv.Itoa(k)
	}
	return "·"
}

// account tells the lines that there are.
func (t *telling) account(a *trail.Account) {
	m := t.Model
	t.line("%s: model %s revision %s", t.Trail.Unit.Label, m.ID, m.Revision)
	for i := range a.Lines {
		l := &a.Lines[i]
		fmt.Fprintln(t.w)
		if i == 0 {
			t.line("%3d  before anything was seen, in: %s", 0, words.Setup(m, l.Setup))
			t.line("     suspects  %s", t.suspects(l.Odds))
			continue
		}
		step, seen := t.words.Told(m, t.Trail, t.Trail.Events[i-1])
		if seen != "" {
			step += ": " + seen
		}
		if !l.Live {
			t.line("%3s  %s (taken back, moves nothing)", t.number(l.N), step)
			continue
		}
		var found []string
		for _, id := range t.Trail.Events[i-1].Causes {
			found = append(found, words.FaultOf(m, id))
		}
		if len(found) > 0 {
			step += "; found: " + strings.Join(found, "; ")
		}
		t.line("%3s  %s", t.number(l.N), step)
		for _, x := range a.Warnings {
			if x.N == l.N {
				t.line("     warning   %s", x.Text)
			}
		}
		switch l.Kind {
		case trail.Result, trail.Repair, trail.Setup:
			t.line("     suspects  %s", t.suspects(l.Odds))
			t.line("     moved     %s", t.moved(&a.Lines[i-1], l))
		}
	}
}

// leading is how many suspects are told, and at most how many that moved.
const leading = 3

// suspects tells the leading suspects, and the chance that nothing is wrong.
func (t *telling) suspects(o trail.Odds) string {
	order := o.Ranked()
	var parts []string
	for _, i := range order[:min(leading, len(order))] {
		parts = append(parts, fmt.Sprintf("%s %s", words.Fault(t.Model, i), t.words.Percent(o.Modes[i])))
	}
	return strings.Join(parts, "; ") + fmt.Sprintf("; nothing wrong %s", t.words.Percent(o.Sound))
}

// least is the smallest change of a probability that is worth telling.
const least = 0.0005

// moved tells what moved most, and of a result how strongly it spoke.
func (t *telling) moved(before, after *trail.Line) string {
	type move struct {
		title    string
		from, to float64
		mode     int // -1 for nothing wrong
	}
	moves := []move{{"nothing wrong", before.Sound, after.Sound, -1}}
	for i := range after.Modes {
		moves = append(moves, move{words.Fault(t.Model, i), before.Modes[i], after.Modes[i], i})
	}
	slices.SortStableFunc(moves, func(a, b move) int { return cmp.Compare(math.Abs(b.to-b.from), math.Abs(a.to-a.from)) })
	var parts []string
	for _, v := range moves[:min(leading, len(moves))] {
		if math.Abs(v.to-v.from) < least {
			break
		}
		s := fmt.Sprintf("%s %s → %s", v.title, t.words.Percent(v.from), t.words.Percent(v.to))
		if v.mode >= 0 && after.Decibans != nil && !math.IsNaN(after.Decibans[v.mode]) {
			s += fmt.Sprintf(" (%+.1f decibans)", after.Decibans[v.mode])
		}
		parts = append(parts, s)
	}
	if len(parts) == 0 {
		return "nothing by as much as a tenth of a percent"
	}
	return strings.Join(parts, "; ")
}

// whole tells what the trail comes to.
func (t *telling) whole(a *trail.Account, origin trail.Odds, doubts []trail.Doubt) {
	fmt.Fprintln(t.w)
	t.line("When it came in, by all that is known since:")
	t.line("     %s", t.suspects(origin))
	fmt.Fprintln(t.w)
	t.line("Probability of each result given all the others, the least first:")
	if len(doubts) == 0 {
		t.line("     there are no results")
	}
	doubts = slices.Clone(doubts)
	slices.SortStableFunc(doubts, func(a, b trail.Doubt) int { return cmp.Compare(a.P, b.P) })
	for _, x := range doubts {
		step, seen := t.words.Told(t.Model, t.Trail, t.Trail.Events[x.N-1])
		again := ""
		if x.P < bench.DoubtBelow {
			again = "  look at this one again: was it a slip?"
		}
		t.line("     %6s  %s %s: %s%s", t.words.Percent(x.P), t.number(x.N), step, seen, again)
	}
	if len(a.Warnings) > 0 {
		fmt.Fprintln(t.w)
		t.line("Worth a look:")
	}
	for _, x := range a.Warnings {
		if x.N == 0 {
			t.line("     %s", x.Text)
		} else {
			t.line("     %s: %s", t.number(x.N), x.Text)
		}
	}
	last := a.Lines[len(a.Lines)-1]
	if last.Dropped >= least {
		fmt.Fprintln(t.w)
		t.line("%s of the odds lay with more than %s at once and are left out.", t.words.Percent(last.Dropped), many(t.Model.MostFaults, "fault"))
	}
}
