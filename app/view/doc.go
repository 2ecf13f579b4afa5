// Package view draws the page: plain functions of what they draw, and Page, the one component
// that has a life. They send messages and compute no odds. What is to be drawn comes as
// arguments; a pen holds what it is drawn with: the language, the zone, where messages go.
//
// What records is marked by act, and browser.Guard lets no tap on it count that came before
// it could be seen.
//
// go-app takes two event handlers for the same if their code and their scope are
// the same. Every handler here is made by tap, typed or toggled, which put the
// message into the scope, so that a button that is used again means what it says.
//
// The page's policy forbids inline styles and markup from strings: no Style, no Raw.
// Lengths that follow a number are attributes of SVG shapes.
package view
