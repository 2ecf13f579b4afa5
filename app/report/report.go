package report

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"time"

	"pitwise/app/words"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A Unit is what a report is made of. Model, Account and Origin may be nil: then steps
// are told by their ids, and what cannot be said without is left out.
type Unit struct {
	Model   *model.Model
	Trail   *trail.Trail
	Account *trail.Account
	Origin  *trail.Odds    // of what was wrong when the unit came in
	Zone    *time.Location // of the times; nil is UTC
}

// bench is the unit as the engine sees it.
func (u Unit) bench() *bench.Unit {
	return &bench.Unit{Model: u.Model, Trail: u.Trail, Account: u.Account, Origin: u.Origin}
}

// A Report is what was found and done, in sections.
type Report struct {
	Title    string
	Sections []Section
}

// A Section is some lines, or a table, or both.
type Section struct {
	Kind  Kind
	Title string
	Lines []string
	Head  []string
	Rows  []Row
}

// Kind says what a section is about, for a page that draws beside it.
type Kind string

const (
	AboutUnit     Kind = "unit"
	AboutFound    Kind = "found"
	AboutOdds     Kind = "odds"
	AboutEvidence Kind = "evidence"
	AboutSteps    Kind = "steps"
	AboutCautions Kind = "cautions"
	AboutCost     Kind = "cost"
	AboutWarnings Kind = "warnings"
	AboutSafety   Kind = "safety"
)

// A Row is a line of a table.
type Row struct {
	Cells []string
	Gone  bool      // told of an event that was taken back
	Bars  []float64 // probabilities by cell, NaN for none; nil if no cell has one
}

// weighty is the probability from which on what speaks for and against a suspect is told.
const weighty = 0.1

// suspectsTold and resultsTold are how many suspects the evidence is told of, and how
// many results of each, the strongest.
const (
	suspectsTold = 4
	resultsTold  = 6
)

// Of makes the report of a unit.
func Of(w *words.Words, u Unit) Report {
	if u.Zone == nil {
		u.Zone = time.UTC
	}
	r := Report{Title: u.Trail.Unit.Label}
	sections := []Section{aboutUnit(w, u), aboutFound(w, u)}
	if u.Account != nil && u.Model != nil && len(u.Account.Lines) > 0 {
		sections = append(sections, aboutOdds(w, u), aboutEvidence(w, u))
	}
	sections = append(sections, aboutSteps(w, u))
	if u.Model != nil {
		sections = append(sections, aboutCost(w, u), aboutCautions(w, u))
	}
	sections = append(sections, aboutWarnings(w, u),
		Section{Kind: AboutSafety, Title: w.Say(words.ReportSafety), Lines: []string{w.Say(words.SafetyShort)}})
	for _, s := range sections {
		if len(s.Lines) > 0 || len(s.Rows) > 0 {
			r.Sections = append(r.Sections, s)
		}
	}
	return r
}

func aboutUnit(w *words.Words, u Unit) Section {
	t := u.Trail
	s := Section{Kind: AboutUnit, Title: w.Say(words.ReportUnit)}
	title := t.Model.ID
	if u.Model != nil && u.Model.Title != "" {
		title = u.Model.Title
	}
	s.Lines = append(s.Lines,
		w.Say(words.ReportLabel, t.Unit.Label),
		w.Say(words.ReportModel, title, t.Model.Revision),
		w.Say(words.ReportBegun, w.Day(t.Created, u.Zone)),
	)
	if t.Unit.Notes != "" {
		s.Lines = append(s.Lines, t.Unit.Notes)
	}
	return s
}

// aboutFound is how the unit left the bench, what was wrong and what was repaired.
func aboutFound(w *words.Words, u Unit) Section {
	s := Section{Kind: AboutFound, Title: w.Say(words.ReportFound)}
	if e, ok := u.bench().Ended(); ok {
		s.Lines = append(s.Lines, w.Say(words.ReportEnded, w.Ending(e.As), w.Day(e.At, u.Zone)))
		for _, c := range e.Causes {
			s.Lines = append(s.Lines, w.Say(words.ReportCause, words.FaultOf(u.Model, c)))
		}
	} else {
		s.Lines = append(s.Lines, w.Say(words.StatusOpen))
	}
	live := u.Trail.Live()
	for i, e := range u.Trail.Events {
		if live[i] && e.Kind == trail.Repair {
			step, _ := w.Told(u.Model, u.Trail, e)
			s.Lines = append(s.Lines, w.Say(words.ReportAtStep, step, u.bench().Number(e.N)))
		}
	}
	if u.Account != nil && u.Model != nil && len(u.Account.Lines) > 0 {
		s.Lines = append(s.Lines, w.Say(words.ReportSound, w.Percent(u.Account.Lines[len(u.Account.Lines)-1].Odds.Sound)))
	}
	return s
}

// aboutOdds are the suspects: as the unit came in, if that was worked out, and as it
// stands now.
func aboutOdds(w *words.Words, u Unit) Section {
	now := u.Account.Lines[len(u.Account.Lines)-1].Odds
	s := Section{Kind: AboutOdds, Title: w.Say(words.ReportOdds)}
	columns := []trail.Odds{now}
	s.Head = []string{w.Say(words.ReportSuspect), w.Say(words.ReportProbability)}
	if u.Origin != nil && repaired(u.Trail) {
		// What was believed then, what hindsight says of it, and what is believed now.
		columns = []trail.Odds{believed(u), *u.Origin, now}
		s.Head = []string{w.Say(words.ReportSuspect), w.Say(words.ReportBelieved), w.Say(words.ReportAtFirst), w.Say(words.ReportNow)}
	}
	add := func(name string, odds func(trail.Odds) float64) {
		row := Row{Cells: []string{name}, Bars: []float64{math.NaN()}}
		for _, c := range columns {
			row.Cells = append(row.Cells, w.Percent(odds(c)))
			row.Bars = append(row.Bars, odds(c))
		}
		s.Rows = append(s.Rows, row)
	}
	rest := 0
	end, _ := u.bench().Ended()
	for _, i := range columns[max(0, len(columns)-2)].Ranked() { // by hindsight, where there is any
		if most(columns, i) >= bench.SupportedFrom || slices.Contains(end.Causes, u.Model.Modes[i].ID) {
			add(words.Fault(u.Model, i), func(o trail.Odds) float64 { return o.Modes[i] })
		} else {
			rest++
		}
	}
	add(w.Say(words.Faults, 0), func(o trail.Odds) float64 { return o.Sound })
	if rest > 0 {
		s.Rows = append(s.Rows, Row{Cells: append([]string{w.Say(words.ReportRest, rest, int(100*bench.SupportedFrom))}, make([]string, len(columns))...)})
	}
	return s
}

// believed are the odds once the unit was taken in: after what was told and the intake test.
func believed(u Unit) trail.Odds {
	of, at := u.bench(), 0
	for at < len(u.Trail.Events) && at+1 < len(u.Account.Lines) {
		e := u.Trail.Events[at]
		if e.Kind != trail.Result || !of.Told(e.Test) && e.Test != u.Model.Tests[u.Model.Intake].ID {
			break
		}
		at++
	}
	return u.Account.Lines[at].Odds
}

// most is the highest probability of a mode in any of the columns.
func most(columns []trail.Odds, mode int) float64 {
	p := 0.0
	for _, c := range columns {
		p = max(p, c.Modes[mode])
	}
	return p
}

func repaired(t *trail.Trail) bool {
	live := t.Live()
	for i, e := range t.Events {
		if live[i] && e.Kind == trail.Repair {
			return true
		}
	}
	return false
}

// aboutEvidence is what spoke for and against the leading suspects and what was found.
func aboutEvidence(w *words.Words, u Unit) Section {
	s := Section{Kind: AboutEvidence, Title: w.Say(words.ReportEvidence), Head: []string{
		w.Say(words.ReportSuspect), w.Say(words.ReportNumber), w.Say(words.ReportResult), w.Say(words.ReportTimes),
	}}
	columns := []trail.Odds{u.Account.Lines[len(u.Account.Lines)-1].Odds}
	if u.Origin != nil {
		columns = append([]trail.Odds{*u.Origin}, columns...)
	}
	var found []model.ModeID
	if e, ok := u.bench().Ended(); ok {
		found = e.Causes
	}
	told := 0
	for _, mode := range columns[0].Ranked() {
		if most(columns, mode) < weighty && !slices.Contains(found, u.Model.Modes[mode].ID) || told == suspectsTold {
			continue
		}
		told++
		name := words.Fault(u.Model, mode)
		for _, l := range strongest(u.Account.Lines, mode) {
			step, seen := w.Told(u.Model, u.Trail, u.Trail.Events[l.N-1])
			s.Rows = append(s.Rows, Row{Cells: []string{name, numbered(u.bench().Number(l.N)), w.Is(step, seen), times(w, l.Decibans[mode])}})
			name = "" // a suspect is named once
		}
	}
	if len(s.Rows) > 0 {
		s.Lines = []string{w.Say(words.ReportTimesHelp)}
	}
	return s
}

// times says by what a result multiplied the odds of a suspect, or divided them.
func times(w *words.Words, decibans float64) string {
	sign, digits := "× ", 1
	if decibans < 0 {
		sign = "÷ "
	}
	x := math.Exp(math.Abs(decibans) * math.Ln10 / 10)
	if x >= 10 {
		digits = 0
	}
	return sign + w.Decimal(x, digits)
}

// strongest returns the results that moved a mode most, in the order of the trail.
func strongest(lines []trail.Line, mode int) []trail.Line {
	var all []trail.Line
	for _, l := range lines {
		// Less than a deciban moves nobody.
		if l.Decibans != nil && math.Abs(l.Decibans[mode]) >= 1 {
			all = append(all, l)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return math.Abs(all[i].Decibans[mode]) > math.Abs(all[j].Decibans[mode]) })
	all = all[:min(len(all), resultsTold)]
	sort.Slice(all, func(i, j int) bool { return all[i].N < all[j].N })
	return all
}

func aboutSteps(w *words.Words, u Unit) Section {
	m, t, a := u.Model, u.Trail, u.Account
	clock := words.ReportTime
	if u.Zone != time.UTC {
		clock = words.ReportTimeHere
	}
	s := Section{Kind: AboutSteps, Title: w.Say(words.ReportSteps), Head: []string{
		w.Say(words.ReportNumber), w.Say(clock), w.Say(words.ReportStep), w.Say(words.ReportResult), w.Say(words.ReportAfter),
	}}
	live := t.Live()
	day, before := w.Day(t.Created, u.Zone), ""
	for i, e := range t.Events {
		after := ""
		if a != nil && m != nil && i+1 < len(a.Lines) && live[i] {
			if now := leader(w, m, a.Lines[i+1].Odds); now != before {
				after, before = now, now
			}
		}
		step, seen := w.Told(m, t, e)
		if !live[i] {
			seen += " (" + w.Say(words.EventIsVoid) + ")"
		}
		at := w.Clock(e.At, u.Zone)
		if d := w.Day(e.At, u.Zone); d != day {
			day = d
			at = d + " " + at
		}
		s.Rows = append(s.Rows, Row{Cells: []string{numbered(u.bench().Number(e.N)), at, step, strings.TrimSpace(seen), after}, Gone: !live[i]})
	}
	return s
}

// leader names the most probable mode, or that nothing is wrong.
func leader(w *words.Words, m *model.Model, o trail.Odds) string {
	best := -1
	p := o.Sound
	for i, q := range o.Modes {
		if q > p {
			best, p = i, q
		}
	}
	if best < 0 {
		return w.Say(words.FollowsSound, w.Percent(p))
	}
	return words.Fault(m, best) + " " + w.Percent(p)
}

// aboutCost is what the steps cost by the model's numbers, and what that comes to.
func aboutCost(w *words.Words, u Unit) Section {
	terms := u.bench().Terms()
	s := Section{Kind: AboutCost, Title: w.Say(words.ReportCost), Head: []string{
		w.Say(words.ReportWork), w.Say(words.ReportCount), w.Say(words.ReportMinutes), w.Say(words.ReportMoney),
	}}
	kinds := []struct {
		kind trail.Kind
		name words.Key
	}{{trail.Result, words.ReportTests}, {trail.Setup, words.ReportMoves}, {trail.Repair, words.ReportRepairs}}
	var count [3]int
	var minutes, money [3]float64
	for _, c := range u.bench().Costs() {
		for i, k := range kinds {
			if k.kind == c.Kind {
				count[i]++
				minutes[i] += c.Minutes
				money[i] += c.Money
			}
		}
	}
	for i, k := range kinds {
		s.Rows = append(s.Rows, Row{Cells: []string{w.Say(k.name), fmt.Sprint(count[i]), w.Minutes(minutes[i]), w.Money(money[i], terms.Currency)}})
	}
	min, mon := u.bench().Spent()
	s.Rows = append(s.Rows, Row{Cells: []string{w.Say(words.ReportSum), fmt.Sprint(count[0] + count[1] + count[2]), w.Minutes(min), w.Money(mon, terms.Currency)}})
	worth := min * terms.MinuteValue
	s.Lines = []string{
		w.Say(words.ReportTimeWorth, w.Money(terms.MinuteValue, terms.Currency), w.Money(worth, terms.Currency), w.Money(worth+mon, terms.Currency)),
		w.Say(words.ReportTerms, w.Money(terms.WorkingValue, terms.Currency), w.Money(terms.AsIsValue, terms.Currency), w.Money(terms.ComebackCost, terms.Currency)),
		w.Say(words.ReportByModel),
	}
	return s
}

// aboutCautions are the cautions that belong to what was done, with its numbers.
func aboutCautions(w *words.Words, u Unit) Section {
	m := u.Model
	s := Section{Kind: AboutCautions, Title: w.Say(words.ReportCautions), Head: []string{w.Say(words.ReportCaution), w.Say(words.ReportAtSteps)}}
	at := map[model.CautionID][]string{}
	for i, cautions := range u.bench().CautionsOfEvents() {
		for _, c := range cautions {
			at[c.ID] = append(at[c.ID], numbered(u.bench().Number(u.Trail.Events[i].N)))
		}
	}
	for _, c := range m.Cautions {
		if steps := at[c.ID]; len(steps) > 0 {
			s.Rows = append(s.Rows, Row{Cells: []string{strings.TrimSpace(words.Title(c.Words, c.ID) + ". " + c.Text), strings.Join(steps, ", ")}})
		}
	}
	return s
}

func aboutWarnings(w *words.Words, u Unit) Section {
	s := Section{Kind: AboutWarnings, Title: w.Say(words.ReportWarnings)}
	if u.Account == nil {
		return s
	}
	for _, x := range u.Account.Warnings {
		s.Lines = append(s.Lines, w.Warned(u.Model, u.Trail, x))
	}
	return s
}

// numbered is the number of a step as a cell shows it; what is no step has none.
func numbered(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprint(n)
}
