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
	d := dangersOf(u.Model)
	d.way(u.Setup(), task.At)
	d.add(task.Cautions)
	return d.cautions()
}

// CautionsHere returns what has to be read before a step that is done as the unit stands, with no
// way taken to it.
func (u *Unit) CautionsHere(s plan.Step) []model.Caution {
	if s.Kind == plan.WriteOff {
		return nil
	}
	d := dangersOf(u.Model)
	d.around(u.Setup())
	d.add(u.Task(s).Cautions)
	return d.cautions()
}

// CautionsOfMove returns what has to be read before one setup step from how the unit stands.
func (u *Unit) CautionsOfMove(mv plan.Move) []model.Caution {
	_, to := MoveOf(u.Model, mv)
	d := dangersOf(u.Model)
	d.way(u.Setup(), to)
	return d.cautions()
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
		d := dangersOf(u.Model)
		switch e.Kind {
		case trail.Result:
			if t, ok := u.Model.Test(e.Test); ok && !t.Told {
				d.around(at)
				d.add(t.Cautions)
			}
		case trail.Repair:
			if r, ok := u.Model.Repair(e.Repair); ok {
				d.around(at)
				d.add(r.Cautions)
			}
		case trail.Setup:
			if to, ok := u.Model.Setup(e.Setup); ok {
				d.way(at, to.Index)
				at = to.Index
			}
		}
		all[i] = d.cautions()
	}
	return all
}

// dangers gathers cautions of a model, by index in Model.Cautions.
type dangers struct {
	model *model.Model
	has   []bool
}

func dangersOf(m *model.Model) dangers { return dangers{m, make([]bool, len(m.Cautions))} }

func (d dangers) add(ids []model.CautionID) {
	for _, id := range ids {
		for i := range d.model.Cautions {
			if d.model.Cautions[i].ID == id {
				d.has[i] = true
			}
		}
	}
}

// around adds what is dangerous in a setup: its cautions and those of all around it.
func (d dangers) around(setup int) {
	for s := setup; s >= 0; s = d.model.Setups[s].Inside {
		d.add(d.model.Setups[s].Cautions)
	}
}

// way adds what is dangerous at both ends of a way and on it.
func (d dangers) way(from, to int) {
	d.around(from)
	d.around(to)
	for _, mv := range WayOf(d.model, from, to) {
		work, _ := MoveOf(d.model, mv)
		d.add(work.Cautions)
	}
}

// cautions returns what was gathered, in the model's order.
func (d dangers) cautions() []model.Caution {
	var all []model.Caution
	for i, has := range d.has {
		if has {
			all = append(all, d.model.Cautions[i])
		}
	}
	return all
}
