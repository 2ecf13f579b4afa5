package bench_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// standing is a unit that stands in a setup, as if it was brought in so.
func standing(m *model.Model, setup int) *bench.Unit {
	t := &trail.Trail{}
	if setup != m.Root {
		t.Events = []trail.Event{{N: 1, Kind: trail.Setup, Setup: m.Setups[setup].ID}}
	}
	return &bench.Unit{Model: m, Trail: t}
}

// steps are all steps of a model.
func steps(m *model.Model) []plan.Step {
	all := []plan.Step{{Kind: plan.SignOff}, {Kind: plan.WriteOff}}
	for i := range m.Tests {
		all = append(all, plan.Step{Kind: plan.DoTest, Index: i})
	}
	for i := range m.Repairs {
		all = append(all, plan.Step{Kind: plan.DoRepair, Index: i})
	}
	return all
}

func shipped(t *testing.T) map[string]*model.Model {
	all := map[string]*model.Model{}
	for _, e := range catalog.Models() {
		m, err := catalog.Load(e.ID)
		require.NoError(t, err)
		all[e.ID] = m
	}
	require.GreaterOrEqual(t, len(all), 3)
	return all
}

func ids(cautions []model.Caution) []model.CautionID {
	all := []model.CautionID{}
	for _, c := range cautions {
		all = append(all, c.ID)
	}
	return all
}

// demanded gathers, by the rule and by no code of the package, what a person has to read who
// stands in a setup, goes to another by its names and does something there.
func demanded(m *model.Model, from, to model.SetupID, own []model.CautionID) []model.CautionID {
	parent := map[model.SetupID]model.SetupID{}
	for _, s := range m.Setups {
		if s.Inside >= 0 {
			parent[s.ID] = m.Setups[s.Inside].ID
		}
	}
	chain := func(id model.SetupID) (all []model.SetupID) {
		for ; id != ""; id = parent[id] {
			all = append(all, id)
		}
		return all
	}
	all := slices.Clone(own)
	a, b := chain(from), chain(to)
	for _, id := range append(slices.Clone(a), b...) {
		s, _ := m.Setup(id)
		all = append(all, s.Cautions...)
		if !slices.Contains(b, id) {
			all = append(all, s.Leave.Cautions...)
		}
		if !slices.Contains(a, id) {
			all = append(all, s.Enter.Cautions...)
		}
	}
	return all
}

// TestEveryDangerIsToldBeforeEveryStepInEverySetup walks every step from every setup of the
// shipped families, with the way taken and as the unit stands.
func TestEveryDangerIsToldBeforeEveryStepInEverySetup(t *testing.T) {
	walked := 0
	for name, m := range shipped(t) {
		for from := range m.Setups {
			u := standing(m, from)
			here := m.Setups[from].ID
			for _, s := range steps(m) {
				task := u.Task(s)
				var to model.SetupID
				var own []model.CautionID
				switch s.Kind {
				case plan.WriteOff:
					assert.Empty(t, u.Cautions(s), "writing off touches nothing")
					continue
				case plan.SignOff:
					to = m.Setups[m.Root].ID
				case plan.DoTest:
					to, own = m.Setups[m.Tests[s.Index].At].ID, m.Tests[s.Index].Cautions
				case plan.DoRepair:
					to, own = m.Setups[m.Repairs[s.Index].At].ID, m.Repairs[s.Index].Cautions
				}
				for _, row := range []struct {
					how string
					got []model.Caution
					to  model.SetupID
				}{{"with the way", u.Cautions(s), to}, {"as it stands", u.CautionsHere(s), here}} {
					walked++
					got := ids(row.got)
					assert.ElementsMatch(t, unique(demanded(m, here, row.to, own)), got, "%s: %s %s from %s, %s", name, s.Kind, task.ID, here, row.how)
					assert.True(t, slices.IsSortedFunc(row.got, func(a, b model.Caution) int {
						return rank(m, a.ID) - rank(m, b.ID)
					}), "%s: %s %s from %s: not the most severe first: %v", name, s.Kind, task.ID, here, got)
				}
			}
		}
	}
	assert.Greater(t, walked, 2000)
}

// TestAnOpenUnitIsNeverWithoutMainsChargeAndLaser names what the shipped families must say of a
// unit whose cover is off, however it came to stand so.
func TestAnOpenUnitIsNeverWithoutMainsChargeAndLaser(t *testing.T) {
	for name, m := range shipped(t) {
		for from := range m.Setups {
			if from == m.Root {
				continue
			}
			u := standing(m, from)
			for _, s := range steps(m) {
				if s.Kind == plan.WriteOff {
					continue
				}
				for _, got := range [][]model.Caution{u.Cautions(s), u.CautionsHere(s)} {
					for _, want := range []model.CautionID{"mains", "charge", "laser"} {
						assert.Contains(t, ids(got), want, "%s: %s %s from %s", name, s.Kind, u.Task(s).ID, m.Setups[from].ID)
					}
				}
			}
			for _, mv := range u.Moves() {
				assert.Subset(t, ids(u.CautionsOfMove(mv)), []model.CautionID{"mains", "charge", "laser"}, "%s: a move from %s", name, m.Setups[from].ID)
			}
		}
	}
}

// TestLookingBackTellsTheSameDangers holds the dangers of what was done to those that were told before it.
func TestLookingBackTellsTheSameDangers(t *testing.T) {
	for name, m := range shipped(t) {
		for _, s := range steps(m) {
			if s.Kind != plan.DoTest && s.Kind != plan.DoRepair || s.Kind == plan.DoTest && m.Tests[s.Index].Told {
				continue
			}
			u := standing(m, m.Root)
			told := u.Cautions(s)
			task := u.Task(s)
			for _, mv := range u.Way(s) {
				_, to := m.Move(mv)
				u.Trail.Events = append(u.Trail.Events, trail.Event{N: len(u.Trail.Events) + 1, Kind: trail.Setup, Setup: m.Setups[to].ID})
			}
			e := trail.Event{N: len(u.Trail.Events) + 1, Kind: trail.Result, Test: model.TestID(task.ID)}
			if s.Kind == plan.DoRepair {
				e = trail.Event{N: e.N, Kind: trail.Repair, Repair: model.RepairID(task.ID)}
			}
			u.Trail.Events = append(u.Trail.Events, e)
			var back []model.CautionID
			for _, each := range u.CautionsOfEvents() {
				back = append(back, ids(each)...)
			}
			assert.ElementsMatch(t, ids(told), unique(back), "%s: %s", name, task.ID)
		}
	}
}

func unique(all []model.CautionID) []model.CautionID {
	all = slices.Clone(all)
	slices.Sort(all)
	return slices.Compact(all)
}

func rank(m *model.Model, id model.CautionID) int {
	return slices.IndexFunc(m.Cautions, func(c model.Caution) bool { return c.ID == id })
}
