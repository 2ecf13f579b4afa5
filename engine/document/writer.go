package document

import (
	"math"
	"strconv"
)

// A Writer writes JSON, laid out as its caller says: a block has an entry a line, anything
// else stands on one line, and so does a block inside it. The same calls give the same
// bytes. The zero Writer is ready for use.
type Writer struct {
	Indent string // of each level of blocks
	Tight  bool   // no spaces between

	b      []byte
	open   []level
	keyed  bool // a key waits for its value
	breaks int  // of the next entry: 1 begins a line, -1 stays on it, 0 as is usual
}

// A level is an object or a list that is not at its end.
type level struct {
	end     byte
	block   bool
	entries int
}

// Bytes returns what was written so far. It may be changed in place.
func (w *Writer) Bytes() []byte { return w.b }

// Object begins an object, List a list; End ends what was begun last.
func (w *Writer) Object(block bool) *Writer { return w.begin('{', '}', block) }

// List begins a list.
func (w *Writer) List(block bool) *Writer { return w.begin('[', ']', block) }

func (w *Writer) begin(first, end byte, block bool) *Writer {
	w.entry()
	if n := len(w.open); n > 0 && !w.open[n-1].block {
		block = false
	}
	w.b = append(w.b, first)
	w.open = append(w.open, level{end: end, block: block})
	return w
}

// End ends the object or list that was begun last.
func (w *Writer) End() *Writer {
	n := len(w.open) - 1
	l := w.open[n]
	w.open = w.open[:n]
	if l.block && l.entries > 0 {
		w.line()
	}
	w.b = append(w.b, l.end)
	return w
}

// Join keeps the next entry of a block on the line of the one before.
func (w *Writer) Join() *Writer {
	w.breaks = -1
	return w
}

// Break begins a line with the next entry, where that is not usual.
func (w *Writer) Break() *Writer {
	w.breaks = 1
	return w
}

// Key writes the key of the next value of an object.
func (w *Writer) Key(name string) *Writer {
	w.entry()
	w.b = AppendString(w.b, name)
	w.b = append(w.b, ':')
	if !w.Tight {
		w.b = append(w.b, ' ')
	}
	w.keyed = true
	return w
}

// entry begins an entry of a list, or the key of one of an object.
func (w *Writer) entry() {
	n := len(w.open)
	if w.keyed || n == 0 {
		w.keyed = false
		return
	}
	l := &w.open[n-1]
	if l.entries > 0 {
		w.b = append(w.b, ',')
	}
	switch {
	case w.breaks > 0 || w.breaks == 0 && l.block:
		w.line()
	case l.entries > 0 && !w.Tight:
		w.b = append(w.b, ' ')
	}
	l.entries++
	w.breaks = 0
}

// line begins a line as deep as the levels that are open.
func (w *Writer) line() {
	w.b = append(w.b, '\n')
	for range w.open {
		w.b = append(w.b, w.Indent...)
	}
}

// String writes a string, as AppendString does.
func (w *Writer) String(s string) *Writer {
	w.entry()
	w.b = AppendString(w.b, s)
	return w
}

// Int writes a whole number.
func (w *Writer) Int(i int) *Writer {
	w.entry()
	w.b = strconv.AppendInt(w.b, int64(i), 10)
	return w
}

// Number writes a number so that it reads back to the same float64, null for one that is
// not finite.
func (w *Writer) Number(x float64) *Writer {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return w.Raw("null")
	}
	return w.Raw(Number64(x))
}

// Bool writes true or false.
func (w *Writer) Bool(b bool) *Writer {
	w.entry()
	w.b = strconv.AppendBool(w.b, b)
	return w
}

// Raw writes a value that is JSON already.
func (w *Writer) Raw(s string) *Writer {
	w.entry()
	w.b = append(w.b, s...)
	return w
}
