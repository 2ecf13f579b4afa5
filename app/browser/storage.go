package browser

import (
	"errors"
	"strings"
)

// Storage keeps units, their events, the models they were recorded under, and what
// the page remembers for itself.
type Storage interface {
	// Open makes the storage ready, bringing stored data to the present schema.
	Open() error
	// Units returns every unit, in order of their ids.
	Units() ([]UnitRecord, error)
	// Unit returns one unit and its events in order, or ErrGone.
	Unit(id string) (UnitRecord, []EventRecord, error)
	// Create stores a new unit with its model, first events and card in one transaction,
	// or ErrExists.
	Create(UnitRecord, ModelRecord, []EventRecord, CardRecord) error
	// Append stores events at the end of a unit, and the card that it then has, in one
	// transaction. The first must be the one after the last stored; otherwise nothing is
	// stored and the error is ErrClash: another window was first.
	Append(unit string, events []EventRecord, card CardRecord) error
	// Add stores all of many additions and photographs in one transaction, or nothing. The
	// errors are those of Create, Append and AddPhoto, and ErrStopped. goOn, if it is not
	// nil, is called after each with how many are done, and ends it by returning false; it
	// must not wait for anything.
	Add(all []Addition, photos []PhotoRecord, goOn func(done int) bool) error
	// Delete removes a unit for good: its events, what was set aside of them, its card, its
	// photographs, its marks, and its model's text if nothing else needs it. None with the
	// id is no error.
	Delete(unit string) error
	// Cards returns cards of a version, the latest first, and how many there are.
	Cards(CardQuery) ([]CardRecord, CardCount, error)
	// Card returns the card of a unit, or ErrGone.
	Card(unit string) (CardRecord, error)
	// KeepCards stores cards that were made anew, in one transaction. One of an earlier time
	// of its unit than the stored one, or of no unit, is left out.
	KeepCards([]CardRecord) error
	// Uncarded returns the units that have no card of the version, in order of their ids.
	Uncarded(version int) ([]string, error)
	// Model returns the exact text of a model by its SHA-256, or ErrGone.
	Model(sha256 string) ([]byte, error)
	// KeepModel stores a model and puts it, with a note on it, on the list of those
	// to begin units with, in one transaction.
	KeepModel(m ModelRecord, note string) error
	// Models returns that list: the notes by SHA-256.
	Models() (map[string]string, error)
	// DropModel takes a model off that list. Its text goes too, unless a unit was
	// recorded under it.
	DropModel(sha256 string) error
	// Archive sets whether a unit is put away.
	Archive(unit string, on bool) error
	// Keep stores a value that is no evidence (marks, settings) by its key, and removes what
	// is there for ""; Kept returns it, "" if there is none.
	Keep(key, value string) error
	Kept(key string) (string, error)
	// Alter keeps what f makes of the value that is kept under a key, "" if there is none,
	// in one transaction: nobody keeps another in between. An error of f's is Alter's, and
	// nothing is changed then. f must not wait for anything, nor ask the storage.
	Alter(key string, f func(value string) (string, error)) error
	// SetAside moves damaged events of a unit out of the way of further ones, in one
	// transaction: they are kept as they are. It is ErrClash if one of them is not
	// stored so any more.
	SetAside(unit string, events []EventRecord) error
	// Aside returns the events of a unit that were set aside, raw, in no certain order.
	Aside(unit string) ([]string, error)
	// Watch calls f with each change that this window did not make itself.
	Watch(f func(Change))
	Photographs
}

// A Change is what happens to the storage from outside this window.
type Change struct {
	Kind ChangeKind
	Unit string // of UnitChanged and PhotosChanged
}

// ChangeKind says what changed.
type ChangeKind int

// The kinds of change: another window recorded on a unit or changed its photographs, it
// needs the storage for a newer version, or the browser has cleared the storage.
const (
	UnitChanged ChangeKind = iota
	PhotosChanged
	Outdated
	Cleared
)

// photosTold heads what windows tell each other about a unit's photographs, or Intake's. About its
// events they tell its id.
const photosTold = "photos/"

// told is how a change reads between windows, and changeTold reads it.
func (c Change) told() string {
	if c.Kind == PhotosChanged {
		return photosTold + c.Unit
	}
	return c.Unit
}

func changeTold(text string) Change {
	if unit, ok := strings.CutPrefix(text, photosTold); ok {
		return Change{Kind: PhotosChanged, Unit: unit}
	}
	return Change{Kind: UnitChanged, Unit: text}
}

// asideKey heads the keys of what is kept of events that were set aside.
const asideKey = "aside/"

// Errors of a Storage; what the browser said is wrapped around them.
var (
	ErrDenied  = errors.New("browser: storage denied")
	ErrFull    = errors.New("browser: storage full")
	ErrBlocked = errors.New("browser: storage held by an older version in another window")
	ErrNewer   = errors.New("browser: stored data are of a newer version")
	ErrClash   = errors.New("browser: another window recorded first")
	ErrExists  = errors.New("browser: there is a unit with this id")
	ErrGone    = errors.New("browser: not in the storage")
	ErrRecord  = errors.New("browser: damaged record")
	ErrLost    = errors.New("browser: storage cleared by the browser")
	ErrSilent  = errors.New("browser: storage does not answer")
	ErrStopped = errors.New("browser: stopped on request")
)
