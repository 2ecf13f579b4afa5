// Package belief holds the odds over everything that can be wrong with one unit, and
// moves them with each result, repair and setup step.
//
// # Grammar
//
// A hypothesis S gives each component of a model sound or one of its modes; |S| counts
// the components that are not sound. A [Space] lists every S with |S| up to the
// model's MostFaults, the empty one (all sound) first, then by size, then in model
// order. It also knows the outcome law of every test (law.go). A Space is built once for
// a model, never changes, and is safe for concurrent use.
//
// A [Belief] is a probability for each hypothesis of a Space, what each test has shown
// since it was last touched (urn.go), the log of the probability of all the evidence, and
// the mass that was cut for having too many faults. [Belief.Observe] takes a result,
// [Belief.Apply] a change. A Belief is not safe for concurrent use; a [Belief.Clone] goes its
// own way and takes 12 bytes a hypothesis.
//
// A result is a weight for each outcome of its test: 1 for the outcome that was named, or,
// for a reading, the normal mass that the meter's uncertainty leaves on each outcome's
// interval ([Weights]).
//
// # Exactness
//
// Probabilities are relative: 1e-9 is as good as 0.5. Outcome probabilities are sums of
// positive terms, never differences of numbers near 1 (law.go); normal tails are
// integrated from their own side (normal.go); masses carry an exponent of their own, so
// that forty results against a hypothesis and forty for it leave it where it was
// (mass.go). Every product that is added is rounded first, and no function whose last bits
// differ between machines takes part, so that two machines hold the same belief bit for
// bit. Only the logarithms (evidence, decibans) are the machine's own.
//
// Evidence that no kept hypothesis allows is [ErrImpossible], never a NaN and never a
// quiet return to the prior.
package belief
