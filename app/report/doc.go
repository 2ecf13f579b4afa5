// Package report makes what a unit leaves behind for people: a readable report and
// a list of steps. Both are pure functions of model, trail, account and language.
//
// Whatever a person typed or a model carries is text: in Markdown every sign that
// has a meaning there is escaped, in CSV a field that a spreadsheet would run as a
// formula gets an apostrophe in front, and control and direction signs are dropped.
package report
