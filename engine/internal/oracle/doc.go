// Package oracle is a second, independent reading of the file formats and of the
// mathematics that gives them meaning: slow, plain, and for tests only. It shares no
// code with the engine and reads the files itself.
//
// Everything is done the long way round: every hypothesis is listed, every subset of
// fixes and risks is tried, log-gamma is a rising factorial, and the origin comes from
// the joint probability of where a unit began and where it is now. Numbers of a file
// are taken as the float64 nearest to them; from there on arithmetic has 320 bits,
// so that the answers are right to the last bit or two of a float64.
//
// What it does not do: it does not look for defects in its input.
package oracle
