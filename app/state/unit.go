package state

import (
	"slices"

	"pitwise/engine/bench"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// A Unit is the unit on the screen.
type Unit struct {
	bench.Unit // its trail has every event, stored or kept in memory; its model is nil if its text is not here

	Unsaved  int      // events at the end of Trail that the storage has not taken
	Saving   bool     // an event is on its way into the storage
	Behind   bool     // another window recorded something meanwhile
	Again    bool     // what is only in memory is stored once the trail is read again
	Trouble  Trouble  // why the storage did not take the last one
	Archived bool     // it is put away
	Damaged  []string // records that cannot be read, raw, for export
	Marks    Marks

	Turn      int      // rises with every reckoning; answers of an older turn are dropped
	Conflict  Conflict // why there is no account
	Proposals []plan.Proposal
	Settled   bool // the proposals will not change any more
	Hanging   Hanging

	AtHand
}

// AtHand is what a person is at on a unit. It stays when the unit is read again.
type AtHand struct {
	Chosen    plan.Step // what the person is at, if HasChosen; else the first proposal
	HasChosen bool
	OnTheWay  bool   // it was proposed, and is kept at while the way to it is taken
	InPlace   bool   // what is chosen is done as the unit stands: no way is taken to it
	Place     string // looked at on the drive picture
	Left      int    // of the bench timer, seconds
	Soaked    int    // since the counter was started, seconds
	Entry     string // the number field
	AskBack   bool   // the number lies far outside what its field can mean: sent again it counts
	Find      string // the search over other steps
	Codes     Codes  // of SheetCodes
	Sheet     Sheet  // what is being asked for, over the screen
	Text      string // in the sheet
	Causes    []model.ModeID
	Said      model.OutcomeID // on SheetBack: what it does now, of Seen; "" if nobody said
	Edit      TermsDraft      // on SheetTerms
}

// Conflict says why the odds of a unit cannot be worked out.
type Conflict struct {
	Kind   ConflictKind
	N      int    // the event at which it showed, 0 if none
	Detail string // the engine's words
}

// ConflictKind picks the words.
type ConflictKind string

const (
	NoConflict            ConflictKind = ""
	ConflictContradiction ConflictKind = "contradiction" // the results cannot all be true
	ConflictTooLarge      ConflictKind = "too-large"     // more hypotheses than this program holds
	ConflictBlurred       ConflictKind = "blurred"       // too many blurred readings to work out
	ConflictModel         ConflictKind = "model"         // the model is not here or does not load
	ConflictOther         ConflictKind = "other"
)

// Marks are what a person ticked on a unit. They are not evidence and no part of
// the trail.
type Marks struct {
	Seen   []model.CautionID `json:"seen,omitempty"`   // acknowledged on this unit
	Ticked []string          `json:"ticked,omitempty"` // steps done of the step at hand
	Last   string            `json:"last,omitempty"`   // when the trail was last exported, RFC 3339
	Timer  string            `json:"timer,omitempty"`  // when the bench timer ends, RFC 3339; "" if it does not run
	Soak   Soak              `json:"soak,omitzero"`
}

// Sheet is a question over the unit's screen.
type Sheet string

const (
	NoSheet      Sheet = ""
	SheetSkip    Sheet = "skip"
	SheetNote    Sheet = "note"
	SheetSignOff Sheet = "sign-off"
	SheetWrite   Sheet = "write-off"
	SheetReturn  Sheet = "return"
	SheetExport  Sheet = "export"
	SheetTerms   Sheet = "terms"     // tools and terms of a unit under way
	SheetWait    Sheet = "wait"      // what it waits for
	SheetNone    Sheet = "none"      // none of the outcomes, could not tell
	SheetBack    Sheet = "came-back" // a unit that had left the bench is on it again
	SheetCodes   Sheet = "codes"     // its QR codes
)

// Current returns the proposal at hand: what the person chose, or the first one.
func (u *Unit) Current() (plan.Proposal, bool) {
	if u.HasChosen {
		for _, p := range u.Proposals {
			if p.Step == u.Chosen {
				return p, true
			}
		}
	}
	if len(u.Proposals) == 0 {
		return plan.Proposal{}, false
	}
	return u.Proposals[0], true
}

// Seen is what a unit that comes back may be said to do: a test, and its outcomes but the best, by which
// nothing would have come back. None if there is no test that anybody can do, or if the unit does not
// stand as it asks for.
func (u *Unit) Seen() (test *model.Test, outcomes []model.Outcome) {
	if u.Model == nil {
		return nil, nil
	}
	test, ok := u.Sighting()
	if !ok || test.At != u.Setup() {
		return test, nil
	}
	return test, test.Outcomes[1:]
}

// here reports whether the proposal is the one that is done as the unit stands.
func (u *Unit) here(p plan.Proposal) bool { return u.InPlace && u.HasChosen && p.Step == u.Chosen }

// Way returns the setup steps to take before the proposal, none if it is done as the
// unit stands.
func (u *Unit) Way(p plan.Proposal) []model.Move {
	if u.here(p) {
		return nil
	}
	return p.Way
}

// IsFirst reports whether the proposal at hand is the one with the least cost.
func (u *Unit) IsFirst() bool {
	p, ok := u.Current()
	return ok && p.Step == u.Proposals[0].Step
}

// Cautions returns what has to be read before the proposal, whether the way is taken to it
// or it is done as the unit stands.
func (u *Unit) Cautions(p plan.Proposal) []model.Caution {
	if u.here(p) {
		return u.CautionsHere(p.Step)
	}
	return u.Unit.Cautions(p.Step)
}

// Unread returns the cautions among those that were not acknowledged on this unit.
func (u *Unit) Unread(cautions []model.Caution) []model.Caution {
	var out []model.Caution
	for _, c := range cautions {
		if !slices.Contains(u.Marks.Seen, c.ID) {
			out = append(out, c)
		}
	}
	return out
}

// changes reports whether an event of this kind may move the odds, the advice or how the unit ended.
func changes(k trail.Kind) bool { return k != trail.Note && k != trail.Wait }
