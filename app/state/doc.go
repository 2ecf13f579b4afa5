// Package state holds what the page knows and how it changes: State, the messages
// that arrive, and Update, which answers each with a new State and the effects it
// asks for. It is pure: no browser, no clock, no randomness; what it needs of them
// comes in with a message.
//
// A unit is its trail. Everything else about it (the account of its odds, the
// proposals, the doubts) is worked out anew from model and trail by an effect and
// comes back as a message; Update computes no odds.
//
// A State is a snapshot: Update copies what it changes and never writes through a
// pointer of the State it was given, so that views may keep reading the old one.
package state
