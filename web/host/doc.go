// Package host serves a folder that package site has written, to this machine
// first of all.
//
// Everything is read once, through os.Root and without following links, and
// served from memory: no request ever names a path of the file system. Requests
// for other hosts are refused, so that no foreign page can reach this one by a
// name of its own (DNS rebinding).
package host
