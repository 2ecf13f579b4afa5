package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"pitwise/app/words"
	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/plan/exact"
	"pitwise/engine/sim"
	"pitwise/engine/trail"
)

var simulateCommand = &command{
	name:  "simulate",
	args:  "-model FILE-or-ID [-terms FILE] [-policy NAME] [-truth MODEL] [-trails DIR] [-units N] [-seed S] [-cores N] [-json]",
	short: "play simulated units through a policy, and say what they cost",
	long: `
Draws units from a model, each with its faults and with an intake test that did not
show its best outcome, lets a policy choose steps until it signs the unit off or
writes it off, and adds up what that costs. Policies are

  planner         what this program proposes (with no -policy)
  quick           the same without its long search, in a tenth of the time
  checklist       repairs by prior probability over cost, the proof after each
  cheapest-first  the cheapest test until one fault passes 80 %, its best repair, the proof
  information     the same with the test that tells most bits for its cost
  clairvoyant     always knows what is wrong, and does any repair whose tools are at hand
  exact           the best plan there is, for small models alone (64 hypotheses, 16 tests)

A unit of one seed is the same under every policy, and the result is the same for
the same seed whatever the number of cores, but for the times of decisions. A step
costs its minutes by the terms' minute_value and its money, with the way to its
setup; a unit that is signed off with a fault left comes back and costs comeback_cost
and what it would have gained; one that is written off costs what it would have
gained.

With -truth the units are drawn from that model, and do what it says, while the policy
believes the one of -model: both must be of the same parts. With -trails the trail of
each unit is written into that folder, which is made if it is not there; nothing in it is
overwritten. A unit that was signed off sound has what was wrong with it as its causes; one
that was signed off with a fault has what its owner then sees until it fails.

Counted beside the costs is what a repairer would shake his head at: a repair done for
the third time with no new result between; a repair without the result that it asks for,
or a long one, or one under mains or laser, with no look before it; the way home from a
repair without a try that could be had on the way; a sign-off with a fault in.

The terms file is the "terms" object of a trail:

  {"minute_value": 0.25, "currency": "EUR", "tools": ["multimeter"],
   "working_value": 80, "as_is_value": 10, "comeback_cost": 25}

Without it these amounts hold, and every tool of the model is at hand.

With -json the output is one object: policy, units, mean_cost, standard_error (of the
mean cost), mean_minutes, fixed, written_off, come_back (shares of the units), steps
(mean number before the end), oddities: {repeated_cures, unmeasured_work,
closed_unproven, signed_off_with_fault} (numbers over all units), decide_ms: {median,
p99} (time of one decision).

  pitwise simulate -model top-loader -units 2000
  pitwise simulate -model mine.json -terms shop.json -policy checklist -seed 7 -json`,
	run: simulate,
}

// policies in the order in which help tells them.
var policies = []string{"planner", "quick", "checklist", "cheapest-first", "information", "clairvoyant", "exact"}

func simulate(d *desk, flags *flag.FlagSet, args []string) error {
	named := flags.String("model", "", "the model in `FILE`, or the shipped one of that id")
	termsFile := flags.String("terms", "", "the terms in `FILE`")
	policy := flags.String("policy", policies[0], "choose steps as the policy `NAME` does (planner)")
	truth := flags.String("truth", "", "draw the units from the model `MODEL`, a file or the id of a shipped one (that of -model)")
	trails := flags.String("trails", "", "write the trail of each unit into the folder `DIR`")
	units := flags.Int("units", 1000, "play `N` units (1000)")
	seed := flags.Uint64("seed", 1, "of the units, a whole number `S` from 0 (1)")
	cores := flags.Int("cores", runtime.GOMAXPROCS(0), "play `N` units at a time (as many as there are cores)")
	asJSON := flags.Bool("json", false, "one JSON object")
	if _, err := d.parse(flags, args, 0, 0); err != nil {
		return err
	}
	switch {
	case *named == "":
		return misuse{"-model is missing"}
	case !slices.Contains(policies, *policy):
		return misuse{fmt.Sprintf("there is no policy %q, only %s", *policy, strings.Join(policies, ", "))}
	case *units < 1 || *units > mostUnits:
		return misuse{fmt.Sprintf("-units %d is not from 1 to %d", *units, mostUnits)}
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
	s, err := belief.NewSpace(m)
	if err != nil {
		return err
	}
	r := &rehearsal{desk: d, problem: plan.NewProblem(s, terms), policy: *policy, units: *units, seed: *seed, cores: min(*cores, *units), truth: s, trails: *trails}
	if *truth != "" {
		other, err := d.model(*truth)
		if err != nil {
			return err
		}
		if err := sim.Comparable(m, other); err != nil {
			return fmt.Errorf("-truth: %w", err)
		}
		if r.truth, err = belief.NewSpace(other); err != nil {
			return err
		}
	}
	if err := broughtIn(r.truth); err != nil {
		return err
	}
	if r.trails != "" {
		if err := os.MkdirAll(r.trails, 0o755); err != nil {
			return err
		}
	}
	sum, err := r.play()
	if err != nil {
		return err
	}
	if *asJSON {
		return json.NewEncoder(steady{d.out}).Encode(simulatedOf(*policy, sum))
	}
	_, err = io.WriteString(d.out, r.tell(sum))
	return err
}

// mostUnits bounds the memory for what every unit came to.
const mostUnits = 10_000_000

// terms reads terms from a file; those that help tells if there is none.
func (d *desk) terms(name string, m *model.Model) (trail.Terms, error) {
	if name == "" {
		return bench.DefaultTerms(m), nil
	}
	text, err := d.read(name)
	if err != nil {
		return trail.Terms{}, err
	}
	t, err := trail.LoadTerms(text)
	if err != nil {
		return trail.Terms{}, d.refuse(name, err)
	}
	// One file of terms may serve many models, so this is no defect.
	for _, id := range t.Tools {
		if _, ok := m.Tool(id); !ok {
			fmt.Fprintf(d.err, "%s: the model %s has no tool %s\n", plain(name), m.ID, id)
		}
	}
	return t, nil
}

// errNeverIn is a model none of whose units would ever be brought in.
var errNeverIn = errors.New("the intake test hardly ever shows anything but its best outcome, so no unit is brought in")

// broughtIn reports whether units are brought in often enough to be drawn.
func broughtIn(s *belief.Space) error {
	fails := 0.0
	for o, p := range s.Prior().Predict(nil, s.Model().Intake) {
		if o > 0 {
			fails += p
		}
	}
	if fails < 1e-6 {
		return fmt.Errorf("%w (%.2g)", errNeverIn, fails)
	}
	return nil
}

// A rehearsal is some units to be played through a policy.
type rehearsal struct {
	desk    *desk
	problem *plan.Problem
	policy  string
	units   int
	seed    uint64
	cores   int
	truth   *belief.Space // what the units are drawn from
	trails  string        // folder for their trails; "" for none
	note    string        // of the policy, told once all is played
}

// solved is the policy of an exact solution.
type solved struct{ *exact.Solution }

func (s solved) Next(b *sim.Bench) (plan.Step, error) { return s.Solution.Next(b.Situation) }

// effort is how hard the exact policy is worked out: up to some minutes.
var effort = exact.Effort{Tolerance: 0.002, Backups: 100_000}

// maker returns what makes a policy for each goroutine. Long work that all share is done
// first, so that no decision is charged with it.
func (r *rehearsal) maker() (func() (sim.Policy, error), error) {
	of := func(make func() sim.Policy) func() (sim.Policy, error) {
		return func() (sim.Policy, error) { return sim.Until{Policy: make(), Stopped: r.desk.ctx.Err}, nil }
	}
	var memory sim.Memory // many units go the same way for a while
	switch p := r.problem; r.policy {
	case "planner", "quick":
		planner, err := plan.New(p.Space(), p.Terms)
		if err != nil {
			return nil, err
		}
		search := planner.Start(plan.Situation{Belief: p.Space().Prior(), Setup: p.Space().Model().Root})
		for !search.Work(20) {
			if err := r.desk.ctx.Err(); err != nil {
				return nil, err
			}
		}
		if r.policy == "quick" {
			return of(func() sim.Policy { return memory.Of(sim.Quick{Planner: planner}) }), nil
		}
		return of(func() sim.Policy { return memory.Of(sim.Planned{Planner: planner}) }), nil
	case "checklist":
		return of(func() sim.Policy { return sim.NewChecklist(p) }), nil
	case "cheapest-first":
		return of(func() sim.Policy { return sim.CheapestFirst() }), nil
	case "information":
		return of(func() sim.Policy { return memory.Of(sim.Information()) }), nil
	case "clairvoyant":
		return of(func() sim.Policy { return sim.NewClairvoyant(p) }), nil
	default:
		solution, err := r.solve()
		if err != nil {
			return nil, err
		}
		b := solution.Bounds()
		r.note = fmt.Sprintf("The best expected cost lies between %.4f and %.4f.\n", b.Low, b.High)
		return of(func() sim.Policy { return memory.Of(solved{solution}) }), nil
	}
}

// solve works out the exact policy, which knows no contexts.
func (r *rehearsal) solve() (*exact.Solution, error) {
	type answer struct {
		solution *exact.Solution
		err      error
	}
	answers := make(chan answer, 1)
	go func() {
		solution, err := exact.Solve(r.problem, effort)
		answers <- answer{solution, err}
	}()
	select {
	case a := <-answers:
		return a.solution, a.err
	case <-r.desk.ctx.Done():
		return nil, r.desk.ctx.Err()
	}
}

func (r *rehearsal) play() (sim.Summary, error) {
	var played atomic.Int64
	count := func() string { return fmt.Sprintf("%d of %d", played.Load(), r.units) }
	done := r.desk.counting(fmt.Sprintf("Simulating %s with the policy %s", many(r.units, "unit"), r.policy), count)
	defer func() {
		done()
		fmt.Fprint(r.desk.err, r.note)
	}()
	maker, err := r.maker()
	if r.desk.ctx.Err() != nil {
		return sim.Summary{}, errors.New("stopped before the first unit")
	}
	if err != nil {
		return sim.Summary{}, err
	}
	begun := time.Now()
	clock := func() float64 { return float64(time.Since(begun)) / float64(time.Millisecond) }
	games := sim.Games{Problem: r.problem, Truth: r.truth, Policy: maker, Seed: r.seed, Units: r.units, Goroutines: r.cores, Clock: clock}
	games.Done = func(n int, _ sim.Run, events []trail.Event) error {
		played.Add(1)
		return r.keep(n, events)
	}
	runs, err := games.Play()
	if err != nil {
		if r.desk.ctx.Err() != nil { // each goroutine says so
			return sim.Summary{}, fmt.Errorf("stopped after %s units", count())
		}
		return sim.Summary{}, err
	}
	return sim.Summarise(runs), nil
}

// keep writes the trail of a unit into its folder, if there is one, and overwrites nothing.
func (r *rehearsal) keep(n int, events []trail.Event) error {
	if r.trails == "" {
		return nil
	}
	m := r.problem.Space().Model()
	t := sim.Trail(r.problem, fmt.Sprintf("%s-%s-seed-%d-unit-%d", m.ID, r.policy, r.seed, n), events)
	f, err := os.OpenFile(filepath.Join(r.trails, fmt.Sprintf("unit-%0*d.trail.json", len(fmt.Sprint(r.units-1)), n)), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	if _, err := f.Write(t.Encode()); err != nil {
		return errors.Join(err, f.Close())
	}
	return f.Close()
}

// counting shows how far long work has come, until the returned function is called: each
// second on a terminal, each half minute elsewhere.
func (d *desk) counting(what string, count func() string) func() {
	begun := time.Now()
	every, from, to := 30*time.Second, "", "\n"
	if f, ok := d.err.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.Mode()&os.ModeCharDevice != 0 {
			every, from, to = time.Second, "\r", ""
		}
	}
	end, ended := make(chan struct{}), make(chan struct{})
	fmt.Fprintf(d.err, "%s …%s", what, to)
	go func() {
		defer close(ended)
		tick := time.NewTicker(every)
		defer tick.Stop()
		for {
			select {
			case <-end:
				return
			case <-tick.C:
				fmt.Fprintf(d.err, "%s%s … %s, %.0f s%s", from, what, count(), time.Since(begun).Seconds(), to)
			}
		}
	}()
	return func() {
		close(end)
		<-ended
		fmt.Fprintf(d.err, "%s%s … %s, %.0f s\n", from, what, count(), time.Since(begun).Seconds())
	}
}

// simulated is the shape of simulate -json.
type simulated struct {
	Policy        string  `json:"policy"`
	Units         int     `json:"units"`
	MeanCost      float64 `json:"mean_cost"`
	StandardError float64 `json:"standard_error"`
	MeanMinutes   float64 `json:"mean_minutes"`
	Fixed         float64 `json:"fixed"`
	WrittenOff    float64 `json:"written_off"`
	ComeBack      float64 `json:"come_back"`
	Steps         float64 `json:"steps"`
	Odd           struct {
		Repeated   int `json:"repeated_cures"`
		Unmeasured int `json:"unmeasured_work"`
		Unproven   int `json:"closed_unproven"`
		SignedOff  int `json:"signed_off_with_fault"`
	} `json:"oddities"`
	Decide struct {
		Median float64 `json:"median"`
		P99    float64 `json:"p99"`
	} `json:"decide_ms"`
}

func simulatedOf(policy string, s sim.Summary) simulated {
	o := simulated{Policy: policy, Units: s.Units, MeanCost: s.MeanCost, StandardError: s.StandardError, MeanMinutes: s.MeanMinutes,
		Fixed: s.Fixed, WrittenOff: s.WrittenOff, ComeBack: s.ComeBack, Steps: s.Steps}
	o.Odd.Repeated, o.Odd.Unmeasured, o.Odd.Unproven, o.Odd.SignedOff = s.Odd.Repeated, s.Odd.Unmeasured, s.Odd.Unproven, s.Odd.SignedOff
	o.Decide.Median, o.Decide.P99 = quantile(s.Decide, 0.5), quantile(s.Decide, 0.99)
	return o
}

// quantile returns the least of all x that at least the share q of them do not exceed
// (the inverse of the empirical distribution function); 0 of none.
func quantile(all []float64, q float64) float64 {
	if len(all) == 0 {
		return 0
	}
	all = slices.Sorted(slices.Values(all))
	for i := range all {
		if float64(i+1) >= q*float64(len(all)) {
			return all[i]
		}
	}
	return all[len(all)-1]
}

// tell says what a rehearsal came to.
func (r *rehearsal) tell(s sim.Summary) string {
	w := words.In("en")
	m := r.problem.Space().Model()
	money := func(x float64) string { return w.Money(x, r.problem.Terms.Currency) }
	var b strings.Builder
	drawn := ""
	if truth := r.truth.Model(); truth != m {
		drawn = fmt.Sprintf(", drawn from %s revision %s", truth.ID, plain(truth.Revision))
	}
	fmt.Fprintf(&b, "%s of %s revision %s%s, policy %s, seed %d\n", many(s.Units, "unit"), m.ID, plain(m.Revision), drawn, r.policy, r.seed)
	for _, row := range [][2]string{
		{"mean cost", fmt.Sprintf("%s, standard error %s", money(s.MeanCost), money(s.StandardError))},
		{"minutes", w.Decimal(s.MeanMinutes, 1)},
		{"money", money(s.MeanMoney)},
		{"fixed", w.Percent(s.Fixed)},
		{"written off", w.Percent(s.WrittenOff)},
		{"come back", w.Percent(s.ComeBack)},
		{"steps", w.Decimal(s.Steps, 1)},
		{"odd", fmt.Sprintf("repeated cures %d, unmeasured work %d, closed unproven %d, signed off with a fault in %d", s.Odd.Repeated, s.Odd.Unmeasured, s.Odd.Unproven, s.Odd.SignedOff)},
		{"a decision", fmt.Sprintf("median %s ms, 99th percentile %s ms", w.Decimal(quantile(s.Decide, 0.5), 2), w.Decimal(quantile(s.Decide, 0.99), 2))},
	} {
		fmt.Fprintf(&b, "  %-12s %s\n", row[0], row[1])
	}
	return b.String()
}
