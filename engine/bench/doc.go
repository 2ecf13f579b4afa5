// Package bench is the front door of the engine: one unit on the bench, its trail under
// its model, and every question that a program has of it, answered once, as data.
//
// A [Unit] is made of what there is. With its model and its trail alone it says how the unit
// stands, what a step asks for, which way leads to it and what is dangerous while it is
// done; worked out by [Open] it also holds the odds. Sentences are made of these answers
// elsewhere.
//
// # Dangers
//
// Before a step everything is told that is dangerous while it is done: the cautions of every
// setup that the unit stands in or passes, with all the setups around it, those of each piece of the way, and
// those of the step itself. Each is told once, in the order in which the model lists its
// cautions, which is the most severe first. It does not matter how the unit came to stand
// where it stands: a trail may have begun on another bench.
package bench
