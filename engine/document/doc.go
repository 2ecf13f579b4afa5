// Package document reads JSON files that strangers wrote. It keeps what
// encoding/json lets go: the order of members, keys that are given twice, the place
// of every value and the digits of every number; and it goes on after a defect, so
// that a person sees all of them at once.
//
// # Grammar
//
// A Report collects what is wrong with one text. Its Read turns the text into a
// tree of Values, RFC 8259 to the letter: no comments, no byte order mark, no
// trailing commas, no lone surrogates. A Shape is the form that a value must have:
// a Record with its Fields, a Map, Items, a Text (of a Form), a Real, a Flag, Any, or a Union
// of records told apart by one field. Check holds a Value against a Shape, CheckVersion
// against what an early version of the format had of it, and Schema writes the same Shape
// as JSON Schema (draft 2020-12), so a decoder and the file that editors complete from
// cannot drift apart. What a Shape cannot say (references, sums) a decoder checks itself
// and adds to the Report. What is wrong comes out as Defects, an error that is data. A
// Writer writes files, laid out as its caller says.
//
// A stranger's text is shown by Quote, Line or Plain, and never otherwise: they agree on
// what steers a terminal or a page rather than say something (Steers).
//
// # Places
//
// A place is the way from the root to a value: tests[3].given["lens.dirty"][1].
// Keys that are plain identifiers follow a dot, all others are quoted in brackets,
// long ones are cut. A text that cannot be read on has a place of the form
// "line 3, column 14". Lines and columns count from 1, columns in characters.
//
// # Bounds
//
// Time is linear in the text but for sorting at most twice MaxDefects findings.
// Memory is at most 32 bytes a value, and values, depth and bytes are limited
// before they are read. Of a text with many parts only the outer levels may be kept
// (Limits.Keep), and each part be read alone (Value.Part). Nothing here panics on any input.
package document
