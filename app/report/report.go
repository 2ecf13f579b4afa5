package report

import (
	"fmt"
	"sort"
	"time"

	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// A Report is what was found and done, in sections.
type Report struct {
	Title    string
	Sections []Section
}

// A Section is some lines, or a table, or both.
type Section struct {
	Title string
	Lines []string
	Head  []string
	Rows  [][]string
}

// least is the probability below which a suspect is left out of the report.
const least = 0.01

// Of makes the report of a unit. m and a may be nil: then the steps are told by
// their ids and the odds are left out.
func Of(w *words.Words, m *model.Model, t *trail.Trail, a *trail.Account) Report {
	r := Report{Title: t.Unit.Label}
	r.Sections = append(r.Sections, unitSection(w, m, t))
	if a != nil && m != nil && len(a.Lines) > 0 {
		r.Sections = append(r.Sections, oddsSection(w, m, a.Lines[len(a.Lines)-1].Odds))
	}
	r.Sections = append(r.Sections, stepsSection(w, m, t, a))
	if a != nil && len(a.Warnings) > 0 {
		s := Section{Title: w.Say(words.ReportWarnings)}
		for _, x := range a.Warnings {
			s.Lines = append(s.Lines, fmt.Sprintf("%d: %s", x.N, x.Text))
		}
		r.Sections = append(r.Sections, s)
	}
	r.Sections = append(r.Sections, Section{Title: w.Say(words.ReportSafety), Lines: []string{w.Say(words.SafetyShort)}})
	return r
}

func unitSection(w *words.Words, m *model.Model, t *trail.Trail) Section {
	s := Section{Title: w.Say(words.ReportUnit)}
	title := t.Model.ID
	if m != nil && m.Title != "" {
		title = m.Title
	}
	s.Lines = append(s.Lines,
		w.Say(words.ReportLabel, t.Unit.Label),
		w.Say(words.ReportModel, title, t.Model.Revision),
		w.Say(words.ReportBegun, w.Day(t.Created, time.UTC)),
	)
	if t.Unit.Notes != "" {
		s.Lines = append(s.Lines, t.Unit.Notes)
	}
	live := t.Live()
	for i := len(t.Events) - 1; i >= 0; i-- {
		e := t.Events[i]
		if live[i] && e.Kind == trail.End {
			s.Lines = append(s.Lines, w.Say(words.ReportEnded, w.Say(endings[e.As]), w.Day(e.At, time.UTC)))
			for _, c := range e.Causes {
				s.Lines = append(s.Lines, w.Say(words.ReportCause, cause(m, c)))
			}
			break
		}
	}
	return s
}

var endings = map[trail.Ending]words.Key{
	trail.SignedOff:  words.StatusSignedOff,
	trail.WrittenOff: words.StatusWrittenOff,
	trail.Returned:   words.StatusReturned,
}

func cause(m *model.Model, id model.ModeID) string {
	if m != nil {
		if mode, ok := m.Mode(id); ok {
			c := m.Components[mode.Component]
			return or(c.Title, string(c.ID)) + ": " + or(mode.Title, string(mode.ID))
		}
	}
	return string(id)
}

func or(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

func oddsSection(w *words.Words, m *model.Model, o trail.Odds) Section {
	s := Section{Title: w.Say(words.ReportOdds), Head: []string{w.Say(words.ReportSuspect), w.Say(words.ReportProbability)}}
	s.Lines = append(s.Lines, w.Say(words.ReportSound, w.Percent(o.Sound)))
	order := make([]int, len(o.Modes))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return o.Modes[order[i]] > o.Modes[order[j]] })
	for _, i := range order {
		if o.Modes[i] < least {
			break
		}
		s.Rows = append(s.Rows, []string{cause(m, m.Modes[i].ID), w.Percent(o.Modes[i])})
	}
	return s
}

func stepsSection(w *words.Words, m *model.Model, t *trail.Trail, a *trail.Account) Section {
	s := Section{Title: w.Say(words.ReportSteps), Head: []string{
		w.Say(words.ReportNumber), w.Say(words.ReportTime), w.Say(words.ReportStep), w.Say(words.ReportResult), w.Say(words.ReportAfter),
	}}
	live := t.Live()
	for i, e := range t.Events {
		after := ""
		if a != nil && m != nil && i+1 < len(a.Lines) && live[i] {
			after = leader(w, m, a.Lines[i+1].Odds)
		}
		step, seen := Told(w, m, t, e)
		if !live[i] {
			seen = or(seen, "") + " (" + w.Say(words.EventIsVoid) + ")"
		}
		s.Rows = append(s.Rows, []string{fmt.Sprint(e.N), w.Clock(e.At, time.UTC), step, seen, after})
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
	return cause(m, m.Modes[best].ID) + " " + w.Percent(p)
}

// Told says what an event was: what was done, and what was seen or said.
func Told(w *words.Words, m *model.Model, t *trail.Trail, e trail.Event) (step, seen string) {
	switch e.Kind {
	case trail.Result, trail.Skip:
		step, seen = string(e.Test), string(e.Outcome)
		unit := ""
		if m != nil {
			if test, ok := m.Test(e.Test); ok {
				step = or(test.Title, step)
				if o, ok := test.Outcome(e.Outcome); ok {
					seen = or(test.Outcomes[o].Title, seen)
				}
				if test.Reading != nil {
					unit = test.Reading.Unit
				}
			}
		}
		if e.Reading != nil {
			seen = w.Quantity(*e.Reading, unit)
		}
		if e.Kind == trail.Skip {
			step, seen = w.Say(words.EventSkip, step), e.Reason
		}
	case trail.Setup:
		title := string(e.Setup)
		if m != nil {
			if s, ok := m.Setup(e.Setup); ok {
				title = or(s.Title, title)
			}
		}
		step = w.Say(words.EventSetup, title)
	case trail.Repair:
		title := string(e.Repair)
		if m != nil {
			if r, ok := m.Repair(e.Repair); ok {
				title = or(r.Title, title)
			}
		}
		step = w.Say(words.EventRepair, title)
	case trail.Note:
		step, seen = w.Say(words.NoteTitle), e.Text
	case trail.Void:
		step, seen = w.Say(words.EventVoid, e.Of), e.Reason
		if e.Of >= 1 && e.Of <= len(t.Events) && t.Events[e.Of-1].Kind == trail.Void {
			step = w.Say(words.EventRestore, t.Events[e.Of-1].Of)
		}
	case trail.End:
		step = w.Say(endings[e.As])
	}
	return step, seen
}
