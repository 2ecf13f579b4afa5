// Package browser is the only code that touches the browser. What the app needs of
// it stands behind two interfaces, Storage and Device, each with a fake that runs
// natively: Memory and Still.
//
// Storage keeps a unit as a header and its events, each event a record of its own
// with a checksum, so that damage stays where it is. A record is in the storage
// when the call that stores it has returned nil, and not before: the transaction
// was committed with strict durability. Nothing is ever removed or overwritten but
// marks, settings and photographs, which are no evidence.
//
// A photograph is what a browser decoded, turned, scaled down and coded anew: no byte
// of the file it came from is kept, so nothing that the file said about place, time or
// device is. What a file claims is read before anything is decoded (MeasureImage).
//
// Calls block the goroutine that makes them; make none on the page's own goroutine.
package browser
