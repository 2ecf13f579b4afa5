package model

import (
	"iter"
	"slices"
)

// A Change is what a repair or a setup step does to the faults: first each mode in
// Fixes leaves, independently, with its probability; then each mode in Risks whose
// component is sound by then enters with its probability. Both are in mode order.
type Change struct {
	Fixes []Chance
	Risks []Chance // at most one mode of a component
}

// A Chance is a mode and the probability, 0 to 1, that a change moves it.
type Chance struct {
	Mode int // index in Model.Modes
	P    float64
}

// A Transition is one elementary part of a change, in which a share P of what it can befall
// moves: units with its mode lose it, or, where it enters, units in which its component is sound get it.
type Transition struct {
	Chance
	Enters bool
}

// Transitions returns the parts of a change in the order in which they happen.
func (c Change) Transitions() iter.Seq[Transition] {
	return func(yield func(Transition) bool) {
		for _, f := range c.Fixes {
			if !yield(Transition{f, false}) {
				return
			}
		}
		for _, r := range c.Risks {
			if !yield(Transition{r, true}) {
				return
			}
		}
	}
}

// Backwards returns the parts of a change from the last to the first, as they are undone to
// tell of what comes after it before it.
func (c Change) Backwards() iter.Seq[Transition] {
	return func(yield func(Transition) bool) {
		for _, r := range slices.Backward(c.Risks) {
			if !yield(Transition{r, true}) {
				return
			}
		}
		for _, f := range slices.Backward(c.Fixes) {
			if !yield(Transition{f, false}) {
				return
			}
		}
	}
}

// Nothing reports whether a change leaves every fault as it is.
func (c Change) Nothing() bool { return len(c.Fixes)+len(c.Risks) == 0 }
