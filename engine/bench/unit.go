package bench

import (
	"errors"
	"slices"

	"pitwise/engine/belief"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// A Unit is one unit on the bench. Only Open and LookBack set its fields; its other methods
// may be called at the same time while nobody does.
type Unit struct {
	Model   *model.Model   // nil if it is not at hand: then only what needs none is answered
	Trail   *trail.Trail   // every event
	Account *trail.Account // of Trail; nil while it is not worked out, or if it cannot be
	Origin  *trail.Odds    // of what was wrong when it came in; nil until LookBack
	Doubts  []trail.Doubt  // nil until LookBack, and if there is too much to leave out
}

// Open works a trail out under the model of s. If an event cannot be worked out the unit
// comes with the account up to there and the error, a *trail.EventError; if the trail does
// not fit the model it comes without.
func Open(s *belief.Space, t *trail.Trail) (*Unit, error) {
	a, err := trail.Replay(s, t)
	return &Unit{Model: s.Model(), Trail: t, Account: a}, err
}

// LookBack works out what rests on the whole trail: the origin, and how each result sits with
// the others. Doubts that would take too long (belief.ErrTooLong) are left out, and late
// is then true. between, if given, is called between the two; its error ends the work.
func (u *Unit) LookBack(s *belief.Space, between func() error) (late bool, err error) {
	origin, err := trail.Origin(s, u.Trail)
	if err != nil {
		return false, err
	}
	u.Origin = &origin
	if between != nil {
		if err := between(); err != nil {
			return false, err
		}
	}
	doubts, err := trail.Doubts(s, u.Trail)
	if errors.Is(err, belief.ErrTooLong) {
		return true, nil
	}
	u.Doubts = doubts
	return false, err
}

// Planner returns a planner by the terms that stand. It may be kept for as long as they do.
func (u *Unit) Planner(s *belief.Space) (plan.Planner, error) { return plan.New(s, u.Terms()) }

// Advise begins the search for the next step. The account must be there. The proof goes before a sign-off of a unit that
// came back and was not started since, as that is no event of the belief, whose odds are still those that it was signed
// off by; and of one that stands open: closing may be without a risk in the model, but nobody hands over what was not
// started since.
func (u *Unit) Advise(p plan.Planner) plan.Search {
	search := p.Start(u.Situation())
	if !u.Unseen() && !u.Open() {
		return search
	}
	proof, _ := u.Proof()
	return proofFirst{search, proof}
}

// Open reports whether the unit is not in the setup that it is handed over in. The account must be there.
func (u *Unit) Open() bool { return u.Account.Setup != u.Model.Root }

// proofFirst is a search that proposes no sign-off before the proof, if that is on offer.
type proofFirst struct {
	plan.Search
	proof plan.Step
}

func (s proofFirst) Proposals() []plan.Proposal {
	all := s.Search.Proposals()
	if len(all) == 0 || all[0].Step.Kind != plan.SignOff {
		return all
	}
	at := max(0, slices.IndexFunc(all, func(p plan.Proposal) bool { return p.Step == s.proof }))
	return slices.Concat(all[at:at+1], all[:at], all[at+1:])
}

// Stands returns nil where the proof was put first: no number makes it so.
func (s proofFirst) Stands(most int) []plan.Stand {
	all := s.Search.Stands(most)
	if len(all) > 0 && s.Proposals()[0].Step != all[0].Step {
		return nil
	}
	return all
}

// Situation returns what a planner needs of the unit. The account must be there.
func (u *Unit) Situation() plan.Situation {
	return plan.Situation{
		Belief: u.Account.Final, Setup: u.Account.Setup, Skipped: u.Skipped(),
		Tries: u.Account.Tries, Seen: u.Account.Seen, Back: u.back(),
	}
}

// Now returns the odds after the last event, false while they are not worked out.
func (u *Unit) Now() (trail.Odds, bool) {
	if u.Account == nil || len(u.Account.Lines) == 0 {
		return trail.Odds{}, false
	}
	return u.Account.Lines[len(u.Account.Lines)-1].Odds, true
}
