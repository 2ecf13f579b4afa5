package evening

import (
	"fmt"
	"slices"
	"strconv"

	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// MostSteps is the number of steps within which an evening has to end.
const MostSteps = 40

// A Played evening is what came of it.
type Played struct {
	Trail   *trail.Trail
	Steps   int // tests and repairs at the bench
	Minutes float64
	Money   float64
	End     plan.StepKind
	Left    []model.ModeID // faults that are in the unit at the end
	Mended  []model.ModeID // faults it came in with that are gone
	Origin  trail.Odds     // at intake, by all that is recorded
	Lines   []string       // step by step, for reading
	Odd     []string       // what a repairer would frown at
}

// A table is where a unit lies while it is played.
type table struct {
	e       *Evening
	m       *model.Model
	space   *belief.Space
	present []model.ModeID // sorted
	shown   map[model.TestID]int
	tried   map[model.RepairID]int
	left    map[model.SetupID]int
	trail   *trail.Trail
	setup   int
	played  *Played
}

// Play plays an evening through: each time what the planner proposes first is done. A
// repair takes away the faults in its fixes that it mostly cures, those of 0.5 and more,
// unless the evening says that it fails. A test shows what the evening says, in turn and then the
// last again, and else what is most probable under the faults that are present.
func Play(e *Evening, space *belief.Space, terms trail.Terms, planner plan.Planner) (*Played, error) {
	m := space.Model()
	t := &table{e: e, m: m, space: space, present: slices.Clone(e.Truth), setup: m.Root,
		shown: map[model.TestID]int{}, tried: map[model.RepairID]int{}, left: map[model.SetupID]int{}, played: &Played{}}
	t.trail = &trail.Trail{ID: "evening", Created: "2026-01-01T10:00:00Z",
		Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256}, Unit: trail.Unit{Label: e.Title}, Terms: terms}
	p := t.played
	for _, s := range e.Told {
		t.record(trail.Event{Kind: trail.Result, Test: s.Test, Outcome: s.Outcome})
		p.Lines = append(p.Lines, fmt.Sprintf("told %s: %s", s.Test, s.Outcome))
	}
	problem := plan.NewProblem(space, terms)
	repaired := map[model.RepairID]int{} // since the last result
	for {
		u, err := bench.Open(space, t.trail)
		if err != nil {
			return nil, err
		}
		search := u.Advise(planner)
		for !search.Work(1 << 20) {
		}
		first := search.Proposals()[0]
		odds, _ := u.Now()
		now := t.suspects(odds)
		minutes, money := problem.StepWork(first.Step, t.setup)
		switch first.Step.Kind {
		case plan.DoTest:
			test := &m.Tests[first.Step.Index]
			t.move(test.At)
			w := t.shows(test)
			event := trail.Event{Kind: trail.Result, Test: test.ID}
			if x, err := strconv.ParseFloat(w, 64); err == nil && test.Reading != nil {
				event.Reading = &x
			} else {
				event.Outcome = model.OutcomeID(w)
			}
			t.record(event)
			p.Lines = append(p.Lines, fmt.Sprintf("%5.1f min  %s: %s   (%s)", p.Minutes+minutes, test.ID, w, now))
			clear(repaired)
		case plan.DoRepair:
			r := &m.Repairs[first.Step.Index]
			if repaired[r.ID]++; repaired[r.ID] >= 3 {
				p.Odd = append(p.Odd, fmt.Sprintf("%s for the third time with no result between", r.ID))
			}
			if !t.measured(r) {
				p.Odd = append(p.Odd, fmt.Sprintf("%s unmeasured (%s)", r.ID, now))
			}
			t.move(r.At)
			t.record(trail.Event{Kind: trail.Repair, Repair: r.ID})
			p.Lines = append(p.Lines, fmt.Sprintf("%5.1f min  REPAIR %s   (%s)", p.Minutes+minutes, r.ID, now))
			t.repair(r)
		case plan.SignOff:
			t.move(m.Root)
			p.Lines = append(p.Lines, fmt.Sprintf("%5.1f min  SIGNED OFF   (%s)", p.Minutes+minutes, now))
		default:
			minutes, money = 0, 0
			p.Lines = append(p.Lines, fmt.Sprintf("%5.1f min  WRITTEN OFF   (%s)", p.Minutes, now))
		}
		p.Minutes += minutes
		p.Money += money
		p.End = first.Step.Kind
		if p.End == plan.SignOff || p.End == plan.WriteOff {
			break
		}
		if p.Steps++; p.Steps > MostSteps {
			p.Odd = append(p.Odd, fmt.Sprintf("no end in %d steps", MostSteps))
			break
		}
	}
	return p, t.end()
}

// end looks back on the evening.
func (t *table) end() error {
	p := t.played
	p.Trail, p.Left = t.trail, t.present
	for _, f := range t.e.Truth {
		if !slices.Contains(t.present, f) {
			p.Mended = append(p.Mended, f)
		}
	}
	var err error
	if p.Origin, err = trail.Origin(t.space, t.trail); err != nil {
		return err
	}
	if p.End == plan.SignOff && len(t.present) > 0 {
		p.Odd = append(p.Odd, fmt.Sprintf("signed off with %v in", t.present))
	}
	if p.End == plan.SignOff && len(t.present) == 0 {
		order := leading(t.m, p.Origin.Modes)
		for _, f := range t.e.Truth {
			if slices.Index(order, f) >= 3 {
				p.Odd = append(p.Odd, fmt.Sprintf("%s is not among the first three of the origin: %v", f, order[:4]))
			}
		}
	}
	return nil
}

func leading(m *model.Model, p []float64) []model.ModeID {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] > p[b]:
			return -1
		case p[a] < p[b]:
			return 1
		}
		return 0
	})
	var ids []model.ModeID
	for _, i := range order {
		ids = append(ids, m.Modes[i].ID)
	}
	return ids
}

func (t *table) suspects(o trail.Odds) string {
	s := fmt.Sprintf("sound %.2f", o.Sound)
	for _, id := range leading(t.m, o.Modes)[:4] {
		mode, _ := t.m.Mode(id)
		s += fmt.Sprintf(", %s %.2f", id, o.Modes[mode.Index])
	}
	return s
}

func (t *table) record(e trail.Event) {
	e.N = len(t.trail.Events) + 1
	e.At = fmt.Sprintf("2026-01-01T%02d:%02d:00Z", 10+e.N/60, e.N%60)
	t.trail.Events = append(t.trail.Events, e)
}

// move goes to a setup, recording it, and lets in what the evening says comes on the way.
func (t *table) move(to int) {
	if to == t.setup {
		return
	}
	for _, mv := range t.m.Way(t.setup, to) {
		if !mv.Leave {
			continue
		}
		id := t.m.Setups[mv.Setup].ID
		t.left[id]++
		t.bring("leave "+string(id), t.left[id])
	}
	t.record(trail.Event{Kind: trail.Setup, Setup: t.m.Setups[to].ID})
	t.setup = to
}

func (t *table) bring(key string, n int) {
	for _, f := range t.e.brings[key][n] {
		component, _ := t.m.Mode(f)
		taken := slices.ContainsFunc(t.present, func(g model.ModeID) bool {
			other, _ := t.m.Mode(g)
			return other.Component == component.Component
		})
		if !taken {
			t.present = append(t.present, f)
			slices.Sort(t.present)
			clear(t.shown)
		}
	}
}

func (t *table) repair(r *model.Repair) {
	t.tried[r.ID]++
	if t.tried[r.ID] > t.e.fails[r.ID] {
		for _, c := range r.Change.Fixes {
			if i := slices.Index(t.present, t.m.Modes[c.Mode].ID); i >= 0 && c.P >= 0.5 {
				t.present = slices.Delete(t.present, i, i+1)
				clear(t.shown)
			}
		}
	}
	t.bring("repair "+string(r.ID), t.tried[r.ID])
}

// shows returns what a test shows now: an outcome's id, or a number.
func (t *table) shows(x *model.Test) string {
	n := t.shown[x.ID]
	t.shown[x.ID]++
	for _, s := range t.e.scenes {
		if list := s.shows[x.ID]; slices.Equal(s.faults, t.present) && list != nil {
			return list[min(n, len(list)-1)]
		}
	}
	var set []uint16
	for i := range t.m.Modes {
		if slices.Contains(t.present, t.m.Modes[i].ID) {
			set = append(set, uint16(i))
		}
	}
	p := t.space.OutcomesOf(nil, x.Index, set)
	best := 0
	for k := range p {
		if p[k] > p[best] {
			best = k
		}
	}
	return string(x.Outcomes[best].ID)
}

// measured reports whether something that was seen speaks of a repair that nobody does on a
// hunch: a trimmer, work inside the mains supply, a part that costs more than 10.
func (t *table) measured(r *model.Repair) bool {
	asks := evidence[r.ID]
	if asks == nil {
		if r.Money > 10 || slices.Contains(r.Cautions, "mains") {
			return false // a repair of that kind that this table does not know
		}
		return true
	}
	return slices.ContainsFunc(t.trail.Events, func(e trail.Event) bool {
		return e.Kind == trail.Result && slices.Contains(asks, e.Test)
	})
}

// evidence names what has to be looked at or measured first. Common practice, no source.
var evidence = map[model.RepairID][]model.TestID{
	"reset-trimmer":  {"trimmer-look", "laser-current"},
	"reset-servo":    {"servo-look"},
	"renew-caps":     {"motor-load", "motor-rest", "logic-volts", "ripple", "caps-look", "cap-esr", "bench-feed"},
	"replace-supply": {"motor-load", "motor-rest", "logic-volts", "ripple", "caps-look", "cap-esr", "bench-feed"},
	"replace-pickup": {"laser-current", "trimmer-look", "lens-search", "swap-pickup", "focus-coil", "tracking-coil", "sensor-offset", "lens-look"},
	"replace-board":  {"swap-drive", "coil-drive", "cool-driver", "joint-look", "board-look", "short-ohms", "focus-ok"},
}
