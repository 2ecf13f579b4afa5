package state

import (
	"cmp"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"pitwise/engine/catalog"
	"pitwise/engine/document"
)

// An OwnModel is a model that the person brought in, as it stands on the list at
// intake beside the shipped ones.
type OwnModel struct {
	ID, Title, Revision string
	SHA256              string
	Added               string // RFC 3339
	Learnt              bool   // its numbers are of this bench's own units
	Mine                bool   // it has numbers of the person's own
}

// Of own models, and of files that are read in.
type (
	// OwnRead is the list of own models, read again.
	OwnRead struct{ Models []OwnModel }
	// A TakenModel is a model that was read in, with the list it is on now.
	TakenModel struct {
		Choice string // by which PickModel picks it
		Own    []OwnModel
	}
	NothingPicked struct{} // no file was chosen after all
	CopyDefects   struct{}
	CloseDefects  struct{}
	// AskDrop asks whether to take an own model off the list; "" asks no more.
	AskDrop struct{ SHA256 string }
)

type (
	// ReadModels reads the list of own models; answered by OwnRead.
	ReadModels struct{}
	// ForgetModel takes an own model off the list; answered by OwnRead.
	ForgetModel struct{ SHA256 string }
	// CopyText puts a text on the clipboard; answered by Taken or TakeFailed.
	CopyText struct{ Text string }
)

// A RefusedFile is a file that was not read in, and all that is wrong with it.
type RefusedFile struct {
	File    string // its name
	Kind    FileKind
	Defects []Defect
	More    int  // defects beyond those
	Partly  bool // the rest of the file was read in
}

// FileKind is what a refused file is, as far as one can tell.
type FileKind string

const (
	FileOurs    FileKind = ""        // a model, a trail or a bench, with defects
	FilePicture FileKind = "picture" // a photograph, a drawing
	FileBinary  FileKind = "binary"  // no text
	FileText    FileKind = "text"    // text of no form that is read in
	FileForeign FileKind = "foreign" // something of another program
	FileCut     FileKind = "cut"     // it begins as ours do and breaks off
	FileEmpty   FileKind = "empty"
	FileLarge   FileKind = "large"  // more than any of ours holds
	FileNewer   FileKind = "newer"  // one of ours, of a later version of the program
	FileCounts  FileKind = "counts" // counts that were changed or damaged
	FileOther   FileKind = "other"  // counts of other numbers than those that are here
	FileMany    FileKind = "many"   // counts of more benches than are held
)

// A Defect is one thing that is wrong with a file.
type Defect struct {
	document.Defect
	In string // the part of the file whose lines are counted; "" for the file
}

// Count is the number of defects, kept or not.
func (r *RefusedFile) Count() int { return len(r.Defects) + r.More }

// Text lists the defects one a line, FILE:LINE:COLUMN first, as the desk program does.
func (r *RefusedFile) Text() string {
	var b strings.Builder
	for _, d := range r.Defects {
		b.WriteString(Printable(r.File))
		if d.In != "" {
			b.WriteString(":" + d.In)
		}
		if d.Line > 0 {
			fmt.Fprintf(&b, ":%d:%d", d.Line, d.Column)
		}
		b.WriteString(": " + d.Text() + "\n")
	}
	if r.More > 0 {
		b.WriteString(Printable(r.File) + ": and " + strconv.Itoa(r.More) + " more\n")
	}
	return b.String()
}

// Printable returns a stranger's text on one line, without the signs that steer.
func Printable(s string) string { return document.Line(s) }

// Apart reports whether the list at intake has another model of the same id and
// revision, so that it takes more to tell them apart.
func (s State) Apart(m OwnModel) bool {
	return slices.ContainsFunc(s.Own, func(o OwnModel) bool {
		return o.SHA256 != m.SHA256 && o.ID == m.ID && o.Revision == m.Revision
	})
}

// SortModels puts own models in the order of the list: the id that was brought in last
// first, and of one id the newest revision first. Revisions count by the numbers in
// them, so that 10 is newer than 9; of equal ones the one brought in last comes first.
func SortModels(all []OwnModel) {
	last := map[string]string{}
	for _, m := range all {
		last[m.ID] = max(last[m.ID], m.Added)
	}
	sort.SliceStable(all, func(i, j int) bool {
		a, b := all[i], all[j]
		return cmp.Or(
			cmp.Compare(last[b.ID], last[a.ID]),
			cmp.Compare(a.ID, b.ID),
			compareRevisions(b.Revision, a.Revision),
			cmp.Compare(b.Added, a.Added),
			cmp.Compare(a.SHA256, b.SHA256),
		) < 0
	})
}

// compareRevisions compares texts run by run: digits as numbers, the rest as it is.
func compareRevisions(a, b string) int {
	for a != "" && b != "" {
		var x, y string
		x, a = run(a)
		y, b = run(b)
		p, q := strings.TrimLeft(x, "0"), strings.TrimLeft(y, "0")
		if digit(x[0]) && digit(y[0]) && len(p) != len(q) {
			return cmp.Compare(len(p), len(q))
		}
		if digit(x[0]) && digit(y[0]) {
			x, y = p, q
		}
		if c := cmp.Compare(x, y); c != 0 {
			return c
		}
	}
	return cmp.Compare(len(a), len(b))
}

// run cuts off the digits that s begins with, or what stands before its first digit.
func run(s string) (head, rest string) {
	end := 1
	for end < len(s) && digit(s[end]) == digit(s[0]) {
		end++
	}
	return s[:end], s[end:]
}

func digit(c byte) bool { return c >= '0' && c <= '9' }

// own answers what concerns own models and refused files.
func own(s State, m Msg) (State, []Effect) {
	switch m := m.(type) {
	case PickImport:
		s.Reading, s.ReadingDone, s.ReadingAll, s.Refused = true, 0, 0, nil
		return s, []Effect{ReadIn{}}
	case ReadingOn:
		s.ReadingDone, s.ReadingAll = m.Done, m.All
	case StopImport:
		if s.Reading {
			return s, []Effect{StopReading{}}
		}
	case NothingPicked:
		s.Reading = false
	case ImportFailed:
		s.Reading, s.ReadingDone, s.ReadingAll = false, 0, 0
		if m.Stopped {
			return s.notify(NoticeStopped, "", 0), nil
		}
		s = s.complain(TroubleImport, m.Detail)
		if len(m.File.Defects) == 0 {
			return s, nil
		}
		s.Refused = &m.File
		effects := []Effect{ShowTop{}}
		if m.File.Partly {
			effects = append(effects, s.readBench())
		}
		return s, effects
	case CopyDefects:
		if s.Refused != nil {
			return s, []Effect{CopyText{s.Refused.Text()}}
		}
	case CloseDefects:
		if s.Refused != nil {
			s = s.readOut()
			return s, []Effect{ShowTop{}}
		}
	case OwnRead:
		s.Own = m.Models
		s, effects := s.listed()
		if id := s.Route.Model; s.Route.Screen == ScreenFigures && (s.Figures.Model != id || s.Figures.SHA256 != s.inUse(id)) {
			s, more := s.readFigures(id)
			return s, append(effects, more...)
		}
		return s, effects
	case AskDrop:
		s.Dropping = m.SHA256
	case ForgetModel:
		s.Dropping = ""
		return s, []Effect{m}
	}
	return s, nil
}

// readOut takes a refused file off the screen, with the notice that came with it.
func (s State) readOut() State {
	if s.Refused != nil && s.Notice.Trouble == TroubleImport {
		s.Notice = Notice{Serial: s.Notice.Serial}
	}
	s.Refused = nil
	return s
}

// listed makes sure that the draft's model is on the list: one that was taken off, here
// or in another window, is not begun with any more.
func (s State) listed() (State, []Effect) {
	id := s.Draft.ModelID
	if id == "" || len(s.Models) == 0 ||
		slices.ContainsFunc(s.Models, func(e catalog.Entry) bool { return e.ID == id }) ||
		slices.ContainsFunc(s.Own, func(o OwnModel) bool { return o.SHA256 == id }) {
		return s, nil
	}
	return takeIn(s, PickModel{ID: s.Models[0].ID})
}

// modelTaken puts a model that was read in on the list, picks it and goes to intake.
func modelTaken(s State, m Imported) (State, []Effect) {
	kind := NoticeModel
	if m.Same {
		kind = NoticeModelSame
	}
	s = s.notify(kind, "", 0)
	s.Own = m.Model.Own
	later := DismissLater{s.Notice.Serial}
	s, effects := takeIn(s, PickModel{ID: m.Model.Choice})
	if s.Route.Screen != ScreenIntake {
		return s, []Effect{GoTo{Route{Screen: ScreenIntake}.Path()}, later}
	}
	return s, append(effects, later)
}
