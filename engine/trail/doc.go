// Package trail holds what was done to one unit, and works out what it means.
//
// # Grammar
//
// A Trail is a list of Events under the Terms of one person for one Unit. Nothing is
// ever removed: a void event makes an earlier one as if never recorded, and a void of
// that void brings it back (Live). Load reads a trail file and reports every defect
// of its form; Check holds the trail against a model (ids, outcomes, readings);
// Encode writes the file, from which Load reads the same trail to the last bit, as the first
// version of the format that can hold it. Standing and Waiting say under which terms the
// unit stands and what it waits for.
//
// Replay works out the belief after each event. What the owner told acts first, wherever in
// the trail it was recorded; a repair that remembers its failures is less and less likely to
// help against a fault that it has left. Origin is what was wrong when the
// unit came in, given everything recorded since; Doubts says how probable each result
// is given all the others.
//
// # Units
//
// Minutes, the currency of the Terms, and readings in the unit of their test. Odds
// are probabilities, evidence is in natural logs, weights of evidence are in
// decibans.
//
// # Bounds
//
// A file has at most 16 MiB, which carries the largest model's text with every
// character escaped. Loading, checking and encoding take time linear in the file.
// A Trail may be read by many goroutines at once, and changed by one alone.
package trail
