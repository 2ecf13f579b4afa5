package browser

import "errors"

// ErrNoCamera says that there is no camera for the page, or that it is refused.
var ErrNoCamera = errors.New("browser: no camera")

// CodeReader is the part of a Device that reads QR codes.
type CodeReader interface {
	// ReadsCodes reports whether the browser reads them.
	ReadsCodes() bool
	// CodesIn returns the texts of the codes in the picture of a file, none if it has none. The error is
	// that of a file that is no picture.
	CodesIn(file []byte) ([]string, error)
	// Look shows what the camera sees in the page's element with the id CodeView, and calls found with the
	// texts of the codes in each picture, none in most, until it returns false. The error is ErrNoCamera.
	Look(found func(texts []string) bool) error
}

// The ids of the page's elements for codes: what the camera sees, and the field for pictures.
const (
	CodeView  = "code-view"
	CodeField = "code-files"
)
