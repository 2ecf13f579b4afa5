package main

import (
	"bufio"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

var proposeCommand = &command{
	name:  "propose",
	args:  "[-model FILE-or-ID] [-any-revision] [-top N] [-steps] [-json] TRAIL",
	short: "say what to do next with a unit, and why",
	long: `
Works the TRAIL out (a file, or - for standard input) and lists what to do next, the
step with the least expected total cost from here first, by the terms in the trail.
Each comes with its cautions, its tools and the way to its setup before the step
itself; with minutes and money, the expected total if it is next, the odds of each
outcome and what follows it, the bits it is expected to tell, and why. Left out are
tests that were skipped and not done since, and steps whose tools are not at hand.

A caution is told in full before the first step that carries it, and by its title
with the later ones. The model is found as "pitwise help replay" says.

With -json the output is one object:

  {"model": {"id", "revision", "sha256"}, "after": n of the last event, "setup", "currency",
   "ended": how, if the trail says so,
   "proposals": [{"rank", "kind": "test", "repair", "sign-off" or "write-off", "id", "title",
     "minutes", "money", "total",
     "cautions": [{"id", "title", "text"}], "tools": [{"id", "title"}],
     "way": [{"move": "enter" or "leave", "setup", "title", "minutes", "money", "steps"}],
     "steps": [text],
     "outcomes": [{"id", "title", "p", AFTER}] of a test, "then": {AFTER} of a repair,
     "bits" of a test, "left": the odds that a fault is left, of a sign-off,
     "reason": {"other": {"kind", "id"}, "saves", "sign_off", "write_off",
       "separates": [MODE, MODE], "separates_bits", "proof", "words": [text]}}],
   "held": [{"kind", "id", "title", "why": "tools", "skipped" or "not-yet", "needs": [tool], "reason",
     "after": [{"test", "outcomes": [id]}]}],
   "warnings": [{"n", "text"}]}

AFTER is "next": {"kind", "id"}, or null where that is open, "total": expected cost from there, "suspect": the
most probable mode, or null if it is most probable that nothing is wrong, "odds": of
that. Money is in the currency and has the step's way in it; "saves" is the
total of the best other step less this total; "sign_off" and "write_off" are what
ending now costs; "proof" is what one more intake test would be worth before signing
off. A number that does not exist is null.

  pitwise propose -top 3 shelf-3.trail.json
  pitwise propose -json shelf-3.trail.json | less`,
	run: propose,
}

func propose(d *desk, flags *flag.FlagSet, args []string) error {
	named := flags.String("model", "", "work it out with the model in `FILE`, or the shipped one of that id")
	anyRevision := flags.Bool("any-revision", false, "go on with a model that the trail does not name")
	top := flags.Int("top", -1, "list the best `N` steps, 0 for all (10, with -json all)")
	steps := flags.Bool("steps", false, "tell how to do every step listed, not just the first")
	asJSON := flags.Bool("json", false, "one JSON object")
	args, err := d.parse(flags, args, 1, 1)
	if err != nil {
		return err
	}
	switch {
	case *top < -1:
		return misuse{fmt.Sprintf("-top %d is less than 0", *top)}
	case *top == -1 && !*asJSON:
		*top = 10
	}
	u, err := d.unit(args[0], *named, *anyRevision)
	if err != nil {
		return err
	}
	a, err := u.replay()
	if err != nil {
		return err
	}
	all, err := d.proposals(u)
	if err != nil {
		return err
	}
	more := 0
	if *top > 0 && *top < len(all) {
		all, more = all[:*top], len(all)-*top
	}
	w := bufio.NewWriter(d.out)
	p := proposing{words: words.In("en"), unit: u, account: a}
	if *asJSON {
		e := json.NewEncoder(steady{w})
		e.SetEscapeHTML(false)
		e.SetIndent("", "  ")
		if err := e.Encode(p.document(all)); err != nil {
			return err
		}
		return w.Flush()
	}
	p.tell(w, all, more, *steps)
	return w.Flush()
}

// proposals waits for the planner's settled answer.
func (d *desk) proposals(u *unit) ([]plan.Proposal, error) {
	search, err := d.settled(u)
	if err != nil {
		return nil, err
	}
	return search.Proposals(), nil
}

// settled waits for the search of what to do next.
func (d *desk) settled(u *unit) (plan.Search, error) {
	planner, err := u.Planner(u.space)
	if err != nil {
		return nil, err
	}
	search := u.Advise(planner)
	begun := time.Now()
	var done func()
	for !search.Work(20) {
		if d.ctx.Err() != nil {
			return nil, fmt.Errorf("stopped: %w", d.ctx.Err())
		}
		if done == nil && time.Since(begun) > 2*time.Second {
			done = d.progress("Working out the next step")
		}
	}
	if done != nil {
		done()
	}
	return search, nil
}

// The shape of propose -json. Cautions, tools and the way stand before the step.
type (
	proposed struct {
		Model     modelRef        `json:"model"`
		After     int             `json:"after"`
		Setup     model.SetupID   `json:"setup"`
		Currency  string          `json:"currency"`
		Ended     trail.Ending    `json:"ended,omitempty"`
		Proposals []proposedStep  `json:"proposals"`
		Held      []heldStep      `json:"held"`
		Warnings  []warningObject `json:"warnings"`
	}
	modelRef struct {
		ID       string `json:"id"`
		Revision string `json:"revision"`
		SHA256   string `json:"sha256"`
	}
	warningObject struct {
		N    int    `json:"n"`
		Text string `json:"text"`
	}
	stepRef struct {
		Kind plan.StepKind `json:"kind"`
		ID   string        `json:"id,omitempty"`
	}
	part struct {
		ID    string `json:"id"`
		Title string `json:"title"`
	}
	cautionPart struct {
		part
		Text string `json:"text"`
	}
	proposedStep struct {
		Rank int `json:"rank"`
		stepRef
		Title    string            `json:"title"`
		Minutes  float64           `json:"minutes"`
		Money    float64           `json:"money"`
		Total    *float64          `json:"total"`
		Cautions []cautionPart     `json:"cautions"`
		Tools    []part            `json:"tools"`
		Way      []wayPart         `json:"way"`
		Steps    []string          `json:"steps"`
		Outcomes []proposedOutcome `json:"outcomes,omitempty"`
		Then     *after            `json:"then,omitempty"`
		Bits     *float64          `json:"bits,omitempty"`
		Left     *float64          `json:"left,omitempty"`
		Reason   reasonObject      `json:"reason"`
	}
	wayPart struct {
		Move    string   `json:"move"`
		Setup   string   `json:"setup"`
		Title   string   `json:"title"`
		Minutes float64  `json:"minutes"`
		Money   float64  `json:"money"`
		Steps   []string `json:"steps"`
	}
	proposedOutcome struct {
		part
		P *float64 `json:"p"`
		after
	}
	after struct {
		Next    *stepRef `json:"next"`
		Total   *float64 `json:"total"`
		Suspect *string  `json:"suspect"`
		Odds    *float64 `json:"odds"`
	}
	reasonObject struct {
		Other     *stepRef `json:"other"`
		Saves     *float64 `json:"saves"`
		SignOff   *float64 `json:"sign_off"`
		WriteOff  *float64 `json:"write_off"`
		Separates []string `json:"separates,omitempty"`
		Bits      *float64 `json:"separates_bits,omitempty"`
		Proof     *float64 `json:"proof,omitempty"`
		Words     []string `json:"words"`
	}
	heldStep struct {
		stepRef
		Title  string     `json:"title"`
		Why    string     `json:"why"`
		Needs  []string   `json:"needs,omitempty"`
		Reason string     `json:"reason,omitempty"`
		After  []seenPart `json:"after,omitempty"`
	}
	seenPart struct {
		Test     string   `json:"test"`
		Outcomes []string `json:"outcomes"`
	}
)

// proposing puts proposals into words and data.
type proposing struct {
	words *words.Words
	*unit
	account *trail.Account
}

// finite returns x, nil for what JSON has no number for.
func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

func (p *proposing) document(all []plan.Proposal) proposed {
	ref := refOf(p.Model)
	doc := proposed{
		Model: modelRef{ref.ID, ref.Revision, ref.SHA256}, After: len(p.Trail.Events),
		Setup: p.Model.Setups[p.account.Setup].ID, Currency: p.Terms().Currency, Ended: p.ended(),
		Proposals: []proposedStep{}, Held: p.held(), Warnings: []warningObject{},
	}
	for i := range all {
		doc.Proposals = append(doc.Proposals, p.object(i, &all[i]))
	}
	for _, x := range p.account.Warnings {
		doc.Warnings = append(doc.Warnings, warningObject{x.N, x.Text})
	}
	return doc
}

func (p *proposing) object(i int, x *plan.Proposal) proposedStep {
	o := proposedStep{
		Rank: i + 1, stepRef: *p.ref(x.Step), Title: p.title(x.Step), Minutes: x.Minutes, Money: x.Money, Total: finite(x.Total),
		Cautions: []cautionPart{}, Tools: []part{}, Way: []wayPart{}, Steps: nonNil(p.Task(x.Step).Steps),
		Reason: reasonObject{Saves: finite(x.Reason.Saves), SignOff: finite(x.Reason.SignOff), WriteOff: finite(x.Reason.WriteOff), Words: p.reasons(x)},
	}
	for _, c := range p.Cautions(x.Step) {
		o.Cautions = append(o.Cautions, cautionPart{part{string(c.ID), words.Title(c.Words, c.ID)}, c.Text})
	}
	for _, t := range bench.Tools(p.Model, p.Task(x.Step).Needs) {
		o.Tools = append(o.Tools, part{string(t.ID), words.Title(t.Words, t.ID)})
	}
	for _, mv := range x.Way {
		o.Way = append(o.Way, p.move(mv))
	}
	if x.Reason.Other.Kind != "" {
		o.Reason.Other = p.ref(x.Reason.Other)
	}
	switch x.Step.Kind {
	case plan.DoTest:
		t := &p.Model.Tests[x.Step.Index]
		for _, f := range x.Outcomes {
			out := &t.Outcomes[f.Outcome]
			o.Outcomes = append(o.Outcomes, proposedOutcome{part{string(out.ID), words.Title(out.Words, out.ID)}, finite(f.P), p.after(&f)})
		}
		o.Bits = finite(x.Bits)
		if a, b := x.Reason.Separates[0], x.Reason.Separates[1]; a >= 0 && b >= 0 {
			o.Reason.Separates = []string{string(p.Model.Modes[a].ID), string(p.Model.Modes[b].ID)}
			o.Reason.Bits = finite(x.Reason.Bits)
		}
	case plan.DoRepair:
		if len(x.Outcomes) == 1 {
			then := p.after(&x.Outcomes[0])
			o.Then = &then
		}
	case plan.SignOff:
		o.Left, o.Reason.Proof = finite(x.Left), finite(x.Reason.Proof)
	}
	return o
}

func nonNil(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}

func (p *proposing) after(f *plan.Follow) after {
	a := after{Total: finite(f.Total), Odds: finite(f.Odds)}
	if f.Next.Kind != "" {
		a.Next = p.ref(f.Next)
	}
	if f.Suspect >= 0 {
		id := string(p.Model.Modes[f.Suspect].ID)
		a.Suspect = &id
	}
	return a
}

func (p *proposing) ref(s plan.Step) *stepRef { return &stepRef{s.Kind, p.Task(s).ID} }

func (p *proposing) title(s plan.Step) string { return p.words.Step(p.Model, s) }

func (p *proposing) move(mv model.Move) wayPart {
	s := &p.Model.Setups[mv.Setup]
	work, _ := p.Model.Move(mv)
	way := "enter"
	if mv.Leave {
		way = "leave"
	}
	return wayPart{way, string(s.ID), words.Setup(p.Model, mv.Setup), work.Minutes, p.Money(work.Money), nonNil(work.Steps)}
}

func (p *proposing) ended() trail.Ending {
	e, _ := p.Ended()
	return e.As
}

// held returns what is not on offer.
func (p *proposing) held() []heldStep {
	all := []heldStep{}
	for _, h := range p.Held() {
		o := heldStep{stepRef: *p.ref(h.Step), Title: p.title(h.Step), Why: string(h.Why), Reason: h.Skip.Reason}
		for _, id := range h.Lacks {
			o.Needs = append(o.Needs, string(id))
		}
		for _, x := range h.After {
			after := seenPart{Test: string(p.Model.Tests[x.Test].ID)}
			for _, i := range x.Outcomes {
				after.Outcomes = append(after.Outcomes, string(p.Model.Tests[x.Test].Outcomes[i].ID))
			}
			o.After = append(o.After, after)
		}
		all = append(all, o)
	}
	return all
}

func (p *proposing) money(x float64) string { return p.words.Money(x, p.Terms().Currency) }

// reasons says why a proposal stands where it stands.
func (p *proposing) reasons(x *plan.Proposal) []string {
	lines := []string{}
	return append(lines, p.words.Reasons(&p.Unit, *x)...)
}

// endings says what ending now costs.
func (p *proposing) endings(r plan.Reason) string {
	return p.words.Say(words.ReasonEither, p.money(r.SignOff), p.money(r.WriteOff))
}

var kindNames = map[plan.StepKind]string{plan.DoTest: "Test", plan.DoRepair: "Repair", plan.SignOff: "End", plan.WriteOff: "End"}

// tell writes the proposals for people to read; there are so many more.
func (p *proposing) tell(w io.Writer, all []plan.Proposal, more int, steps bool) {
	t := &telling{w: w, words: p.words, unit: p.unit}
	t.line("%s: model %s revision %s, after %s, now: %s", p.Trail.Unit.Label, p.Model.ID, p.Model.Revision, many(len(p.Trail.Events), "event"),
		words.Setup(p.Model, p.account.Setup))
	t.line("Suspects: %s", t.suspects(p.account.Lines[len(p.account.Lines)-1].Odds))
	if len(all) > 0 {
		t.line("%s", p.endings(all[0].Reason))
	}
	if as := p.ended(); as != "" {
		t.line("The trail says that it has left the bench (%s); this is what would be next if it had not.", as)
	}
	for _, x := range p.account.Warnings {
		if x.N == 0 {
			t.line("Warning: %s", x.Text)
		}
	}
	read := map[model.CautionID]bool{}
	for i := range all {
		fmt.Fprintln(w)
		p.block(t, i, &all[i], read, steps || i == 0)
	}
	if more > 0 {
		fmt.Fprintln(w)
		t.line("%s on offer; -top 0 lists all.", many(more, "more step"))
	}
	held := p.Held()
	if len(held) > 0 {
		fmt.Fprintln(w)
		t.line("Not on offer:")
	}
	for _, h := range held {
		t.line("     %s (%s)", p.title(h.Step), p.words.Held(&p.Unit, h))
	}
	fmt.Fprintln(w)
	t.line("%s", p.words.Say(words.SafetyShort))
}

func (p *proposing) block(t *telling, i int, x *plan.Proposal, read map[model.CautionID]bool, steps bool) {
	t.line("%3d. %s: %s", i+1, kindNames[x.Step.Kind], p.title(x.Step))
	facts := []string{"expected total " + p.money(x.Total), p.words.Minutes(x.Minutes), p.money(x.Money) + " of parts"}
	if x.Step.Kind == plan.DoTest {
		facts = append(facts, p.words.Decimal(x.Bits, 2)+" bits")
	}
	t.line("     %s", strings.Join(facts, ", "))
	for _, c := range p.Cautions(x.Step) {
		title := words.Title(c.Words, c.ID)
		if read[c.ID] || c.Text == "" {
			t.line("     CAUTION  %s", title)
		} else {
			t.line("     CAUTION  %s: %s", title, c.Text)
		}
		read[c.ID] = true
	}
	var tools []string
	for _, tool := range bench.Tools(p.Model, p.Task(x.Step).Needs) {
		tools = append(tools, words.Title(tool.Words, tool.ID))
	}
	if len(tools) > 0 {
		t.line("     tools    %s", strings.Join(tools, ", "))
	}
	for _, mv := range x.Way {
		part := p.move(mv)
		to := "to " + part.Title
		if mv.Leave {
			to = "out of " + part.Title
		}
		t.line("     way      %s (%s)", to, p.words.Minutes(part.Minutes))
		if steps {
			p.list(t, part.Steps)
		}
	}
	if todo := p.Task(x.Step).Steps; steps && len(todo) > 0 {
		t.line("     do       %s", p.title(x.Step))
		p.list(t, todo)
	}
	for i := range x.Outcomes {
		f := &x.Outcomes[i]
		if x.Step.Kind != plan.DoTest {
			t.line("     then     %s", p.follow(f))
			continue
		}
		out := &p.Model.Tests[x.Step.Index].Outcomes[f.Outcome]
		t.line("     if       %s %s: %s", words.Title(out.Words, out.ID), p.words.Percent(f.P), p.follow(f))
	}
	for _, why := range p.reasons(x) {
		t.line("     why      %s", why)
	}
}

func (p *proposing) list(t *telling, steps []string) {
	for i, s := range steps {
		t.line("              %d. %s", i+1, s)
	}
}

// follow says what comes after an outcome.
func (p *proposing) follow(f *plan.Follow) string {
	if f.Next.Kind == "" && f.Odds == 0 {
		return "not followed further"
	}
	suspect := "nothing wrong"
	if f.Suspect >= 0 {
		suspect = words.Fault(p.Model, f.Suspect)
	}
	if f.Next.Kind == "" {
		return fmt.Sprintf("what comes next is open; leading: %s %s", suspect, p.words.Percent(f.Odds))
	}
	return fmt.Sprintf("next “%s”, %s from there; leading: %s %s", p.title(f.Next), p.money(f.Total), suspect, p.words.Percent(f.Odds))
}
