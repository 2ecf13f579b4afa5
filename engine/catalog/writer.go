package catalog

import "pitwise/engine/document"

// A writer writes JSON, an object or list a line deep down to flat ones, which stay
// on one line. The same calls give the same bytes.
type writer struct {
	text  []byte
	depth int
	flat  int  // above 0: everything on one line
	first bool // nothing yet in the innermost list or object
}

func (w *writer) open(bracket byte) {
	w.text = append(w.text, bracket)
	w.depth++
	w.first = true
}

func (w *writer) close(bracket byte) {
	w.depth--
	if !w.first {
		w.line()
	}
	w.text = append(w.text, bracket)
	w.first = false
}

// item begins the next entry of a list.
func (w *writer) item() {
	if !w.first {
		w.text = append(w.text, ',')
		if w.flat > 0 {
			w.text = append(w.text, ' ')
		}
	}
	w.first = false
	w.line()
}

func (w *writer) key(name string) {
	w.item()
	w.string(name)
	w.text = append(w.text, ':', ' ')
}

func (w *writer) string(s string) { w.text = document.AppendString(w.text, s) }

func (w *writer) raw(s string) { w.text = append(w.text, s...) }

func (w *writer) line() {
	if w.flat > 0 {
		return
	}
	w.text = append(w.text, '\n')
	for range w.depth {
		w.text = append(w.text, ' ')
	}
}
