// Package plan answers "what next?" for one unit on the bench.
//
// # The problem
//
// A [Problem] is a model under one person's terms. At any moment a test or a repair can be
// done, at the cost of the way to its setup and its own; the unit can be signed off, at the
// cost of the way back and, if a fault is left, of its coming back; or written off. The
// best plan has the least expected total. That is a partially observed Markov decision
// problem: the state is what is wrong, which setup steps and repairs change, and each test
// shows it through a noisy outcome. A repeat of a test tells less than its first run (its
// results come out of an urn), so that the record of results belongs to the state too.
//
// All costs are in the currency of the terms; minutes count at their MinuteValue.
//
// # The solvers
//
//   - [New], the shipping planner. It grows a library of plans, each of which has a known
//     cost under every hypothesis (library.go), at beliefs that sensible policies are likely
//     to reach, and for each search some more from the belief at hand on (grow.go). The least
//     cost of a plan under a belief is an upper bound of the best cost, and a close one: its
//     plans know that they will test later. On top of that it looks two steps ahead (search.go), over the likely hypotheses to choose and over
//     all hypotheses to value what it chose (planner.go).
//   - Package exact, for small models: upper and lower bounds over all horizons, brought
//     together by Bellman backups where they are apart.
//   - [NewSight], for a person who always knows what is wrong: nobody pays less than its Cost.
//
// The habits that the planner has to beat are in package sim.
//
// # Promises
//
// The same situation gives the same proposals on every machine, however the work is sliced:
// there is no clock and no chance, sums are rounded product by product, and no function
// whose last bits differ between machines decides an order. Costs that differ by less than
// rounding tie; endings then go before repairs, repairs before tests, then by id, so that a
// step that gains nothing is never proposed. A test or a repair whose tools are missing is
// never on offer, now or later in a plan.
package plan
