package stories

import (
	"fmt"

	"pitwise/app/state"
	"pitwise/engine/bench"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// Answer returns what answers the effects of a page that begins in a story, at once: a storage
// that takes everything, and a planner that puts the steps of the story one after the other, so
// that something new comes to lie under the finger without waiting for advice.
func Answer(of Story) func(state.Effect) []state.Msg {
	var proposals []plan.Proposal
	if u := of.State().Unit; u != nil {
		proposals = u.Proposals
	}
	clock := 0
	return func(e state.Effect) []state.Msg {
		switch e := e.(type) {
		case state.GoTo:
			return []state.Msg{state.Navigated(e)}
		case state.Append:
			events := append([]trail.Event(nil), e.Events...)
			for i := range events {
				clock++
				events[i].At = fmt.Sprintf("2026-03-04T20:%02d:%02dZ", clock/60%60, clock%60)
			}
			return []state.Msg{state.Appended{ID: e.ID, Events: events}}
		case state.Reckon:
			space, err := spaceOf(e.Model)
			if err != nil {
				return nil
			}
			account, err := trail.Replay(space, e.Trail)
			if err != nil {
				return nil
			}
			if len(proposals) > 1 {
				proposals = append(append([]plan.Proposal(nil), proposals[1:]...), proposals[0])
			}
			u := bench.Unit{Model: e.Model, Trail: e.Trail, Account: account}
			put := append([]plan.Proposal(nil), proposals...)
			for i := range put {
				put[i].Way = u.Way(put[i].Step)
			}
			return []state.Msg{state.Reckoned{ID: e.ID, Turn: e.Turn, Account: account},
				state.Thought{ID: e.ID, Turn: e.Turn, Proposals: put, Settled: true}}
		}
		return nil
	}
}
