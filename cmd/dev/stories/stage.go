package stories

import (
	"crypto/sha256"
	"fmt"
	"slices"

	"pitwise/app/runner"
	"pitwise/app/state"
	"pitwise/engine/belief"
	"pitwise/engine/bench"
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// A stage plays messages and answers effects at once, as a perfect storage would.
type stage struct {
	state state.State
	clock int
	full  bool // the storage takes nothing
	stuck bool // nothing is worked out
	loose bool // proposals do not settle
	calm  bool // no step is proposed
}

const storyID = "01ARYZ6S41TPTWXQQCJDG5NZ2T"

func newStage() *stage {
	s := &stage{}
	s.send(state.Navigated{Path: "/"}, state.Started{Lang: "en", Theme: state.ThemeAuto, CanShare: true,
		Storage: state.Storage{Persisted: true, Asked: true, Used: 3.2e6, Room: 2.1e9}}, state.Listed{Models: catalog.Models()}, state.VoicesKnown{Langs: []string{"en", "de"}})
	return s
}

func (s *stage) send(msgs ...state.Msg) *stage {
	for _, m := range msgs {
		next, effects := state.Update(s.state, m)
		s.state = next
		for _, e := range effects {
			s.answer(e)
		}
	}
	return s
}

func (s *stage) stamp() string {
	s.clock += 97
	return fmt.Sprintf("2026-03-04T%02d:%02d:%02dZ", 10+s.clock/3600, s.clock/60%60, s.clock%60)
}

func (s *stage) answer(e state.Effect) {
	switch e := e.(type) {
	case state.GoTo:
		s.send(state.Navigated(e))
	case state.LoadModel:
		s.send(state.ModelLoaded{ID: e.ID, Model: shipped(e.ID)})
	case state.Create:
		t := e.Trail
		t.ID, t.Created = storyID, s.stamp()
		for i := range t.Events {
			t.Events[i].At = s.stamp()
		}
		s.state.Unit = nil
		s.state.Route = state.Route{Screen: state.ScreenUnit, Unit: storyID, Pane: state.PaneStep}
		s.send(state.Opened{Trail: &t, Model: e.Model})
	case state.Append:
		events := append([]trail.Event(nil), e.Events...)
		for i := range events {
			if events[i].At == "" {
				events[i].At = s.stamp()
			}
		}
		if s.full {
			s.send(state.AppendFailed{ID: e.ID, Events: events, Trouble: state.TroubleFull, Detail: "QuotaExceededError"})
			return
		}
		s.send(state.Appended{ID: e.ID, Events: events})
	case state.MakeCodes:
		codes, err := runner.Codes(e.Trail)
		if err != nil {
			panic(err)
		}
		s.send(state.CodesMade{ID: e.Trail.ID, Codes: codes})
	case state.Reckon:
		s.reckon(e)
	}
}

// Spaces, planners and models are kept from story to story: each learns its model once, and a page that tells
// forty stories would run out of memory with new ones at every step.
var (
	spaces   = map[string]*belief.Space{}
	planners = map[string]plan.Planner{}
	models   = map[string]*model.Model{}
)

// once is a stage that several stories go on from, each with its own copy: a State is never changed.
func once(begin func() *stage) func() *stage {
	var first *stage
	return func() *stage {
		if first == nil {
			first = begin()
		}
		own := *first
		return &own
	}
}

func spaceOf(m *model.Model) (*belief.Space, error) {
	if spaces[m.SHA256] == nil {
		space, err := belief.NewSpace(m)
		if err != nil {
			return nil, err
		}
		spaces[m.SHA256] = space
	}
	return spaces[m.SHA256], nil
}

// shipped is the model of a family.
func shipped(id string) *model.Model {
	if models[id] == nil {
		m, err := catalog.Load(id)
		if err != nil {
			panic(err) // a story of a model that is not shipped
		}
		models[id] = m
	}
	return models[id]
}

// reckoned is what is worked out of a unit, as it goes from the engine's thread to the page.
type reckoned struct {
	Account   *trail.Account
	Proposals []plan.Proposal
	Origin    *trail.Odds
	Doubts    []trail.Doubt
}

func (s *stage) reckon(e state.Reckon) {
	if s.stuck {
		return
	}
	bare := *e.Trail
	bare.Unit = trail.Unit{} // most stories begin alike but for the label
	r := worked(fmt.Sprintf("%x", sha256.Sum256(fmt.Appendf(nil, "%s %t %s", e.Model.SHA256, s.calm, bare.Encode()))), func() reckoned {
		return reckon(e, s.calm)
	})
	s.send(state.Reckoned{ID: e.ID, Turn: e.Turn, Account: r.Account})
	if !s.calm {
		s.send(state.Thought{ID: e.ID, Turn: e.Turn, Proposals: slices.Clone(r.Proposals), Settled: !s.loose})
	}
	s.send(state.Looked{ID: e.ID, Turn: e.Turn, Origin: r.Origin, Doubts: r.Doubts})
}

func reckon(e state.Reckon, calm bool) (r reckoned) {
	space, err := spaceOf(e.Model)
	if err != nil {
		panic(err)
	}
	u, err := bench.Open(space, e.Trail)
	if err != nil {
		panic(err) // a story that does not fit its model
	}
	if !calm {
		r.Proposals = think(space, u)
	}
	if _, err := u.LookBack(space, nil); err != nil {
		panic(err)
	}
	account := *u.Account
	account.Final = nil
	r.Account, r.Origin, r.Doubts = &account, u.Origin, u.Doubts
	return r
}

// think returns what is proposed first of all.
func think(space *belief.Space, u *bench.Unit) []plan.Proposal {
	key := fmt.Sprintf("%s %+v", u.Model.SHA256, u.Terms())
	if planners[key] == nil {
		planner, err := u.Planner(space)
		if err != nil {
			panic(err)
		}
		planners[key] = planner
	}
	search := u.Advise(planners[key])
	for len(search.Proposals()) == 0 && !search.Work(4) {
	}
	return search.Proposals()
}

// takeIn takes a top-loader in, with every tool.
func (s *stage) takeIn(label string) *stage { return s.takeInA("top-loader", label) }

func (s *stage) takeInA(model, label string) *stage {
	s.send(state.Navigated{Path: "/new"}, state.PickModel{ID: model}, state.SetLabel{Text: label})
	m := s.state.Draft.Model
	intake := &m.Tests[m.Intake]
	s.send(state.Answer{Test: intake.ID, Outcome: intake.Outcomes[len(intake.Outcomes)-1].ID})
	for _, t := range m.Tools {
		s.send(state.SetTool{ID: t.ID, On: true})
	}
	s.send(state.StartUnit{})
	if intake.Told { // what it does is seen at the bench
		s.send(state.SawOutcome{Test: "first-boot", Outcome: "asks"})
	}
	return s
}

func (s *stage) pane(p state.Pane) *stage {
	s.state.Route.Pane = p
	return s
}

// withoutModel opens the unit anew where the text of its model is not.
func (s *stage) withoutModel() *stage {
	t := s.state.Unit.Trail
	s.state.Unit = nil // one that is open keeps its model
	return s.send(state.Opened{Trail: t})
}

// at makes a test or a repair the step at hand.
func (s *stage) at(kind plan.StepKind, id string) *stage {
	m := s.state.Unit.Model
	step := plan.Step{Kind: kind}
	if t, ok := m.Test(model.TestID(id)); ok && kind == plan.DoTest {
		step.Index = t.Index
	}
	if r, ok := m.Repair(model.RepairID(id)); ok && kind == plan.DoRepair {
		step.Index = r.Index
	}
	s.send(state.Choose{Step: step})
	return s.pane(state.PaneStep)
}

// read acknowledges every caution of the model.
func (s *stage) read() *stage {
	var ids []model.CautionID
	for _, c := range s.state.Unit.Model.Cautions {
		ids = append(ids, c.ID)
	}
	return s.send(state.Acknowledge{IDs: ids})
}

// measure records a reading, with no step proposed but this.
func (s *stage) measure(id, text string) *stage {
	t, _ := s.state.Unit.Model.Test(model.TestID(id))
	step := plan.Step{Kind: plan.DoTest, Index: t.Index}
	return s.send(state.Thought{ID: storyID, Turn: s.state.Unit.Turn, Proposals: []plan.Proposal{{Step: step}}, Settled: true},
		state.Choose{Step: step}, state.SetEntry{Text: text}, state.SendEntry{})
}
