package state

import (
	"maps"
	"slices"
	"time"

	"pitwise/engine/catalog"
	"pitwise/engine/trail"
)

// A State is everything the page shows. The zero State is the page before the
// storage has answered.
type State struct {
	Route    Route
	Lang     string // "en", "de", "es", "ja"
	Wanted   string // a language that was chosen, whose words are on their way; "" for none
	Theme    Theme
	Prefix   string // the app's root path, "" or "/tools"
	Ready    bool   // the storage has answered; Cards are complete
	Storage  Storage
	Update   bool // a new version waits for the person's yes
	Offline  bool
	CanShare bool // the system has a share sheet for files
	CanRead  bool // the browser reads QR codes

	Models   []catalog.Entry // the shipped models
	Own      []OwnModel      // models that the person brought in, in the order of SortModels
	Cards    []Card          // those that are read of the bench list, the latest first
	Count    Count           // how many there are
	More     int             // how many cards are asked for; 0 for the first page
	Search   string          // over the bench list
	Only     Status          // the units that the bench list shows; "" for all
	Deleting string          // id of the unit that is asked about
	Archived bool            // show the archived units

	Book              []Entry // of ScreenBook, the latest begun first; nil until read
	BookDone, BookAll int     // how many units it holds so far, and will
	BookBy            BookBy  // what it adds up by

	Habits     Habits      // what the person leaves open
	Draft      Draft       // the unit being taken in
	Remembered trail.Terms // the person's last terms, with the tools of all models; the zero Terms if there are none
	Unit       *Unit       // the unit on the screen; nil while it loads or if there is none

	// Pending holds, by id, the units that are not on the screen and of which something is
	// only in memory or on its way into the storage.
	Pending map[string]*Unit

	Absent Trouble // why the unit of the route is not on the screen, once that is known

	Photos     Album // of the unit on the screen
	Intake     Album // of the unit being taken in
	WithPhotos bool  // photographs go into what is taken away

	Reading bool // a file is being read in
	// How far that is, and of how many units and photographs; both 0 before it is known.
	ReadingDone, ReadingAll int
	Refused                 *RefusedFile // the file that was not, with its defects over the screen; nil if none
	Learning                Learning     // numbers from the bench's own units
	Lending                 Lending      // counts of other benches
	Bench                   string       // the name of this one among them, as typed
	Weighing                Weighing     // what tools are worth
	Figures                 Figures      // numbers of a model
	Reader                  Reader       // of a unit's codes
	Moving                  Moving       // of the whole bench
	Dropping                string       // SHA-256 of the own model that is asked about

	Speech Speech // what is read aloud
	Notice Notice // one passing sentence; the zero Notice is none
}

// Theme is how the page is lit.
type Theme string

const (
	ThemeAuto     Theme = "auto" // as the device says
	ThemeLight    Theme = "light"
	ThemeDark     Theme = "dark"
	ThemeContrast Theme = "contrast"
)

// Themes in the order they are offered.
var Themes = []Theme{ThemeAuto, ThemeLight, ThemeDark, ThemeContrast}

// Storage says what the browser's storage can do for the person.
type Storage struct {
	Trouble   Trouble // "" if all is well
	Memory    bool    // it could not be opened: nothing outlives the page
	Persisted bool    // the browser promised not to clear it
	Forgets   bool    // the browser clears it after days without a visit, unless the page is on the home screen
	Asked     bool    // the promise was asked for and answered
	Backed    string  // when the whole bench was last taken away, RFC 3339; "" if never
	Used      float64 // bytes
	Room      float64 // bytes left; 0 if the browser does not say
}

// Trouble names what went wrong outside the page; the words for it are the views'.
type Trouble string

const (
	NoTrouble     Trouble = ""
	TroubleDenied Trouble = "denied"   // no storage at all, private mode
	TroubleFull   Trouble = "full"     // quota reached
	TroubleSilent Trouble = "silent"   // no answer, neither yes nor no
	TroubleOld    Trouble = "blocked"  // another tab holds an older version open
	TroubleNewer  Trouble = "newer"    // the stored data are from a newer version
	TroubleClash  Trouble = "clash"    // another window wrote first
	TroubleRead   Trouble = "read"     // a record cannot be read back
	TroubleOther  Trouble = "other"    // anything else; Detail has the browser's words
	TroubleModel  Trouble = "model"    // the unit's model text is not here
	TroubleImport Trouble = "import"   // a file that is not a trail of ours
	TroubleGone   Trouble = "gone"     // no such unit on this device
	TroubleShare  Trouble = "share"    // the share sheet or the clipboard refused
	TroubleRandom Trouble = "identity" // no random source
	TroubleLost   Trouble = "lost"     // the browser has cleared the storage
	TroubleLarge  Trouble = "large"    // more photographs than one file holds
	TroubleWords  Trouble = "words"    // the texts of a language cannot be had
)

// A Card is one unit as the bench list shows it. It is worked out from the trail.
type Card struct {
	ID       string
	Label    string
	Model    string // title
	ModelID  string
	Created  string // RFC 3339
	Changed  string // RFC 3339 of the last event
	Steps    int    // as they are numbered
	Events   int
	Status   Status
	Minutes  float64 // spent, by the model's numbers
	Money    float64 // spent, Currency
	Currency string
	Waits    string   // what for, of StatusWaiting
	Find     string   // further words by which it is found
	Said     []string // keys of such words, for catalog.Say in other languages
	Archived bool
	Damaged  bool // a record of it cannot be read
	Unsaved  int  // events that are only in memory
}

// Count says how many units there are of which only some are read.
type Count struct {
	Units   int    // all that are stored
	Away    int    // of them put away
	Listed  int    // that the list has: put away or not, and found by the search
	Summing int    // without a card yet; they are being summed up
	Sample  bool   // the sample unit is one of them
	Changed string // RFC 3339 of the latest event of all but the sample
}

// Status is where a unit stands on the bench.
type Status string

const (
	StatusOpen       Status = "open"
	StatusWaiting    Status = "waiting"
	StatusSignedOff  Status = "signed-off"
	StatusWrittenOff Status = "written-off"
	StatusReturned   Status = "returned"
)

// A Notice is one sentence that passes by itself or by a tap.
type Notice struct {
	Kind    NoticeKind
	Trouble Trouble // of NoticeTrouble
	Detail  string  // a name, a number, the browser's own words
	N       int     // the event it speaks of, 0 if none
	Step    int     // which step that is, 0 if it is none
	Serial  int     // tells two equal notices apart
	Photos  int     // of NoticePhotos
	Refused int     // of NoticePhotos and NoticeTook
}

// NoticeKind picks the sentence.
type NoticeKind string

const (
	NoNotice        NoticeKind = ""
	NoticeRecorded  NoticeKind = "recorded"
	NoticeVoided    NoticeKind = "voided"
	NoticeRestored  NoticeKind = "restored"
	NoticeDeleted   NoticeKind = "deleted" // Detail is its label
	NoticeCopied    NoticeKind = "copied"
	NoticeSaved     NoticeKind = "saved"
	NoticeShared    NoticeKind = "shared"
	NoticeImported  NoticeKind = "imported"
	NoticeSame      NoticeKind = "import-same"
	NoticeStopped   NoticeKind = "import-stopped"
	NoticeModel     NoticeKind = "model"
	NoticeModelSame NoticeKind = "model-same"
	NoticeListed    NoticeKind = "models"        // N of them, from a backup
	NoticeLent      NoticeKind = "lent"          // counts of N benches
	NoticePhotos    NoticeKind = "import-photos" // Photos and Refused say how many
	NoticeElsewhere NoticeKind = "elsewhere"
	NoticeClash     NoticeKind = "clash"
	NoticeTrouble   NoticeKind = "trouble"
	NoticeTimeUp    NoticeKind = "time-up"
	NoticeTook      NoticeKind = "took" // photographs; Refused of them were not
)

// notify returns s with a new notice.
func (s State) notify(kind NoticeKind, detail string, n int) State {
	s.Notice = Notice{Kind: kind, Detail: detail, N: n, Serial: s.Notice.Serial + 1}
	return s
}

// complain returns s with a notice of trouble.
func (s State) complain(t Trouble, detail string) State {
	s = s.notify(NoticeTrouble, detail, 0)
	s.Notice.Trouble = t
	return s
}

// SampleID is the id of the sample unit: fixed, so that there is one of it.
const SampleID = "00000000000000000000SAMP1E"

// cards returns the cards of all units: those that are stored, and those of which
// something is only in memory as they are there, first.
func (s State) cards() []Card {
	memory := s.InMemory()
	if len(memory) == 0 {
		return s.Cards
	}
	all := make([]Card, 0, len(memory)+len(s.Cards))
	for _, u := range memory {
		c := CardOf(u.Model, u.Trail)
		c.Unsaved = u.Unsaved
		all = append(all, c)
	}
	for _, c := range s.Cards {
		i := slices.IndexFunc(all[:len(memory)], func(m Card) bool { return m.ID == c.ID })
		if i < 0 {
			all = append(all, c)
		} else {
			all[i].Archived, all[i].Damaged = c.Archived, c.Damaged
		}
	}
	return all
}

// Empty reports whether there is no unit at all.
func (s State) Empty() bool { return s.Count.Units == 0 && len(s.Cards) == 0 && len(s.InMemory()) == 0 }

// Shown returns the cards that the bench list shows, in order.
func (s State) Shown() []Card {
	var shown []Card
	for _, c := range s.cards() {
		if c.Archived == s.Archived && (s.Only == "" || s.Only == c.Status) && c.Found(s.Search, s.Lang) {
			c.Model = catalog.Title(c.ModelID, c.Model, s.Lang)
			shown = append(shown, c)
		}
	}
	return shown
}

// Later reports whether the RFC 3339 time a is after b; no time is before any.
func Later(a, b string) bool {
	x, err := time.Parse(time.RFC3339, a)
	if err != nil {
		return false
	}
	y, err := time.Parse(time.RFC3339, b)
	return err != nil || x.After(y)
}

// pageOfCards is how many more cards are read at a time.
const pageOfCards = 50

// readBench asks for the bench list as it is shown.
func (s State) readBench() Effect {
	return ReadBench{Archived: s.Archived, Only: s.Only, Search: s.Search, Lang: s.Lang, Most: s.More}
}

// Unbacked reports whether the browser may clear units whose latest steps are in no
// file yet: the person is then asked to take the bench away.
func (s State) Unbacked() bool {
	if s.Storage.Persisted || !s.Storage.Asked || s.Storage.Trouble != NoTrouble {
		return false
	}
	return Later(s.Count.Changed, s.Storage.Backed)
}

// deleted takes a unit that is gone off the bench and off the screen.
func deleted(s State, m Deleted) (State, []Effect) {
	label := ""
	s.Cards = slices.DeleteFunc(slices.Clone(s.Cards), func(c Card) bool {
		if c.ID == m.ID {
			label = c.Label
		}
		return c.ID == m.ID
	})
	s.Pending = maps.Clone(s.Pending)
	delete(s.Pending, m.ID)
	if s.shows(m.ID) {
		label = s.Unit.Trail.Unit.Label
		s.Unit, s.Photos = nil, Album{}
	}
	s = s.notify(NoticeDeleted, label, 0)
	effects := []Effect{DismissLater{s.Notice.Serial}, s.readBench()}
	if s.Route.Unit == m.ID {
		effects = append(effects, Rest{}, GoTo{Route{Screen: ScreenBench}.Path()})
	}
	return s, effects
}
