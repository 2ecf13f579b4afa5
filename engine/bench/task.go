package bench

import (
	"slices"

	"pitwise/engine/model"
	"pitwise/engine/plan"
)

// A Task is what a step asks for, whatever its kind.
type Task struct {
	Step plan.Step
	ID   string // of the test or the repair; "" for an ending
	model.Words
	At       int // the setup in which it is done: the root for signing off; -1 for writing off, which is done anywhere
	Minutes  float64
	Money    float64 // in the model's currency
	Needs    []model.ToolID
	Cautions []model.CautionID // of the step alone: Unit.Cautions says all that is dangerous
}

// TaskOf returns what a step of a model asks for, without the way to it. Endings have no words here.
func TaskOf(m *model.Model, s plan.Step) Task {
	switch s.Kind {
	case plan.DoTest:
		t := &m.Tests[s.Index]
		return Task{s, string(t.ID), t.Words, t.At, t.Minutes, t.Money, t.Needs, t.Cautions}
	case plan.DoRepair:
		r := &m.Repairs[s.Index]
		return Task{s, string(r.ID), r.Words, r.At, r.Minutes, r.Money, r.Needs, r.Cautions}
	case plan.SignOff:
		return Task{Step: s, At: m.Root}
	}
	return Task{Step: s, At: -1}
}

// Task is TaskOf the unit's model.
func (u *Unit) Task(s plan.Step) Task { return TaskOf(u.Model, s) }

// ToHave returns which of the tools a person is told to have at hand: all but what the owner was asked for and answered.
func (u *Unit) ToHave(needs []model.ToolID) []model.ToolID {
	seen := u.seen()
	return slices.DeleteFunc(slices.Clone(needs), func(id model.ToolID) bool {
		told, asked := u.Model.AskedFor(id)
		return asked && seen[told.Index] >= 0
	})
}

// lacks returns the tools that are needed and not at hand.
func lacks(needs, hand []model.ToolID) []model.ToolID {
	var all []model.ToolID
	for _, id := range needs {
		if !slices.Contains(hand, id) {
			all = append(all, id)
		}
	}
	return all
}

// Tools returns those tools of a model, in the order of ids; ids that it does not have are left out.
func Tools(m *model.Model, ids []model.ToolID) []*model.Tool {
	var all []*model.Tool
	for _, id := range ids {
		if t, ok := m.Tool(id); ok {
			all = append(all, t)
		}
	}
	return all
}

// StepOf returns the step that an event recorded, and whether it was one: a result, a skip or a repair
// of the model.
func StepOf(m *model.Model, test model.TestID, repair model.RepairID) (plan.Step, bool) {
	if t, ok := m.Test(test); ok {
		return plan.Step{Kind: plan.DoTest, Index: t.Index}, true
	}
	if r, ok := m.Repair(repair); ok {
		return plan.Step{Kind: plan.DoRepair, Index: r.Index}, true
	}
	return plan.Step{}, false
}
