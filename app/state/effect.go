package state

import (
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// An Effect is something Update asks of the world outside. Each is carried out by
// the runner and answered by a message, if it has an answer.
type Effect any

type (
	// GoTo changes the address of the page.
	GoTo struct{ Path string }
	// ReadBench reads the bench list again; answered by BenchRead.
	ReadBench struct {
		Archived bool   // the units that are put away, else the others
		Only     Status // of those that stand so; all if ""
		Search   string // of those that it finds; all if ""
		Lang     string // in which they are looked for
		Most     int    // at most so many; a first page if 0
	}
	// StopReading ends a ReadIn that is under way, which then has stored nothing.
	StopReading struct{}
	// LoadModel loads a shipped model; answered by ModelLoaded or ModelFailed.
	LoadModel struct{ ID string }
	// Create stores a new unit. The runner gives it an id and the times; answered
	// by Created or CreateFailed.
	Create struct {
		Trail trail.Trail
		Model *model.Model
	}
	// CreateSample stores the sample unit if it is not there; answered by Created.
	CreateSample struct{}
	// Open reads a unit; answered by Opened or OpenFailed.
	Open struct{ ID string }
	// Append stores events at the end of a unit's trail, in one transaction. Events
	// without a time get the present one. Answered by Appended or AppendFailed.
	Append struct {
		ID     string
		Events []trail.Event
		Trail  *trail.Trail // of the unit, before them
		Model  *model.Model // nil if its text is not here
		// Whole says that the unit is not in the storage at all: Events are then all of its
		// events, and it is stored as a new one.
		Whole bool
	}
	// Reckon works a unit out: Reckoned, then one Thought with settled proposals, then
	// Looked. A newer Reckon ends it.
	Reckon struct {
		ID    string
		Turn  int
		Trail *trail.Trail
		Model *model.Model
	}
	// Grow makes what planning for a unit with the terms of Trail will need, before there is
	// one. It has no answer; a Reckon or a newer Grow ends it.
	Grow struct {
		Trail *trail.Trail // without events
		Model *model.Model
	}
	// Rest ends whatever Reckon or Grow is under way.
	Rest struct{}
	// KeepMarks stores what was ticked on a unit. It has no answer.
	KeepMarks struct {
		ID    string
		Marks Marks
	}
	// SetArchived stores whether a unit is archived. It has no answer unless it fails.
	SetArchived struct {
		ID string
		On bool
	}
	// ReadBook reads what every unit came to, in the words of a language; answered by BookRead, more than once.
	ReadBook struct{ Lang string }
	// TakeBook hands the book (FormBook) or what to order (FormOrders) over; as a message it has form
	// and way alone. Answered by Taken or TakeFailed.
	TakeBook struct {
		Form    Form
		Way     Way
		Entries []Entry
		Lang    string
	}
	// DeleteUnit removes a unit for good, with its photographs; answered by Deleted or StorageChanged.
	DeleteUnit struct{ ID string }
	// FetchWords gets the texts of a language; answered by ChooseLang or WordsMissing.
	FetchWords struct{ Lang string }
	// KeepSetting stores a setting of the page and puts it into force.
	KeepSetting struct{ Key, Value string }
	// TakeOut hands a unit's text over; answered by Taken or TakeFailed.
	TakeOut struct {
		Form    Form
		Way     Way
		Trail   *trail.Trail
		Model   *model.Model
		Account *trail.Account
		Origin  *trail.Odds // nil until worked out
		Damaged []string
		Lang    string
		Photos  bool // with photographs
	}
	// RunTimer runs the bench timer of a unit: for so many minutes from now, or to
	// an end set before. The screen stays on. Answered by Ticked every second.
	RunTimer struct {
		ID      string
		Minutes int
		End     string // RFC 3339, if not ""
	}
	// StopTimer ends the bench timer.
	StopTimer struct{}
	// RunSoak runs the clock of the counter of runs, from now or from a time before. The
	// screen stays on. Answered by Soaked every second.
	RunSoak struct {
		ID    string
		Since string // RFC 3339, if not ""
	}
	// StopSoak ends that clock.
	StopSoak struct{}
	// BackUp hands the whole bench over as one file; answered by Taken or TakeFailed.
	BackUp struct {
		Way    Way
		Photos bool    // with photographs
		Memory []*Unit // those of which something is only in memory
	}
	// ReadIn lets the person choose a file and takes its trails in; answered by
	// ReadingOn now and then, and by Imported, ImportFailed, or nothing if no file was
	// chosen.
	ReadIn struct{}
	// PrintOut prints the page as it is.
	PrintOut struct{}
	// Persist asks the browser to keep the storage; answered by RoomMeasured.
	Persist struct{}
	// MeasureRoom asks how much room there is; answered by RoomMeasured.
	MeasureRoom struct{}
	// SaveRaw hands the records of a unit over as they are; answered by Taken or
	// TakeFailed.
	SaveRaw struct{ ID string }
	// Renew puts a waiting version into force, which loads the page anew.
	Renew struct{}
	// DismissLater answers with Dismiss after a while.
	DismissLater struct{ Serial int }
	// ShowTop scrolls to the head of the pane and puts the focus there.
	ShowTop struct{}
)
