package trail

import (
	"errors"

	"pitwise/engine/document"
)

// ErrInvalid is what every error of Load and Check is, by errors.Is.
var ErrInvalid = errors.New("trail: not valid")

// Defect and Defects are what is wrong with a trail.
type (
	Defect  = document.Defect
	Defects = document.Defects
)
