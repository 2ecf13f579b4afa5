package state

import "pitwise/engine/trail"

// A Code is one QR code.
type Code struct {
	Side int    // modules a side
	Dark []bool // row by row
}

// Codes are those of a unit while SheetCodes shows them, one at a time.
type Codes struct {
	List    []Code // nil until they are made
	Large   bool   // the unit is too long for codes
	At      int    // in List
	Turning bool   // the next one comes by itself
	Turn    int    // of the latest Turning: an older one has ended
}

// A Reader is what has been read of a unit's codes.
type Reader struct {
	Camera  bool  // it looks
	Of      int   // how many codes there are; 0 before the first was read
	Missing []int // their numbers, from 1
	Said    ReaderSaid
	Name    string // of the picture that Said is about; "" for the camera
}

// ReaderSaid is what there is to say of what was seen last.
type ReaderSaid string

const (
	ReaderNothing ReaderSaid = ""
	ReaderBlind   ReaderSaid = "blind"   // there is no camera, or the person or the system refuses it
	ReaderEmpty   ReaderSaid = "empty"   // no code in a picture
	ReaderForeign ReaderSaid = "foreign" // a code of something else
	ReaderDamaged ReaderSaid = "damaged" // a code that was read wrongly
	ReaderOther   ReaderSaid = "other"   // a code of another unit than those before
)

// Showing and reading codes.
type (
	// CodesMade are the codes of a unit; none if it is too long for them.
	CodesMade struct {
		ID    string
		Codes []Code
	}
	TurnCode   struct{ To int } // a person asks for this one
	PlayCodes  struct{ On bool }
	CodeTurned struct{ Turn int }

	LookForCodes struct{} // with the camera
	StopLooking  struct{}
	PickCodes    struct{} // in photographs that were chosen
	CodesAnew    struct{} // forget what was read
	// CodesSeen says how far the reading is.
	CodesSeen struct {
		Of      int
		Missing []int
		Said    ReaderSaid
		Name    string
	}
)

// Effects of codes.
type (
	// MakeCodes is answered by CodesMade.
	MakeCodes struct{ Trail *trail.Trail }
	// TurnLater answers with CodeTurned after a while.
	TurnLater struct{ Turn int }
	// WatchCodes looks for codes by the camera until StopCodes, or until all are read: then the unit
	// is taken in, and answered by Imported or ImportFailed. It says CodesSeen now and then.
	WatchCodes struct{}
	StopCodes  struct{}
	// ReadCodes looks for codes in the pictures that the person chose; answered as WatchCodes is.
	ReadCodes struct{}
	// ForgetCodes forgets the codes that were read.
	ForgetCodes struct{}
)

// codes answers what concerns codes.
func codes(s State, m Msg) (State, []Effect) {
	switch m := m.(type) {
	case LookForCodes:
		s.Reader.Camera, s.Reader.Said = true, ReaderNothing
		return s, []Effect{WatchCodes{}}
	case StopLooking:
		return lookAway(s)
	case PickCodes:
		s.Reader.Said = ReaderNothing
		return s, []Effect{ReadCodes{}}
	case CodesAnew:
		s, effects := lookAway(s)
		s.Reader = Reader{}
		return s, append(effects, ForgetCodes{})
	case CodesSeen:
		s.Reader.Of, s.Reader.Missing, s.Reader.Said, s.Reader.Name = m.Of, m.Missing, m.Said, m.Name
		if m.Said == ReaderBlind {
			s.Reader.Camera = false
		}
	}
	return s, nil
}

// lookAway ends the camera's looking; what was read is kept.
func lookAway(s State) (State, []Effect) {
	if !s.Reader.Camera {
		return s, nil
	}
	s.Reader.Camera, s.Reader.Said = false, ReaderNothing
	return s, []Effect{StopCodes{}}
}

// showCodes answers what concerns the codes of the unit on the screen.
func showCodes(s State, m Msg) (State, []Effect) {
	u := *s.Unit
	c := &u.Codes
	var effects []Effect
	switch m := m.(type) {
	case CodesMade:
		if m.ID == u.Trail.ID && u.Sheet == SheetCodes {
			c.List, c.Large, c.At = m.Codes, len(m.Codes) == 0, 0
		}
	case TurnCode:
		if m.To >= 0 && m.To < len(c.List) {
			c.At, c.Turning = m.To, false
			c.Turn++
		}
	case PlayCodes:
		c.Turn++
		if c.Turning = m.On && len(c.List) > 1; c.Turning {
			effects = []Effect{TurnLater{c.Turn}}
		}
	case CodeTurned:
		if c.Turning && m.Turn == c.Turn {
			c.At = (c.At + 1) % len(c.List)
			effects = []Effect{TurnLater{c.Turn}}
		}
	}
	s.Unit = &u
	return s, effects
}
