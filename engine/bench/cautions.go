package bench

import (
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// Cautions returns what has to be read before a step that the way is taken to. Writing off
// does nothing to a unit and has none.
func (u *Unit) Cautions(s plan.Step) []model.Caution {
	if s.Kind == plan.WriteOff {
		return nil
	}
	task := u.Task(s)
	d := u.Model.Dangers()
	d.Way(u.Setup(), task.At)
	d.Add(task.Cautions)
	return d.Cautions()
}

// CautionsHere returns what has to be read before a step that is done as the unit stands, with no
// way taken to it.
func (u *Unit) CautionsHere(s plan.Step) []model.Caution {
	if s.Kind == plan.WriteOff {
		return nil
	}
	d := u.Model.Dangers()
	d.Around(u.Setup())
	d.Add(u.Task(s).Cautions)
	return d.Cautions()
}

// CautionsOfMove returns what has to be read before one setup step from how the unit stands.
func (u *Unit) CautionsOfMove(mv model.Move) []model.Caution {
	_, to := u.Model.Move(mv)
	d := u.Model.Dangers()
	d.Way(u.Setup(), to)
	return d.Cautions()
}

// CautionsOfEvents returns, for each event of the trail, what was dangerous while it was done: the
// same rule, looking back. Events that were taken back, and those that do nothing to the
// unit, have none.
func (u *Unit) CautionsOfEvents() [][]model.Caution {
	all := make([][]model.Caution, len(u.Trail.Events))
	live := u.Trail.Live()
	at := u.Model.Root
	for i := range u.Trail.Events {
		e := &u.Trail.Events[i]
		if !live[i] {
			continue
		}
		d := u.Model.Dangers()
		switch e.Kind {
		case trail.Result:
			if t, ok := u.Model.Test(e.Test); ok && !t.Told {
				d.Around(at)
				d.Add(t.Cautions)
			}
		case trail.Repair:
			if r, ok := u.Model.Repair(e.Repair); ok {
				d.Around(at)
				d.Add(r.Cautions)
			}
		case trail.Setup:
			if to, ok := u.Model.Setup(e.Setup); ok {
				d.Way(at, to.Index)
				at = to.Index
			}
		}
		all[i] = d.Cautions()
	}
	return all
}
