// Package moving has what the tests of moving a unit share: units such as evenings write them, and what a
// hand-held camera sees of their codes, as pictures and as films that a browser takes for its camera.
//
// All of it is the same at each call.
package moving
