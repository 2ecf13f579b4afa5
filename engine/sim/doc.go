// Package sim plays units through policies: a unit is drawn from a model as the decision
// problem says, a policy chooses steps until it signs off or writes off, and the costs are
// added up.
//
// Chance is a pure function of a seed, a unit's number and what is drawn, so that a unit
// shows the same under every policy as far as the policies do the same (common random
// numbers), and the answer does not depend on how many cores play.
package sim
