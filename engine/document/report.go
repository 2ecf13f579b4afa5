package document

import (
	"fmt"
	"sort"
	"unicode/utf8"
)

// A finding is a defect whose place has not been worked out yet.
type finding struct {
	offset int
	order  int    // of being found, for findings at one offset
	at     int32  // the node; textOnly or whole if there is none
	field  string // a missing field of that node
	found  string
}

const (
	textOnly int32 = -1 // a defect of a line and column
	whole    int32 = -2 // a defect of the file
)

// A position is how far the lines of a text have been counted, from 1.
type position struct{ at, line, column int }

// locate counts on to an offset, from where it was last if that is before it.
func (t *tree) locate(offset int) position {
	p := t.counted
	if p.at > offset {
		*p = position{line: 1, column: 1}
	}
	for p.at < offset && p.at < len(t.text) {
		if t.text[p.at] == '\n' {
			*p = position{p.at + 1, p.line + 1, 1}
			continue
		}
		_, size := utf8.DecodeRune(t.text[p.at:])
		p.column, p.at = p.column+1, p.at+size
	}
	return *p
}

// A Report collects the defects of one text.
type Report struct {
	tree   tree
	start  int // what is read of the text
	end    int
	kept   []finding
	count  int
	beyond int // offset after which a finding cannot be among the first MaxDefects

	version int // of the format of the file that is checked; 0 for the latest
}

// NewReport returns an empty report on text, which must not change while the report
// or a Value of it is in use.
func NewReport(text []byte) *Report {
	return &Report{tree: tree{text: text, counted: &position{line: 1, column: 1}}, end: len(text), beyond: len(text) + 1}
}

// Add reports a defect of the value v, in the form of fmt.Sprintf.
func (r *Report) Add(v Value, format string, args ...any) {
	offset := 0
	if v.tree != nil {
		offset = int(v.node().start)
		// A member's place in the text is its key, so that a defect of the
		// key and one of the value keep their order.
		if n := v.node(); n.parent >= 0 && r.tree.nodes[n.parent].kind == Object {
			offset = int(r.tree.nodes[n.index].start)
		}
	} else {
		v.at = whole
	}
	r.add(offset, v.at, "", format, args...)
}

// AddMissing reports that the object v has no field of that name.
func (r *Report) AddMissing(v Value, name string) {
	r.add(int(v.node().start), v.at, name, "missing")
}

func (r *Report) add(offset int, at int32, field, format string, args ...any) {
	r.count++
	if offset >= r.beyond {
		return
	}
	found := format
	if len(args) > 0 {
		found = fmt.Sprintf(format, args...)
	}
	r.kept = append(r.kept, finding{offset, r.count, at, field, found})
	if len(r.kept) >= 2*MaxDefects {
		r.sort()
		r.kept = r.kept[:MaxDefects]
		r.beyond = r.kept[MaxDefects-1].offset
	}
}

func (r *Report) sort() {
	sort.Slice(r.kept, func(i, j int) bool {
		a, b := &r.kept[i], &r.kept[j]
		return a.offset < b.offset || a.offset == b.offset && a.order < b.order
	})
}

// Len returns the number of defects found so far.
func (r *Report) Len() int { return r.count }

// Err returns all that was found as an error of a kind, nil if nothing is wrong.
func (r *Report) Err(kind error) error {
	if r.count == 0 {
		return nil
	}
	d := r.Defects()
	d.Kind = kind
	return d
}

// Defects returns what was found, in document order.
func (r *Report) Defects() Defects {
	if r.count == 0 {
		return Defects{}
	}
	r.sort()
	kept := r.kept[:min(len(r.kept), MaxDefects)]
	all := Defects{List: make([]Defect, 0, len(kept)), More: r.count - len(kept)}
	for _, f := range kept {
		at := r.tree.locate(f.offset)
		d := Defect{Found: f.found, Line: at.line, Column: at.column}
		if f.at >= 0 {
			d.Place = r.tree.place(f.at)
			if f.field != "" {
				d.Place = string(appendKey([]byte(d.Place), f.field))
			}
		} else if f.at == whole {
			if d.Place = r.tree.of; d.Place == "" {
				d.Line, d.Column = 0, 0
			}
		}
		all.List = append(all.List, d)
	}
	return all
}
