package state

import (
	"pitwise/engine/catalog"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// A Msg is one thing that happened: a tap, or the answer to an effect. Update
// leaves the State as it is for a value that is none of the types below. A tap that only asks for
// an effect is that effect: SaveRaw, Renew, Persist, SetArchived, CreateSample, PrintOut, and those that
// Update completes or takes note of: BackUp, ForgetModel, DeleteUnit.
type Msg any

// The page as a whole.
type (
	// Started comes once, when the storage has answered or has failed.
	Started struct {
		Lang, Prefix         string
		Theme                Theme
		CanShare, CanRead    bool
		Storage              Storage
		Cards                []Card
		Count                Count
		Terms, Draft, Habits string // what is kept under the settings of these names
		Bench                string // the name of this bench, so kept too
	}
	Listed         struct{ Models []catalog.Entry } // the shipped models
	Navigated      struct{ Path string }            // the address changed
	StorageChanged struct{ Trouble Trouble }
	// RoomMeasured is what the storage has room for now, whatever its trouble is.
	RoomMeasured struct{ Storage Storage }
	// StorageLost: the browser has cleared the storage under the page.
	StorageLost struct{}
	BenchRead   struct { // the bench list was read again
		Cards []Card
		Count Count
	}
	UpdateWaiting struct{}
	WentOffline   struct{ Offline bool }
	ChooseLang    struct{ Lang string }
	WordsMissing  struct{} // a language that was chosen cannot be had
	ChooseTheme   struct{ Theme Theme }
	Dismiss       struct{ Serial int } // the notice with this serial goes
)

// The bench.
type (
	SearchBench  struct{ Text string }
	FilterBench  struct{ Status Status } // "" for all
	MoreCards    struct{}                // the next page of the list
	ShowArchived struct{ On bool }
	// AskDelete asks whether to delete a unit for good; "" asks no more.
	AskDelete  struct{ ID string }
	Deleted    struct{ ID string } // it is gone, with its photographs
	PickImport struct{}            // choose a file to read in
	// ReadingOn says how far the reading of a file is, in units and photographs.
	ReadingOn struct{ Done, All int }
	// AddUpBy says what the book adds up by.
	AddUpBy struct{ By BookBy }
	// BookRead is the book so far, and how many units it will hold.
	BookRead struct {
		Entries   []Entry
		Done, All int
	}
	// StopImport ends the reading of a file; nothing of it is then stored.
	StopImport struct{}
	Imported   struct {
		ID    string      // of the first unit of the file
		New   int         // events that were not here before
		Same  bool        // nothing was new
		Bench bool        // a backup of a whole bench
		Model *TakenModel // nil if the file was no model
		// Counts is nil if the file was none of counts.
		Counts *TakenCounts
		// Listed is how many own models of a backup were not on the list before, and Lent of how many benches
		// counts of it were not here.
		Listed, Lent int
		// Photographs that were not here before, and those that were refused.
		Photos, Refused int
	}
	ImportFailed struct {
		Detail string
		File   RefusedFile // without defects if Detail says it all
		// Stopped: on request, with nothing stored.
		Stopped bool
	}
)

// Taking a unit in.
type (
	PickModel   struct{ ID string }
	ModelLoaded struct {
		ID    string
		Model *model.Model
	}
	ModelFailed struct{ ID, Detail string }
	SetLabel    struct{ Text string }
	SetNotes    struct{ Text string }
	// Answer is what the owner says, or the intake test shows; the same again takes it back. On a unit
	// under way it is recorded, in place of an earlier answer.
	Answer struct {
		Test    model.TestID
		Outcome model.OutcomeID
	}
	// SetTool, SetCurrency and SetTerm change the terms that are typed: of the unit that is taken in,
	// or on SheetTerms.
	SetTool struct {
		ID model.ToolID
		On bool
	}
	SetCurrency struct{ Code string }
	SetTerm     struct {
		Term Term
		Text string
	}
	StartUnit struct{}
	Created   struct {
		Trail  *trail.Trail
		Sample bool // the sample unit, not the one that was taken in
	}
	CreateFailed struct {
		Trouble Trouble
		Detail  string
		Trail   *trail.Trail // what would have been stored; it lives in memory now
		Model   *model.Model // its model
		Sample  bool
	}
)

// Reading a unit and working it out.
type (
	Opened struct {
		Trail    *trail.Trail
		Model    *model.Model // nil if its text is not here
		Marks    Marks
		Damaged  []string
		Archived bool
	}
	OpenFailed struct {
		ID      string
		Trouble Trouble
		Detail  string
	}
	Reckoned struct {
		ID       string
		Turn     int
		Account  *trail.Account
		Conflict Conflict
	}
	Thought struct {
		ID        string
		Turn      int
		Proposals []plan.Proposal
		Settled   bool
	}
	Looked struct { // back over the whole trail
		ID     string
		Turn   int
		Origin *trail.Odds
		Doubts []trail.Doubt
	}
)

// Working on a unit.
type (
	Choose      struct{ Step plan.Step }
	ChooseFirst struct{}
	Acknowledge struct{ IDs []model.CautionID } // these cautions were read
	Tick        struct {
		Mark string
		On   bool
	}
	SawOutcome struct {
		Test    model.TestID
		Outcome model.OutcomeID
	}
	SetEntry  struct{ Text string }
	SendEntry struct{} // the number field; one that lies far outside is asked back once
	Move      struct{ To model.SetupID }
	Repaired  struct{ ID model.RepairID }
	TakeBack  struct{ N int } // make event N as if never recorded, with a note that says the same; of a void: bring back
	FindOther struct{ Text string }
	// LookAt looks at a place on the drive picture; again: away.
	LookAt struct{ Place string }
	// TryHere does a test as the unit stands, away from its setup.
	TryHere   struct{ Step plan.Step }
	OpenSheet struct {
		Sheet Sheet
		Text  string // to begin with
	}
	SetText  struct{ Text string }
	SetCause struct {
		Mode model.ModeID
		On   bool
	}
	// SetSaid says what a unit that comes back does now; the same again: nobody said.
	SetSaid      struct{ Outcome model.OutcomeID }
	ConfirmSheet struct{}
	EndWait      struct{} // what the unit waited for is here
	RecordCount  struct{} // the counts of the counter are the result
	NoteCount    struct{} // they are to be a note
	// StartTimer starts the bench timer over this unit; 0 minutes stop it.
	StartTimer struct{ Minutes int }
	// Ticked is the bench timer: when it ends, and how many seconds are left.
	Ticked struct {
		ID, End string
		Left    int
	}
	// StartSoak starts the counter of runs for a test, EndSoak ends it without a trace.
	StartSoak struct{ Test model.TestID }
	EndSoak   struct{}
	CountRun  struct{ Good bool }
	UndoRun   struct{} // the last one counted
	// Soaked is the counter's clock: when it was started, and how long ago.
	Soaked struct {
		ID, Since string
		Seconds   int
	}
	SaveAgain struct{}
)

// Answers of the storage while working on a unit.
type (
	Appended struct {
		ID     string
		Events []trail.Event // as stored
	}
	AppendFailed struct {
		ID      string
		Events  []trail.Event // with their times
		Trouble Trouble
		Detail  string
	}
	Elsewhere struct{ ID string } // another window recorded something on this unit
)

// Taking the trail away.
type (
	TakeAway struct { // export
		Form Form
		Way  Way
	}
	Taken struct {
		Way   Way
		At    string
		Bench bool  // the whole bench
		Held  *Held // of a bench: what the file holds
	}
	TakeFailed struct {
		Detail  string
		Trouble Trouble // TroubleShare if not set
	}
)

// Form is what is taken away.
type Form string

const (
	FormTrail     Form = "trail"      // JSON
	FormTrailFull Form = "trail-full" // JSON with the model's text
	FormReport    Form = "report"     // Markdown
	FormSteps     Form = "steps"      // CSV
	FormBuyer     Form = "buyer"      // what a buyer wants to know, Markdown
	FormBook      Form = "book"       // every unit, CSV
	FormOrders    Form = "orders"     // what to order, text
	FormDamaged   Form = "damaged"    // records that cannot be read, raw
)

// Way is how it leaves the page.
type Way string

const (
	WaySave  Way = "save" // as a file
	WayShare Way = "share"
	WayCopy  Way = "copy"
)
