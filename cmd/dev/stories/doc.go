// Package stories holds every screen in every awkward state as a named fixture, for
// tests that walk them and for eyes. Each is reached as a person would reach it, by
// messages, with the engine's own numbers.
//
// The program in page shows the story that the address names (/?story=NAME). What would take it long it asks of who
// serves it (Serve).
package stories
