package model

import (
	"errors"

	"pitwise/engine/document"
)

// ErrInvalid is what every error of Load is, by errors.Is.
var ErrInvalid = errors.New("model: not valid")

// A Defect is one thing that is wrong with a model file: its place, what was found
// there and what was wanted.
type Defect = document.Defect

// Defects are all that is wrong with a model file, in document order. Beyond the
// first document.MaxDefects, one last entry without a place says how many more.
type Defects []Defect

// Error returns one line a defect.
func (d Defects) Error() string {
	return document.Lines("model: ", d)
}

// Unwrap returns ErrInvalid.
func (d Defects) Unwrap() error { return ErrInvalid }
