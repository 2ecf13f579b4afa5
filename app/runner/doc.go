// Package runner carries out the effects that state.Update asks for: it talks to
// storage, device and engine and answers with messages. It is the one place where
// the app waits for anything.
//
// What touches the storage happens one after another, in the order asked. Working
// a unit out goes on beside it and gives way to the page after every slice; a newer
// request ends an older one.
package runner
