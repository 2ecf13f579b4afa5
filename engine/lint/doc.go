// Package lint tells the author of a model what a check of form cannot: which numbers
// are at odds with what the model is for.
//
// # Findings
//
// A Finding is one thing to look at: its kind, the ids that it is of, and what was
// found. Five functions look:
//
//   - Rows reads the tables: pairs of modes that no test tells apart, outcomes that
//     hardly ever come, rows without effect, rows that claim much and do not say why, modes
//     that no repair takes away, repairs that another one beats in every respect.
//   - Unasked reads the repairs: long ones, and those under a caution of mains or laser,
//     that ask for no result first.
//   - Weigh adds up the priors: how many faults a unit brings in, and how much of the
//     odds lies beyond most_faults.
//   - Advice plays units through a planner: tests that never changed what to do next,
//     repairs that were never worth doing.
//   - Wider holds trails against the same model with most_faults one higher.
//
// A finding is no error. An author who means it writes an Exception with the reason;
// Apply takes the findings that exceptions explain away, and shows exceptions that
// explain nothing.
//
// # Exactness
//
// The same model, terms and effort give the same findings on every machine. Rows, Unasked,
// Weigh and Wider are exact. Advice is a search: what it calls useful is useful, what it calls
// idle was idle in all that it tried.
package lint
