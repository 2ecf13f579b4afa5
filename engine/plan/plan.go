package plan

import (
	"pitwise/engine/belief"
	"pitwise/engine/model"
)

// A Situation is where one unit stands: what is believed of it, the setup it is in,
// and the tests that the person cannot do.
type Situation struct {
	Belief  *belief.Belief
	Setup   int    // index in Model.Setups
	Skipped []bool // by test index; nil if none

	// Tries counts the failures that repairs remember: Tries[r][i] live tries of repair r since the
	// last change that may have brought in the mode of its Change.Fixes[i]; nil if none.
	Tries [][]int
	// Seen is the last live outcome of each test on this unit, by test index, -1 for none: what
	// OnlyAfter asks about; nil if there is none.
	Seen []int
	// Back is Seen of a unit that came back from a sign-off, since then, as long as nothing was
	// mended on it since; nil of any other.
	Back []int
}

// StepKind says what a step does.
type StepKind string

const (
	DoTest   StepKind = "test"
	DoRepair StepKind = "repair"
	SignOff  StepKind = "sign-off"
	WriteOff StepKind = "write-off"
)

// A Step is one thing to do next. Index is the test's or the repair's, 0 otherwise.
type Step struct {
	Kind  StepKind
	Index int
}

// A Proposal is a step with what it costs, what it tells and why it is worth it.
type Proposal struct {
	Step     Step
	Way      []model.Move // setup steps to take first, in order
	Minutes  float64      // of the way and the step itself
	Money    float64      // of the way and the step itself, Currency
	Total    float64      // expected total cost from here if this is next, Currency
	Within   float64      // how finely the totals are known, Currency: closer ones are as good as each other
	Hazard   int          // 0 without any caution; larger the worse its worst caution is
	Outcomes []Follow     // of a test, in the test's order; of a repair one, its Outcome 0; nil for endings
	Bits     float64      // expected information about which faults are present, bits
	Left     float64      // sign-off: the odds that a fault is left after the way back
	Reason   Reason
}

// A Follow is what comes after one outcome of a proposed test.
type Follow struct {
	Outcome int     // index in the test's Outcomes
	P       float64 // its probability now
	Next    Step    // the best step after it; none if it cannot come, or if a plan would give up then or run the same test again, which is decided anew
	Total   float64 // expected total cost from there, Currency
	Suspect int     // the most probable mode after it; -1 if no fault is the most probable
	Odds    float64 // that mode's probability after it, or the probability that the unit is sound
}

// A Reason says in numbers why a proposal stands where it stands.
type Reason struct {
	First     bool    // it is the one proposed
	Other     Step    // the best other step
	Saves     float64 // Total of Other less this Total, Currency; negative if Other is better
	SignOff   float64 // expected total of signing off now, Currency
	WriteOff  float64 // cost of writing off now, Currency
	Separates [2]int  // the two modes that a test tells apart best, by mode index; -1 none
	Bits      float64 // how much it tells those two apart, bits
	Proof     float64 // sign-off: what one more proof would be worth before it, Currency (negative: not worth it; NaN where it is not on offer)
}

// A Planner chooses what to do next. Its answers depend on its inputs alone: no
// clock, no randomness of its own, the same on every machine.
type Planner interface {
	// Start begins the search for the next step. It does no long work.
	Start(Situation) Search

	// Quick returns the step that stands first on the grown library alone, one step ahead. It grows
	// no plans of its own and looks no second step ahead, which takes a tenth of the time: for games
	// of many units, never for a unit on the bench.
	Quick(Situation) Step

	// Grow does one piece, some milliseconds of native work, of what a planner works out once
	// and every search is built on, and reports whether that is done. A search does it where
	// nobody did before.
	Grow() (done bool)

	// Save returns what Grow worked out, for Restore of another planner of the same Key; nil
	// before it is done.
	Save() []byte

	// Restore takes up what Save gave, in place of growing. Its answers are then the same to the
	// last bit. The error, ErrLibrary, wrapped, leaves the planner as it was.
	Restore([]byte) error

	// Key tells apart what Grow works out: it is the same for the same model, terms and planner.
	Key() string

	// Keener returns the planner that a search asks before it gives a unit up, nil where it asks none. What it is
	// built on can be grown, saved and restored as well; a search grows it where nobody did before.
	Keener() Planner
}

// A Search is a proposal in the making. It is not safe for concurrent use.
type Search interface {
	// Work goes on by about the given number of units, of roughly one millisecond
	// of native work each, and reports whether the answer is settled. The settled
	// answer does not depend on how the work was sliced.
	Work(units int) (settled bool)

	// Proposals returns every step on offer, the one that is proposed first, the others by
	// their totals; ties are broken by kind and id. What is proposed has the least total, or one
	// that cannot be told apart from it (Proposal.Within) and less hazard, and mends or tells
	// rather than ends; but a repair is tried before the way home. Before the first Work it is empty.
	Proposals() []Proposal

	// Asks returns the keener planner once the search has come to ask it, else nil: what was kept of it can be restored before the
	// search goes on, and kept once it is settled.
	Asks() Planner

	// Stands returns the first of the settled proposals, at the most so many, with what their totals
	// are made of; nil before they are settled.
	Stands(most int) []Stand
}
