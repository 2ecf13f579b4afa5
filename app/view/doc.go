// Package view draws the page. Its components read a snapshot of the state and send
// messages; they compute no odds.
//
// A component's exported fields are its props: small, comparable, never a function
// or a pointer. A component that shows a part of the state has the prop Rev, which
// rises with every new snapshot; it reads the snapshot when it renders.
//
// go-app takes two event handlers for the same if their code and their scope are
// the same. Every handler here is made by tap, typed or toggled, which put the
// message into the scope, so that a button that is used again means what it says.
//
// The page's policy forbids inline styles and markup from strings: no Style, no Raw.
// Lengths that follow a number are attributes of SVG shapes.
package view
