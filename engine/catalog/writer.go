package catalog

import "pitwise/engine/document"

// A writer writes JSON, an object or list a line deep down to flat ones, which stay
// on one line. The same calls give the same bytes.
type writer struct {
	document.Writer
	flat int // above 0: everything on one line
}

func newWriter() writer { return writer{Writer: document.Writer{Indent: " "}} }

func (w *writer) open(bracket byte) {
	if bracket == '{' {
		w.Object(w.flat == 0)
	} else {
		w.List(w.flat == 0)
	}
}
