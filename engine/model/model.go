package model

// Ids of the parts of a model. Each matches [a-z0-9][a-z0-9-]*, except ModeID,
// which is written "component.mode".
type (
	ComponentID string
	ModeID      string
	TestID      string
	OutcomeID   string
	RepairID    string
	SetupID     string
	SourceID    string
	CautionID   string
	ToolID      string
)

// A Model says what can be wrong with a kind of unit, what can be seen of it and
// what can be done about it. It is immutable once loaded and safe for concurrent
// use. Slices keep the order of the file; every cross-reference has been checked,
// and the Index fields and the indices in Given, Fixes and Risks are valid.
type Model struct {
	Version  int // of the format: 1 or 2
	ID       string
	Revision string
	Words
	MostFaults int    // largest number of components held to be faulty at once, 1 to 6
	Currency   string // of all money, ISO 4217; "" if the file does not say

	Sources    []Source
	Cautions   []Caution
	Tools      []Tool
	Setups     []Setup
	Components []Component
	Modes      []Mode // every mode of every component, in component order
	Tests      []Test
	Repairs    []Repair

	Root   int    // index in Setups of the setup without Inside
	Intake int    // index in Tests of the intake test
	Proof  int    // index in Tests of the run that proves a unit; the intake test unless one is marked
	Text   []byte // the exact bytes of the file
	SHA256 string // of Text, lower-case hexadecimal

	ids      map[string]int // "kind/id" to index
	original *Model         // of which this is another wording; nil if it is none
}

// Words are the optional texts that any part of a model may carry.
type Words struct {
	Title string
	Text  string
	Steps []string
	Why   string // what the result tells, in a sentence
}

// SourceKind tells how far a number can be trusted.
type SourceKind string

const (
	Published SourceKind = "published"
	Practice  SourceKind = "practice"
	Memory    SourceKind = "memory"
)

// weight is the weight of a source that states none.
func (k SourceKind) weight() float64 {
	switch k {
	case Published:
		return 200
	case Practice:
		return 30
	}
	return 8
}

// A Source is where numbers come from.
type Source struct {
	ID     SourceID
	Kind   SourceKind
	Cite   string
	Weight float64 // to how many watched units its numbers are worth; above 0, by its kind where the file has none
	Words
}

// A Caution is a danger that is shown before the steps that carry it.
type Caution struct {
	ID CautionID
	Words
}

// A Tool is something a test may need at hand.
type Tool struct {
	ID ToolID
	Words
}

// A Setup is a way the unit stands: cover on, cover off, drive out. Setups form a
// tree; a unit starts in the root and has to end there to be signed off.
type Setup struct {
	Index  int
	ID     SetupID
	Inside int // index of the parent setup; -1 for the root
	Depth  int // 0 for the root
	Words
	Cautions []CautionID
	Enter    Step // from the parent into this setup
	Leave    Step // from this setup back to the parent
}

// A Step is the work of entering or leaving a setup. The zero Step is free.
type Step struct {
	Minutes float64
	Money   float64
	Words
	Change   Change
	Cautions []CautionID
	Source   SourceID // "" if none is given
}

// A Component is sound or in exactly one of its modes.
type Component struct {
	Index int
	ID    ComponentID
	Words
	Place     string // the spot on the drive picture
	FirstMode int    // its modes are Model.Modes[FirstMode:FirstMode+ModeCount]
	ModeCount int
}

// A Mode is one way for a component to be at fault.
type Mode struct {
	Index     int
	Component int // index in Model.Components
	ID        ModeID
	Words
	Prior  float64 // above 0; a component's sum is below 1
	Source SourceID
}

// A Test is something that can be looked at, with the odds of what is seen.
type Test struct {
	Index int
	ID    TestID
	Words
	Intake     bool
	Told       bool // a question to the owner: never a step, no change touches it, At is the root and it costs nothing
	Proof      bool // the run whose best outcome is the sign that a unit works
	At         int  // index in Model.Setups
	Minutes    float64
	Money      float64
	Needs      []ToolID
	Cautions   []CautionID
	Reading    *Reading // nil for a test that only names outcomes
	Outcomes   []Outcome
	Healthy    []float64 // one entry an outcome, best first: seen when nothing in Given is wrong
	Given      []Row     // in mode order; a mode that is not listed has no effect
	Steadiness float64   // kappa, above 0: near 0 a repeat copies the first result
	Source     SourceID
}

// A Row is what is seen when Mode is the only fault. It includes whatever a sound
// unit would show by itself (Henrion's convention for leaky noisy-MAX parameters).
type Row struct {
	Mode int // index in Model.Modes
	P    []float64
}

// An Outcome is one thing that a test can show. From and To bound the readings that
// count as it, From inclusive, To exclusive; they are infinite where the file has none.
type Outcome struct {
	ID OutcomeID
	Words
	From float64
	To   float64
}

// A Reading describes a measured quantity and the meter's limits of error.
type Reading struct {
	Unit     string
	Nominal  *float64 // nil if none is given
	Percent  float64  // limit of error, % of the reading, at least 0
	Absolute float64  // limit of error in Unit, at least 0
}

// A Repair takes faults away, and may bring some in.
type Repair struct {
	Index int
	ID    RepairID
	Words
	At       int // index in Model.Setups
	Minutes  float64
	Money    float64
	Needs    []ToolID
	Cautions []CautionID
	Change   Change

	// Steadiness is the kappa of the repair's memory of its failures: after n tries with
	// mode f still there the next one removes f with kappa*p/(kappa+n). 0: none, every try is a
	// fresh draw.
	Steadiness float64
	OnlyAfter  OnlyAfter
	Source     SourceID
}

// OnlyAfter says what has to be seen before a repair is on offer: the last live result of one
// of the tests in Any is one of its outcomes. The zero OnlyAfter asks for nothing.
type OnlyAfter struct {
	Any    []Seen
	Strict bool // also where the tools at hand allow none of the tests
}

// Seen names outcomes of a test.
type Seen struct {
	Test     int   // index in Model.Tests
	Outcomes []int // indices in the test's Outcomes, rising
}
