// Package sim plays units through policies: a unit is drawn from a model as the decision
// problem says, a policy chooses steps until it signs off or writes off, and the costs are
// added up.
//
// Chance is a pure function of a seed, a unit's number and what is drawn, so that a unit
// shows the same under every policy as far as the policies do the same (common random
// numbers), and the answer does not depend on how many cores play.
//
// # Oddities
//
// Every run counts what a repairer would shake his head at (Odd).
//
// # Trails
//
// Games hands over the events of each unit, as a person would have recorded them: what the owner
// told, the intake test, every way, result and repair, and the end. A unit that was signed off
// sound has what was wrong with it as its causes; after a sign-off with a fault in come the
// starts that its owner sees until it fails.
package sim
