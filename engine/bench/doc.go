// Package bench is the front door of the engine: one unit on the bench, its trail under
// its model, and every question that a program has of it, answered once, as data.
// Sentences are made of these answers elsewhere.
//
// # From two files to a proposal
//
// A model file and a trail file go in ([model.Load], [trail.Load]); [belief.NewSpace] makes the model
// ready to hold odds. [Open] puts the trail on the bench, [Unit.Planner] and [Unit.Advise] work out what
// to do next; the examples show the whole way. A page that must stay awake does it in pieces:
//
//	u, err := bench.Open(space, t)       // the account: the odds after each event
//	p, err := u.Planner(space)           // one for each model and terms; it grows once
//	search := u.Advise(p)
//	for !search.Work(4) { … }            // some milliseconds at a time
//	err = u.LookBack(space, nil)         // what was wrong when it came in, and which result sits badly
//
// A [Unit] is made of what there is. With its model and its trail alone it says how the unit
// stands, what a step asks for, which way leads to it, what is dangerous while it is done, what is not on
// offer and why, what was spent and how it ended; worked out by Open it also holds the odds, and what rests on
// them: [Unit.Reasons], [Unit.Doubtful], [Unit.Supported], [Unit.Wants].
//
// # Dangers
//
// Before a step everything is told that is dangerous while it is done: the cautions of every
// setup that the unit stands in or passes, with all the setups around it, those of each piece of the way, and
// those of the step itself. Each is told once, in the order in which the model lists its
// cautions, which is the most severe first. It does not matter how the unit came to stand
// where it stands: a trail may have begun on another bench.
//
// # Units and exactness
//
// Minutes are minutes, money is in the currency of the unit's terms (the model's times [trail.Terms.Rate]),
// probabilities lie in [0, 1], modes, tests, repairs and setups are indices in the model's slices.
// Nothing here is rounded.
package bench
