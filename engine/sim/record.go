package sim

import (
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// Record plays a unit as Play does and returns what a person would have recorded of it: what its
// owner told, the intake result, every setup step, result and repair, and the ending. The
// causes of a unit that was signed off sound are what was wrong with it when it came in; one
// that was signed off with a fault left is recorded as returned after that.
func Record(p *plan.Problem, policy Policy, u *Unit, intake int, id string) (*trail.Trail, Run, error) {
	m := p.Space().Model()
	r := &recorder{Policy: policy, m: m, t: &trail.Trail{
		ID: id, Created: recorded,
		Model: trail.ModelRef{ID: m.ID, Revision: m.Revision, SHA256: m.SHA256},
		Unit:  trail.Unit{Label: id},
		Terms: p.Terms,
	}}
	var causes []model.ModeID
	for _, i := range u.Modes() {
		causes = append(causes, m.Modes[i].ID)
	}
	run, err := Play(p, r, u, intake, nil)
	if err != nil {
		return nil, run, err
	}
	switch {
	case !run.SignedOff:
		r.add(trail.Event{Kind: trail.End, As: trail.WrittenOff})
	case run.Faulty:
		r.add(trail.Event{Kind: trail.End, As: trail.SignedOff})
		r.add(trail.Event{Kind: trail.End, As: trail.Returned})
	default:
		r.add(trail.Event{Kind: trail.End, As: trail.SignedOff, Causes: causes})
	}
	return r.t, run, nil
}

// recorded is when simulated units come in: nothing depends on it.
const recorded = "2026-01-01T00:00:00Z"

// A recorder writes down what a policy does and sees.
type recorder struct {
	Policy
	m       *model.Model
	t       *trail.Trail
	setup   int
	started bool
}

func (r *recorder) add(e trail.Event) {
	e.N, e.At = len(r.t.Events)+1, recorded
	r.t.Events = append(r.t.Events, e)
}

func (r *recorder) result(test, outcome int) {
	t := &r.m.Tests[test]
	r.add(trail.Event{Kind: trail.Result, Test: t.ID, Outcome: t.Outcomes[outcome].ID})
}

func (r *recorder) Next(b *Bench) (plan.Step, error) {
	if !r.started {
		r.started, r.setup = true, b.Setup
		for t := range b.Outcomes {
			if b.Outcomes[t] >= 0 && t != b.Last.Index {
				r.result(t, b.Outcomes[t])
			}
		}
	}
	if b.Last.Kind == plan.DoTest {
		r.result(b.Last.Index, b.Outcomes[b.Last.Index])
	}
	step, err := r.Policy.Next(b)
	if err != nil || step.Kind == plan.WriteOff {
		return step, err
	}
	if at := b.At(step, b.Setup); at != r.setup {
		r.setup = at
		r.add(trail.Event{Kind: trail.Setup, Setup: r.m.Setups[at].ID})
	}
	if step.Kind == plan.DoRepair {
		r.add(trail.Event{Kind: trail.Repair, Repair: r.m.Repairs[step.Index].ID})
	}
	return step, nil
}
