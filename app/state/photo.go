package state

import (
	"slices"
	"strings"

	"pitwise/engine/trail"
)

// An Album is the photographs of one unit: of the unit on the screen, or of the one
// that is being taken in.
type Album struct {
	Unit    string  // whose; "" of the one being taken in
	Photos  []Photo // in the order they were taken
	Busy    int     // how many times files are still being looked at
	Refused []Refusal

	Shown   string // id of the photograph that is shown large, "" if none
	Large   string // its address, "" until it comes
	Caption string // what is typed as its caption
	Asked   bool   // whether to remove it was asked
}

// A Photo is one photograph as the page shows it.
type Photo struct {
	ID      string
	At      string // RFC 3339
	Of      int    // the event it belongs to, 0 for the intake
	Step    int    // the number of the step that is, or comes before it; 0 for the intake
	Caption string
	Width   int    // pixels
	Height  int    // pixels
	Small   string // address of its small picture
	Large   string // address of the whole, where all are shown so
	Unsaved bool   // only in memory
	Damaged bool   // its record cannot be read
}

// A Refusal is a file that did not become a photograph, or one that was not stored.
type Refusal struct {
	Name string
	Why  PhotoTrouble
}

// PhotoTrouble says why; the words for it are the views'.
type PhotoTrouble string

const (
	PhotoFormat PhotoTrouble = "format" // no picture of a known format
	PhotoCut    PhotoTrouble = "cut"    // cut short or damaged
	PhotoPixels PhotoTrouble = "pixels" // too many pixels
	PhotoLong   PhotoTrouble = "long"   // too large a file
	PhotoMany   PhotoTrouble = "many"   // the unit has as many as it may have
	PhotoFull   PhotoTrouble = "full"   // the storage is full
	PhotoOther  PhotoTrouble = "other"  // the storage or the browser refused otherwise
)

// The messages about photographs.
type (
	TakePhotos struct { // what is in this field of the page
		Field string
		Step  string // the title of the step at hand that they are of; "" if they are of what was done last
	}
	PhotosRead struct {
		Unit   string
		Photos []Photo
	}
	PhotoTaken struct {
		Unit  string
		Photo Photo
	}
	PhotosTaken struct { // the files of one TakePhotos are done with
		Unit    string
		Refused []Refusal
	}
	PhotoRefused struct { // one that was here could not be stored, named or removed
		Unit    string
		Refusal Refusal
	}
	ShowPhoto   struct{ ID string } // large; again: small
	PhotoShown  struct{ Unit, ID, Address string }
	SetCaption  struct{ Text string }
	KeepCaption struct{}
	AskRemove   struct{ On bool }
	RemovePhoto struct{}
	PhotoGone   struct{ Unit, ID string }
	// StorePhotos stores what is only in memory.
	StorePhotos struct{}
	// PhotosElsewhere: another window changed a unit's photographs.
	PhotosElsewhere struct{ ID string }
	// WithPhotos sets whether photographs go into what is taken away.
	WithPhotos struct{ On bool }
)

// The effects about photographs. A unit "" is the one being taken in.
type (
	// KeepPhotos takes the files out of a field of the page and stores what becomes of
	// them; answered by PhotoTaken for each, then PhotosTaken.
	KeepPhotos struct {
		Unit, Field string
		Of          int // the event they belong to
		Room        int // how many more the unit may have
		Caption     string
	}
	// ReadPhotos reads a unit's photographs; answered by PhotosRead. Full asks for the
	// addresses of the whole pictures too.
	ReadPhotos struct {
		Unit string
		Full bool
	}
	// OpenPhoto shows one large; answered by PhotoShown.
	OpenPhoto struct{ Unit, ID string }
	// ForgetPhotos lets go of the addresses of a unit's photographs; nothing shows them.
	ForgetPhotos struct{}
	// ClosePhoto lets go of the large one.
	ClosePhoto struct{}
	// RenamePhoto stores another caption, or another event, of a photograph; answered
	// by PhotoTaken.
	RenamePhoto struct {
		Unit, ID, Caption string
		Of                int
	}
	// DropPhoto removes one for good; answered by PhotoGone.
	DropPhoto struct{ Unit, ID string }
	// KeepUnsaved stores what is only in memory; answered by PhotoTaken for each that
	// was stored and PhotoRefused for each that was not.
	KeepUnsaved struct{ Unit string }
)

// PhotosMost is how many photographs a unit may have.
const PhotosMost = 40

// Album returns the photographs that the screen is about, nil if it is about none.
func (s State) Album() *Album {
	switch {
	case s.Route.Screen == ScreenIntake:
		return &s.Intake
	case s.Unit != nil && s.Photos.Unit == s.Unit.Trail.ID:
		return &s.Photos
	}
	return nil
}

// put stores an album back where it belongs.
func (s State) put(a Album) State {
	if s.shows(a.Unit) {
		a.Photos = slices.Clone(a.Photos)
		for i := range a.Photos {
			a.Photos[i].Step = s.Unit.StepAt(a.Photos[i].Of)
		}
	}
	if a.Unit == "" {
		s.Intake = a
	} else {
		s.Photos = a
	}
	return s
}

// albumOf returns the album of a unit, if it is one of the two that are held.
func (s State) albumOf(unit string) (Album, bool) {
	switch {
	case unit == "":
		return s.Intake, true
	case s.Photos.Unit == unit:
		return s.Photos, true
	}
	return Album{}, false
}

// find returns the place of a photograph, -1 if it is not there.
func (a Album) find(id string) int {
	return slices.IndexFunc(a.Photos, func(p Photo) bool { return p.ID == id })
}

// Photo returns the photograph with the id, the zero Photo if there is none.
func (a Album) Photo(id string) Photo {
	if i := a.find(id); i >= 0 {
		return a.Photos[i]
	}
	return Photo{}
}

// with returns the album with a photograph in place of the one with its id, or as a
// new one in order.
func (a Album) with(p Photo) Album {
	a.Photos = slices.Clone(a.Photos)
	if i := a.find(p.ID); i >= 0 {
		a.Photos[i] = p
		return a
	}
	i, _ := slices.BinarySearchFunc(a.Photos, p.ID, func(q Photo, id string) int { return strings.Compare(q.ID, id) })
	a.Photos = slices.Insert(a.Photos, i, p)
	return a
}

// closed returns the album with nothing shown large.
func (a Album) closed() Album {
	a.Shown, a.Large, a.Caption, a.Asked = "", "", "", false
	return a
}

// Unsaved returns how many photographs are only in memory.
func (a Album) Unsaved() int {
	n := 0
	for _, p := range a.Photos {
		if p.Unsaved {
			n++
		}
	}
	return n
}

// photo answers the messages about photographs.
func photo(s State, m Msg) (State, []Effect) {
	switch m := m.(type) {
	case WithPhotos:
		s.WithPhotos = m.On
		return s, nil
	case PhotosElsewhere:
		if s.Photos.Unit == m.ID {
			return s, []Effect{readPhotos(s, m.ID)}
		}
		return s, nil
	case PhotosRead:
		a, ok := s.albumOf(m.Unit)
		if !ok {
			return s, nil
		}
		a.Photos = m.Photos
		if a.find(a.Shown) < 0 {
			a = a.closed()
		}
		return s.put(a), nil
	case PhotoTaken:
		if a, ok := s.albumOf(m.Unit); ok {
			return s.put(a.with(m.Photo)), nil
		}
		return s, nil
	case PhotosTaken:
		if a, ok := s.albumOf(m.Unit); ok {
			a.Busy = max(0, a.Busy-1)
			a.Refused = append(slices.Clip(a.Refused), m.Refused...)
			return s.put(a).tookOnStep()
		}
		return s, nil
	case PhotoRefused:
		if a, ok := s.albumOf(m.Unit); ok {
			a.Refused = append(slices.Clip(a.Refused), m.Refusal)
			return s.put(a), nil
		}
		return s, nil
	case PhotoShown:
		if a, ok := s.albumOf(m.Unit); ok && a.Shown == m.ID {
			a.Large = m.Address
			return s.put(a), nil
		}
		return s, nil
	case PhotoGone:
		a, ok := s.albumOf(m.Unit)
		if !ok {
			return s, nil
		}
		a.Photos = slices.DeleteFunc(slices.Clone(a.Photos), func(p Photo) bool { return p.ID == m.ID })
		if a.Shown == m.ID {
			a = a.closed()
		}
		return s.put(a), nil
	}
	at := s.Album()
	if at == nil {
		return s, nil
	}
	a := *at
	i := a.find(a.Shown)
	switch m := m.(type) {
	case TakePhotos:
		a.Busy++
		a.Refused = nil
		return s.put(a), []Effect{KeepPhotos{Unit: a.Unit, Field: m.Field, Of: s.eventAtHand(m.Step != ""), Room: max(0, PhotosMost-len(a.Photos)), Caption: m.Step}}
	case ShowPhoto:
		next := a.find(m.ID)
		again := m.ID == a.Shown
		a = a.closed()
		if next < 0 || again {
			return s.put(a), []Effect{ClosePhoto{}}
		}
		a.Shown, a.Caption = m.ID, a.Photos[next].Caption
		if a.Photos[next].Damaged {
			return s.put(a), []Effect{ClosePhoto{}}
		}
		return s.put(a), []Effect{OpenPhoto{Unit: a.Unit, ID: m.ID}}
	case SetCaption:
		a.Caption = m.Text
		return s.put(a), nil
	case KeepCaption:
		if i < 0 {
			return s, nil
		}
		p := a.Photos[i]
		caption := strings.TrimSpace(a.Caption)
		return s.put(a.closed()), []Effect{ClosePhoto{}, RenamePhoto{Unit: a.Unit, ID: p.ID, Caption: caption, Of: p.Of}}
	case AskRemove:
		a.Asked = m.On
		return s.put(a), nil
	case RemovePhoto:
		if i < 0 || !a.Asked {
			return s, nil
		}
		return s, []Effect{ClosePhoto{}, DropPhoto{Unit: a.Unit, ID: a.Shown}}
	case StorePhotos:
		a.Refused = nil
		return s.put(a), []Effect{KeepUnsaved{Unit: a.Unit}}
	}
	return s, nil
}

// tookOnStep says what became of photographs where their gallery is out of sight.
func (s State) tookOnStep() (State, []Effect) {
	if s.Unit == nil || s.Route.Screen != ScreenUnit || s.Route.Pane != PaneStep || s.Unit.Sheet != NoSheet || s.Photos.Busy > 0 {
		return s, nil
	}
	s = s.notify(NoticeTook, "", 0)
	s.Notice.Refused = len(s.Photos.Refused)
	return s, []Effect{DismissLater{s.Notice.Serial}}
}

// eventAtHand is the event that a photograph taken now belongs to: the last one, or
// the note that is being written, or what the step at hand will be recorded as.
func (s State) eventAtHand(step bool) int {
	if s.Route.Screen == ScreenIntake || s.Unit == nil {
		return 0
	}
	n := len(s.Unit.Trail.Events)
	if step || s.Unit.Sheet == SheetNote {
		n++
	}
	return n
}

// readPhotos asks for the photographs of the unit on the screen.
func readPhotos(s State, unit string) Effect {
	return ReadPhotos{Unit: unit, Full: s.Route.Screen == ScreenReport}
}

// album holds the album of the unit on the screen and asks for its photographs, unless
// they are here in the size that the screen shows.
func album(s State) (State, []Effect) {
	id := s.Unit.Trail.ID
	if s.Photos.Unit == id && s.Route.Screen != ScreenReport {
		return s, nil
	}
	if s.Photos.Unit != id {
		s.Photos = Album{Unit: id}
	}
	return s, []Effect{readPhotos(s, id)}
}

// albumAway lets go of the album of a unit that is not on the screen any more.
func albumAway(s State) (State, []Effect) {
	if s.Photos.Unit == "" || s.Route.Unit == s.Photos.Unit {
		return s, nil
	}
	s.Photos = Album{}
	return s, []Effect{ForgetPhotos{}}
}

// albumUnsaved makes what was taken at the intake the album of the unit on the screen,
// which is in memory only.
func albumUnsaved(s State) State {
	a := s.Intake.closed()
	a.Unit, a.Photos, a.Refused = s.Unit.Trail.ID, slices.Clone(a.Photos), nil
	for i := range a.Photos {
		a.Photos[i].Unsaved = true
	}
	s.Photos, s.Intake = a, Album{}
	return s
}

// noteLeft puts the photographs that were taken for a note that was not written to the
// event before it.
func noteLeft(s State, t *trail.Trail) (effects []Effect) {
	for _, p := range s.Photos.Photos {
		if s.Photos.Unit == t.ID && p.Of == len(t.Events)+1 && !p.Damaged {
			effects = append(effects, RenamePhoto{Unit: t.ID, ID: p.ID, Caption: p.Caption, Of: len(t.Events)})
		}
	}
	return effects
}
