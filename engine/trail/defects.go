package trail

import (
	"errors"

	"pitwise/engine/document"
)

// ErrInvalid is what every error of Load and Check is, by errors.Is.
var ErrInvalid = errors.New("trail: not valid")

// A Defect is one thing that is wrong with a trail: its place, what was found there
// and what was wanted.
type Defect = document.Defect

// Defects are all that is wrong with a trail, in the order of the file. Beyond the
// first document.MaxDefects, one last entry without a place says how many more.
type Defects []Defect

// Error returns one line a defect.
func (d Defects) Error() string {
	return document.Lines("trail: ", d)
}

// Unwrap returns ErrInvalid.
func (d Defects) Unwrap() error { return ErrInvalid }
