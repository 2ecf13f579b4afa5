package trail

import "pitwise/engine/model"

// A Trail is everything done to one unit, in order. It only grows.
type Trail struct {
	ID        string
	Created   string // RFC 3339
	Model     ModelRef
	ModelText string // exact text of the model; "" if the trail does not carry it
	Unit      Unit
	Terms     Terms
	Events    []Event
}

// A ModelRef names the model a trail was recorded under.
type ModelRef struct {
	ID       string
	Revision string
	SHA256   string // of the model file's bytes, lower-case hexadecimal
}

// A Unit is the thing on the bench.
type Unit struct {
	Label string
	Notes string
}

// Terms are what the person's time, parts and units are worth.
type Terms struct {
	MinuteValue  float64 // Currency a minute
	Currency     string  // ISO 4217
	Tools        []model.ToolID
	WorkingValue float64 // what the unit is worth working
	AsIsValue    float64 // what it is worth as it is
	ComebackCost float64 // what a unit that comes back costs, beyond its value
	Exchange     float64 // Currency for one unit of the model's currency; 0 if not given, which means 1
}

// Rate returns how much of Currency one unit of the model's currency is worth.
func (t Terms) Rate() float64 {
	if t.Exchange == 0 {
		return 1
	}
	return t.Exchange
}

// Kind is the kind of an event.
type Kind string

const (
	Start  Kind = "start" // of a line only: how things stand before the first event
	Result Kind = "result"
	Setup  Kind = "setup"
	Repair Kind = "repair"
	Skip   Kind = "skip"
	Note   Kind = "note"
	Void   Kind = "void"
	End    Kind = "end"

	NewTerms Kind = "terms" // terms that stand from there on
	Wait     Kind = "wait"  // the unit waits until the next live event that is no note
)

// Ending is how a unit left the bench.
type Ending string

const (
	SignedOff  Ending = "signed-off"
	WrittenOff Ending = "written-off"
	Returned   Ending = "returned"
)

// An Event is one thing that was done. Only the fields of its kind are set.
type Event struct {
	N       int    // 1, 2, 3, … without gaps
	At      string // RFC 3339
	Kind    Kind
	Test    model.TestID    // result, skip
	Outcome model.OutcomeID // result that was named
	Reading *float64        // result that was measured, in the test's unit
	Setup   model.SetupID   // setup
	Repair  model.RepairID  // repair
	Of      int             // void: the event that is made as if never recorded
	Reason  string          // skip, void
	Text    string          // note
	As      Ending          // end
	Causes  []model.ModeID  // end
	Terms   *Terms          // terms
	For     string          // wait: what for
}
