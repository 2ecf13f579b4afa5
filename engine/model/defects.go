package model

import (
	"errors"

	"pitwise/engine/document"
)

// ErrInvalid is what every error of Load is, by errors.Is.
var ErrInvalid = errors.New("model: not valid")

// Defect and Defects are what is wrong with a model.
type (
	Defect  = document.Defect
	Defects = document.Defects
)
