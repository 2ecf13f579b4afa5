package stories

import (
	"pitwise/app/state"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// Steps is a unit of a shipped model in the middle of its evening, its cautions read, with the messages
// that put every step of the model on its screen as a choice of the person's own: each test that is no question to the owner and each
// repair where it is done, each change of setup, and both ends.
func Steps(id, lang string) (state.State, [][]state.Msg) {
	s := newStage()
	s.stuck = true
	s.send(state.VoicesKnown{Langs: []string{"en", "de", "es", "ja"}})
	s.takeInA(id, "Grey one, shelf 3").read()
	m := s.state.Unit.Model
	s.stuck, s.calm = false, true
	s.send(state.SawOutcome{Test: "listen", Outcome: "seeks"})
	s.send(state.SawOutcome{Test: "lens-look", Outcome: "clear"}) // what was done last has a long name
	s.send(state.Looked{ID: storyID, Turn: s.state.Unit.Turn, Doubts: []trail.Doubt{{N: len(s.state.Unit.Trail.Events), P: 0.013}}})
	s.send(state.Dismiss{Serial: s.state.Notice.Serial}, state.ChooseLang{Lang: lang})
	var all []plan.Proposal
	for i := range m.Tests {
		if m.Tests[i].Told {
			continue // asked at intake, no step
		}
		all = append(all, plan.Proposal{Step: plan.Step{Kind: plan.DoTest, Index: i}, Minutes: m.Tests[i].Minutes, Money: m.Tests[i].Money})
	}
	for i := range m.Repairs {
		all = append(all, plan.Proposal{Step: plan.Step{Kind: plan.DoRepair, Index: i}, Minutes: m.Repairs[i].Minutes, Money: m.Repairs[i].Money})
	}
	for i := range m.Setups {
		if m.Setups[i].Inside < 0 {
			continue
		}
		for _, leave := range []bool{false, true} {
			all = append(all, plan.Proposal{Step: plan.Step{Kind: plan.DoRepair}, Way: []model.Move{{Setup: i, Leave: leave}}})
		}
	}
	all = append(all, plan.Proposal{Step: plan.Step{Kind: plan.SignOff}}, plan.Proposal{Step: plan.Step{Kind: plan.WriteOff}})
	puts := make([][]state.Msg, len(all))
	for i := range all {
		before := plan.Proposal{Step: plan.Step{Kind: plan.SignOff}}
		if all[i].Step == before.Step {
			before.Step.Kind = plan.WriteOff
		}
		puts[i] = []state.Msg{
			state.Thought{ID: storyID, Turn: s.state.Unit.Turn, Proposals: []plan.Proposal{before, all[i]}, Settled: true},
			state.Choose{Step: all[i].Step},
		}
	}
	return s.state, puts
}

// Silent answers no effect.
func Silent(state.Effect) []state.Msg { return nil }
