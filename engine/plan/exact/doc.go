// Package exact solves small decision problems over all horizons, to tell how near the planner
// comes to the best there is.
//
// # The method
//
// The problem is unrolled over the beliefs that can be reached (graph.go), each with a lower and
// an upper bound of the least expected cost. Above stands the cheapest known plan, an alpha
// vector; below, what is known at other beliefs, for the least cost is concave (hull.go: the
// sawtooth bound, with mixtures of several belief points by a linear program, simplex.go). Bellman
// backups where the bounds are apart and likely to matter bring them together.
//
// # The state
//
// A node of the graph is a belief, the setup, and all of the past that bears on what comes: the
// results of each test since a change touched it (an urn: what a repeat tells), the failures
// that repairs remember, and which repairs the last results put on offer.
//
// # Promises
//
// The answers depend on the inputs alone and are safe for concurrent use. Nothing here is linked
// by the page.
package exact
