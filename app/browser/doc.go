// Package browser is the only code that touches the browser. What the app needs of
// it stands behind two interfaces, Storage and Device, each with a fake that runs
// natively: Memory and Still.
//
// Storage keeps a unit as a header and its events, each event a record of its own
// with a checksum, so that damage stays where it is. A record is in the storage
// when the call that stores it has returned nil, and not before: the transaction
// was committed with strict durability. Nothing is ever removed or overwritten but
// marks and settings, which are no evidence.
//
// Calls block the goroutine that makes them; make none on the page's own goroutine.
package browser
