package learn

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"unicode/utf8"

	"pitwise/engine/document"
	"pitwise/engine/model"
)

// Counts are what benches saw of one model, in expectation: how often each mode, outcome, fix
// and risk. There are no texts, labels, photographs, times, terms or trails in them.
//
// Merging counts is a union: of each bench the fullest counts stand. So it does not matter in which
// order, how often or along which ways counts come together.
type Counts struct {
	Format  string  `json:"format"`
	Version int     `json:"version"`
	Model   string  `json:"model"`   // id
	SHA256  string  `json:"sha256"`  // of the model that the counts are of
	Benches []Bench `json:"benches"` // by rising id
}

// A Bench is the counts of one bench. They are keyed by what they are about, with the ids of the
// model: "prior/lens" has one count for sound and one for each mode; "test/first-boot" one for each
// outcome without the faults that matter; "test/first-boot/lens.dirty" what that mode itself made of
// it; "repair/clean-lens/fixes/lens.dirty" how often it left and stayed; so for "setup/open/enter/risks/…"
// and "…/leave/…".
type Bench struct {
	ID     string               `json:"bench"` // any text that no other bench has
	Units  int                  `json:"units"`
	Counts map[string][]float64 `json:"counts,omitempty"`
}

const (
	// CountsFormat is what the "format" of a file of counts says, CountsNewest its newest version.
	CountsFormat = "pitwise/counts"
	CountsNewest = 1

	// MostLent is to how many units the counts of one other bench are worth at most, however
	// many they are of: what a stranger can move is bounded.
	MostLent = 100
	// mostBenches is how many benches one file may hold.
	mostBenches = 1000
	// mostUnits is how many units one bench may claim.
	mostUnits = 10_000_000
	// mostName is how long the id of a bench may be, in characters.
	mostName = 200
)

// Errors of counts.
var (
	ErrCounts      = errors.New("counts")
	ErrOtherCounts = errors.New("learn: the counts are of another model")
)

// key names a block in counts.
func (f *frame) key(block int) string {
	m, b := f.model, &f.blocks[block]
	switch b.Kind {
	case Prior:
		return "prior/" + string(m.Components[b.Component].ID)
	case Healthy:
		return "test/" + string(m.Tests[b.Test].ID)
	case Link:
		return "test/" + string(m.Tests[b.Test].ID) + "/" + string(m.Modes[b.Mode].ID)
	case Record, Answer, Return:
		return ""
	}
	where := "repair/"
	if b.Repair >= 0 {
		where += string(m.Repairs[b.Repair].ID)
	} else {
		where = "setup/" + string(m.Setups[b.Setup].ID) + "/enter"
		if b.Leave {
			where = "setup/" + string(m.Setups[b.Setup].ID) + "/leave"
		}
	}
	if b.Kind == Fix {
		return where + "/fixes/" + string(m.Modes[b.Mode].ID)
	}
	return where + "/risks/" + string(m.Modes[b.Mode].ID)
}

// Counts returns what this bench saw, under a name that is its own, to six digits.
func (fit *Fit) Counts(bench string) Counts {
	f := fit.frame
	b := Bench{ID: bench, Units: fit.Units, Counts: map[string][]float64{}}
	for i := range f.blocks {
		key := f.key(i)
		if key == "" {
			continue
		}
		row := make([]float64, f.blocks[i].Len)
		some := false
		for k, x := range f.row(fit.counts, i) {
			row[k] = math.Round(max(0, x)*1e6) / 1e6
			some = some || row[k] > 0
		}
		if some {
			b.Counts[key] = row
		}
	}
	return Counts{CountsFormat, CountsNewest, f.model.ID, f.model.SHA256, []Bench{b}}
}

// Encode returns the counts as a file, a row a line: of equal counts equal bytes.
func (c Counts) Encode() []byte {
	w := document.Writer{Indent: " "}
	w.Object(true).Key("format").String(c.Format).Key("version").Int(c.Version).Key("model").String(c.Model).Key("sha256").String(c.SHA256)
	w.Key("benches").List(true)
	for _, b := range c.Benches {
		w.Object(true).Key("bench").String(b.ID).Key("units").Int(b.Units)
		if len(b.Counts) > 0 {
			w.Key("counts").Object(true)
			for _, key := range slices.Sorted(maps.Keys(b.Counts)) {
				w.Key(key).List(false)
				for _, x := range b.Counts[key] {
					w.Number(x)
				}
				w.End()
			}
			w.End()
		}
		w.End()
	}
	w.End().End()
	return append(w.Bytes(), '\n')
}

// countsShape is the form of a file of counts.
var (
	// BenchForm is the form of the id of a bench.
	BenchForm = &document.Form{Noun: "a name of at most 200 characters", Pattern: `^[\s\S]{1,200}$`, Match: func(s string) bool {
		return s != "" && utf8.RuneCountInString(s) <= mostName
	}}
	keyForm     = &document.Form{Noun: "a name", Pattern: `^[\s\S]+$`, Match: func(s string) bool { return s != "" }}
	countsShape = &document.Record{Name: "counts", Fields: []document.Field{
		{Name: "format", Shape: document.Text{Enum: []string{CountsFormat}}, Required: true},
		{Name: "version", Shape: document.Real{Whole: true, Least: document.Bound(1), Most: document.Bound(1)}, Required: true},
		{Name: "model", Shape: document.Text{Form: keyForm}, Required: true},
		{Name: "sha256", Shape: document.Text{Form: keyForm}, Required: true},
		{Name: "benches", Required: true, Shape: document.Items{Most: mostBenches, Each: &document.Record{Name: "bench", Fields: []document.Field{
			{Name: "bench", Shape: document.Text{Form: BenchForm}, Required: true},
			{Name: "units", Shape: document.Real{Whole: true, Least: document.Bound(0), Most: document.Bound(mostUnits)}, Required: true},
			{Name: "counts", Shape: document.Map{Key: keyForm, Each: document.Items{Each: document.Real{Least: document.Bound(0), Most: document.Bound(1e12)}}}},
		}}}},
	}}
	countsLimits = document.Limits{Bytes: 256 << 20, Depth: 8, Values: 32 << 20}
)

// LoadCounts reads a file of counts. The error is document.Defects that wrap ErrCounts: all that is wrong, each with its place.
func LoadCounts(text []byte) (Counts, error) { return ReadCounts(document.NewReport(text)) }

// ReadCounts is LoadCounts for counts that are a part of a larger text.
func ReadCounts(r *document.Report) (Counts, error) {
	root, ok := r.Read(countsLimits)
	if ok {
		document.Check(r, root, countsShape)
	}
	if err := r.Err(ErrCounts); err != nil {
		return Counts{}, err
	}
	word := func(v document.Value) string { s, _ := v.Text(); return s }
	c := Counts{Format: CountsFormat, Version: CountsNewest, Model: word(root.Get("model")), SHA256: word(root.Get("sha256"))}
	for i, v := range root.Get("benches").Items() {
		b := Bench{ID: word(v.Get("bench"))}
		b.Units, _ = v.Get("units").Int()
		if i > 0 && b.ID <= c.Benches[i-1].ID {
			r.Add(v.Get("bench"), "%s after %s, want benches in rising order", document.Quote(b.ID), document.Quote(c.Benches[i-1].ID))
		}
		for key, row := range v.Get("counts").Members() {
			if b.Counts == nil {
				b.Counts = map[string][]float64{}
			}
			b.Counts[key] = []float64{}
			for _, x := range row.Items() {
				n, _ := x.Float()
				b.Counts[key] = append(b.Counts[key], n)
			}
		}
		c.Benches = append(c.Benches, b)
	}
	if err := r.Err(ErrCounts); err != nil {
		return Counts{}, err
	}
	return c, nil
}

// CheckCounts says what counts tell that the model does not have, each with its place. r is of their text, in which nothing
// is wrong by itself. m is the model of their id, nil if there is none. The error is document.Defects that wrap
// ErrOtherCounts if they are of other numbers than the model's, else ErrCounts.
func CheckCounts(r *document.Report, m *model.Model) error {
	root, _ := r.Read(countsLimits)
	if id, _ := root.Get("model").Text(); m == nil || id != string(m.ID) {
		r.Add(root.Get("model"), "%s is no model that is here", document.Quote(id))
		return r.Err(ErrOtherCounts)
	}
	if of, _ := root.Get("sha256").Text(); of != m.SHA256 {
		r.Add(root.Get("sha256"), "%s, want %s: the numbers here are others", document.Quote(of), m.SHA256)
		return r.Err(ErrOtherCounts)
	}
	f, err := newFrame(m)
	if err != nil {
		return err
	}
	entries := map[string]int{}
	for i := range f.blocks {
		if key := f.key(i); key != "" {
			entries[key] = f.blocks[i].Len
		}
	}
	for _, bench := range root.Get("benches").Items() {
		for key, row := range bench.Get("counts").Members() {
			switch want, known := entries[key]; {
			case !known:
				r.Add(row, "the model has nothing of that name")
			case row.Len() != want:
				r.Add(row, "%d numbers, want %d", row.Len(), want)
			}
		}
	}
	return r.Err(ErrCounts)
}

// Merge puts the counts of two files of one model together. The error is ErrOtherCounts.
func Merge(a, b Counts) (Counts, error) {
	if a.Model != b.Model || a.SHA256 != b.SHA256 {
		return Counts{}, fmt.Errorf("%w: %s and %s", ErrOtherCounts, a.Model, b.Model)
	}
	ours, theirs := a.Benches, b.Benches
	a.Benches = nil
	for len(ours) > 0 || len(theirs) > 0 {
		switch {
		case len(ours) > 0 && (len(theirs) == 0 || ours[0].ID < theirs[0].ID):
			a.Benches, ours = append(a.Benches, ours[0]), ours[1:]
		case len(ours) == 0 || ours[0].ID > theirs[0].ID:
			a.Benches, theirs = append(a.Benches, theirs[0]), theirs[1:]
		case theirs[0].fuller(ours[0]) > 0:
			ours = ours[1:]
		default:
			theirs = theirs[1:]
		}
	}
	return a, nil
}

// fuller orders the counts that one bench gave at different times: the more units the later; and
// of as many, by their text, so that the order is whole.
func (b Bench) fuller(c Bench) int {
	if n := cmp.Compare(b.Units, c.Units); n != 0 {
		return n
	}
	return bytes.Compare(Counts{Benches: []Bench{b}}.Encode(), Counts{Benches: []Bench{c}}.Encode())
}

// Lend takes in the counts of other benches, all but that of the given name: they weigh as the
// shipped numbers do, those of one bench like MostLent units at most. The error is ErrOtherCounts.
func (l *Learner) Lend(c Counts, own string) error {
	if c.Model != l.frame.model.ID || c.SHA256 != l.frame.model.SHA256 {
		return fmt.Errorf("%w: %s (sha256 %.12s…)", ErrOtherCounts, c.Model, c.SHA256)
	}
	mine := Counts{Model: c.Model, SHA256: c.SHA256, Benches: l.others}
	all, err := Merge(mine, c)
	if err != nil {
		return err
	}
	l.others = slices.DeleteFunc(all.Benches, func(b Bench) bool { return b.ID == own })
	return nil
}

// lend adds what a bench saw to what is known before. No block gets more from it than MostLent
// units could give: a unit counts in a prior once and by the units that were not brought in, in a
// test as often as it was run.
func (b *Bench) lend(f *frame, alpha []float64) {
	if b.Units <= 0 {
		return
	}
	share := min(1, MostLent/float64(b.Units))
	for i := range f.blocks {
		row, ok := b.Counts[f.key(i)]
		if !ok || len(row) != f.blocks[i].Len {
			continue
		}
		sum := 0.0
		for _, x := range row {
			sum += float64(share * x)
		}
		if sum == 0 {
			continue
		}
		bound := min(1, lentBlock/sum)
		for k, x := range row {
			alpha[f.blocks[i].at+k] += float64(float64(share*x) * bound)
		}
	}
}

// lentBlock bounds what one bench lends to one block, whatever it claims of its units.
const lentBlock = 4 * MostLent

// lent returns from how many other benches counts were taken in.
func (fit *Fit) lent() int { return len(fit.benches) }
