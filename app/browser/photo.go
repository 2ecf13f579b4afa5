package browser

import (
	"errors"
	"fmt"
	"strconv"

	"pitwise/app/state"
)

// Limits of photographs. A unit's photographs are at most PhotosMost times PhotoBytes,
// 30 MiB, so that they always fit into one file that can be read in again.
const (
	PhotoSide      = 1600      // longest side of what is kept, pixels
	SmallSide      = 320       // longest side of the small picture in a gallery, pixels
	PhotoBytes     = 768 << 10 // of one photograph as kept
	SmallBytes     = 64 << 10  // of its small picture
	PhotosMost     = state.PhotosMost
	PhotoFileBytes = 32 << 20 // of a file that is looked at
	CaptionMost    = 500      // of a caption, in letters
)

// Intake is in the place of a unit's id for the one that is being taken in.
const Intake = ""

// ErrMany says that a unit has as many photographs as it may have.
var ErrMany = errors.New("browser: the unit has no room for another photograph")

// A PhotoRecord is one photograph of a unit.
type PhotoRecord struct {
	Unit    string // or Intake
	ID      string // sorts by when it was taken
	At      string // RFC 3339
	Of      int    // the event it belongs to, 0 for the intake
	Caption string
	Width   int    // of Image, pixels
	Height  int    // of Image, pixels
	Image   string // JPEG, bare
	Small   string // JPEG, bare
	Sum     string // checksum of all the above
}

// sum is the checksum that the record should have.
func (p PhotoRecord) sum() string {
	return sum(p.Unit, p.ID, p.At, strconv.Itoa(p.Of), p.Caption, strconv.Itoa(p.Width), strconv.Itoa(p.Height), p.Image, p.Small)
}

// Sealed returns the record with its checksum.
func (p PhotoRecord) Sealed() PhotoRecord {
	p.Sum = p.sum()
	return p
}

// Intact reports whether the record is as it was written.
func (p PhotoRecord) Intact() bool { return p.Sum == p.sum() }

// Photographs is the part of a Storage that keeps the photographs of units. They are no
// evidence: a person may name them anew and remove them.
type Photographs interface {
	// PhotoIDs returns the ids of a unit's photographs, in order.
	PhotoIDs(unit string) ([]string, error)
	// Photo returns one photograph, damaged or not, or ErrGone.
	Photo(unit, id string) (PhotoRecord, error)
	// AddPhoto stores a photograph of a unit that is here, or of Intake, in one transaction. The
	// errors are ErrGone without the unit, ErrExists, ErrMany and those of storing.
	AddPhoto(PhotoRecord) error
	// ChangePhoto stores a photograph in place of the one with its id, or ErrGone.
	ChangePhoto(PhotoRecord) error
	// RemovePhoto removes a photograph for good. None with the id is no error.
	RemovePhoto(unit, id string) error
}

// A Picture is a photograph as the browser has decoded, turned, scaled down and coded
// it anew. Nothing but the pixels has come through.
type Picture struct {
	Width, Height int
	Image, Small  string // JPEG
}

// A Chosen is a file that a person chose, or has just taken with the camera.
type Chosen struct {
	Name string
	Size int // bytes
	Read func() ([]byte, error)
}

// Camera is the part of a Device that makes and shows photographs.
type Camera interface {
	// Chosen returns the files in the page's file field with the id, and empties it.
	Chosen(field string) []Chosen
	// Shrink makes a photograph of a file's bytes, whose longest side is at most
	// PhotoSide. The errors are those of MeasureImage; ErrCut also says that the
	// browser cannot decode it.
	Shrink(file []byte) (Picture, error)
	// Address returns an address under which the page can show a JPEG until Forget.
	Address(jpeg string) string
	Forget(address string)
}

// The ids of the page's fields for photographs: the camera, files, and the camera beside a step.
const (
	CameraField = "photo-camera"
	PhotoField  = "photo-files"
	StepField   = "photo-step"
)

// fits checks a picture that comes out of Shrink against the limits.
func (p Picture) fits() error {
	if len(p.Image) > PhotoBytes || len(p.Small) > SmallBytes {
		return fmt.Errorf("%w: %d and %d bytes", ErrPixels, len(p.Image), len(p.Small))
	}
	return nil
}

// scaled returns width and height so that the longest side is at most side.
func scaled(width, height, side int) (int, int) {
	longest := max(width, height)
	if longest <= side {
		return width, height
	}
	return max(1, (width*side+longest/2)/longest), max(1, (height*side+longest/2)/longest)
}
