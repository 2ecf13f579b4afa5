// Package mutate spoils JSON documents for tests: it changes values, kinds, names and
// numbers of entries at random places, so that what comes out is still JSON and mostly
// still what it was. It spoils plain texts as well, letter by letter.
package mutate
