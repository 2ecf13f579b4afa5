package document

import (
	"errors"
	"strconv"
	"strings"
)

// MaxDefects is how many defects are kept of a file: the first ones in document order.
const MaxDefects = 1000

// A Defect is one thing that is wrong with a file.
type Defect struct {
	Place  string // the way to the value, as in tests[3].healthy; "" if it is of no one value
	Found  string // what was found there, and what was wanted
	Line   int    // from 1; 0 if the defect is of no one place in the text
	Column int    // in characters from 1
}

// String returns where and what: the place, or the line where there is no place.
func (d Defect) String() string {
	if d.Place == "" && d.Line > 0 {
		return "line " + strconv.Itoa(d.Line) + ", column " + strconv.Itoa(d.Column) + ": " + d.Found
	}
	return d.Text()
}

// Text is String for those who tell the line themselves.
func (d Defect) Text() string {
	if d.Place == "" {
		return d.Found
	}
	return d.Place + ": " + d.Found
}

// Defects are all that is wrong with one file, as an error.
type Defects struct {
	Kind error    // what the error is by errors.Is, as model.ErrInvalid; may be nil
	List []Defect // in document order, at most MaxDefects
	More int      // how many there are beyond
}

// DefectsOf returns the defects that an error is made of, none of nil. An error that is not
// made of any is one defect, of no place.
func DefectsOf(err error) (d Defects) {
	if err != nil && !errors.As(err, &d) {
		d.List = []Defect{{Found: err.Error()}}
	}
	return d
}

// Len returns how many there are.
func (d Defects) Len() int { return len(d.List) + d.More }

// Error returns one line a defect, each after the head of the kind's own text, and one for
// those beyond.
func (d Defects) Error() string {
	head := ""
	if d.Kind != nil {
		if of, _, ok := strings.Cut(d.Kind.Error(), ": "); ok {
			head = of + ": "
		}
	}
	lines := make([]string, 0, len(d.List)+1)
	for _, each := range d.List {
		lines = append(lines, head+each.String())
	}
	if d.More > 0 {
		lines = append(lines, head+"and "+strconv.Itoa(d.More)+" more")
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns the kind.
func (d Defects) Unwrap() error { return d.Kind }
