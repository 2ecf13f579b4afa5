package learn

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"

	"pitwise/engine/document"
	"pitwise/engine/model"
)

// learntSource is the id of the source that a learnt model carries, which says from what and
// from how many units it was learnt.
const learntSource = "learnt"

// digits of a learnt number in a file: a row then sums to 1 within 1e-10.
const digits = 10

// Model returns the model with the learnt numbers: the text of the one it was learnt from, with
// the numbers that moved in the place of the old ones, a revision of its own, and a source
// "learnt" that says where they come from. Everything else, texts and sources of the blocks too,
// stays to the letter.
func (fit *Fit) Model() (*model.Model, error) {
	cite := fmt.Sprintf("learnt from %d units of this bench", fit.Units)
	if n := fit.lent(); n > 0 {
		cite += fmt.Sprintf(" and the counts of %d other benches", n)
	}
	m := fit.frame.model
	cite += ", from revision " + m.Revision + " with the SHA-256 " + m.SHA256
	return fit.frame.write(fit.numbers, fit.kappa, digits, fmt.Sprint(fit.Units), cite)
}

// An edit puts text in the place of what stands from start to end.
type edit struct {
	start, end int
	text       string
}

// A source is what a model that is written says of its numbers.
type source struct{ id, cite string }

// write returns the model with learnt numbers.
func (f *frame) write(numbers, kappa []float64, digits int, mark, cite string) (*model.Model, error) {
	return f.rewrite(numbers, kappa, digits, mark, source{learntSource, cite})
}

// rewrite returns the model with other numbers, as a revision that says so.
func (f *frame) rewrite(numbers, kappa []float64, digits int, mark string, from source) (*model.Model, error) {
	m := f.model.Original()
	report := document.NewReport(m.Text)
	root, ok := report.Read(document.Limits{Bytes: model.MaxBytes, Depth: 64, Values: model.MaxBytes/2 + 1})
	if !ok {
		return nil, fmt.Errorf("learn: the model's text does not read: %w", report.Err(model.ErrInvalid))
	}
	w := writer{frame: f, numbers: numbers, digits: digits, source: from.id}
	for c, v := range root.Get("components").Items() {
		row := f.row(numbers, f.prior[c])
		for k, mode := range v.Get("modes").Items() {
			w.own(mode, f.model.Modes[f.model.Components[c].FirstMode+k].Prior, row[1+k])
			w.number(mode.Get("prior"), f.model.Modes[f.model.Components[c].FirstMode+k].Prior, row[1+k])
		}
	}
	for t, v := range root.Get("tests").Items() {
		test := &f.model.Tests[t]
		leak := f.row(numbers, f.leak[t])
		w.row(v.Get("healthy"), test.Healthy, leak)
		given := v.Get("given")
		for i, g := range test.Given {
			w.row(given.Get(string(f.model.Modes[g.Mode].ID)), g.P, rowOf(leak, f.row(numbers, f.links[t][i])))
		}
	}
	for r, v := range root.Get("repairs").Items() {
		w.change(v, r)
		if f.change[r].kappa > 0 {
			w.number(v.Get("steadiness"), f.change[r].kappa, kappa[r])
		}
	}
	for s, v := range root.Get("setups").Items() {
		w.change(v.Get("enter"), f.enter(s))
		w.change(v.Get("leave"), f.leave(s))
	}
	hash := sha256.New()
	for _, e := range w.edits {
		fmt.Fprintf(hash, "%d %s\n", e.start, e.text)
	}
	revision := root.Get("revision")
	start, end := revision.Span()
	stem, _, _ := strings.Cut(m.Revision, "+"+ownSource+".")
	w.edits = append(w.edits, edit{start, end, quoted(stem + "+" + mark + "." + hex.EncodeToString(hash.Sum(nil))[:8])})
	source := `"` + from.id + `": {"kind": "practice", "cite": ` + quoted(from.cite) + `}`
	if old := root.Get("sources").Get(from.id); old.Exists() && from.id != ownSource {
		return nil, fmt.Errorf("learn: the model has a source %q already", from.id)
	} else if was, ok := m.Source(ownSource); ok && old.Exists() {
		start, end := old.Get("cite").Span()
		w.edits = append(w.edits, edit{start, end, quoted(was.Cite + "; " + from.cite)})
	} else if sources := root.Get("sources"); sources.Len() > 0 {
		start, _ := sources.Span()
		w.edits = append(w.edits, edit{start + 1, start + 1, source + ", "})
	} else if sources.Exists() {
		start, end := sources.Span()
		w.edits = append(w.edits, edit{start, end, "{" + source + "}"})
	} else {
		start, _ := root.Span()
		w.edits = append(w.edits, edit{start + 1, start + 1, `"sources": {` + source + `}, `})
	}
	sort.SliceStable(w.edits, func(i, j int) bool { return w.edits[i].start < w.edits[j].start })
	var text []byte
	at := 0
	for _, e := range w.edits {
		text = append(append(text, m.Text[at:e.start]...), e.text...)
		at = e.end
	}
	text = append(text, m.Text[at:]...)
	return model.Load(text)
}

type writer struct {
	*frame
	numbers []float64
	digits  int
	source  string // of the numbers; "own" is put into their blocks
	edits   []edit
	named   map[int]bool // where a source was put already
}

// still is how little a number may move, as a share of itself, to stay as it stands.
const still = 1e-7

func (w *writer) number(v document.Value, was, now float64) {
	if math.Abs(now-was) <= still*was {
		return
	}
	start, end := v.Span()
	w.edits = append(w.edits, edit{start, end, w.print(now)})
}

func (w *writer) row(v document.Value, was, now []float64) {
	moved := false
	text := "["
	for k := range now {
		moved = moved || math.Abs(now[k]-was[k]) > still*was[k]
		if k > 0 {
			text += ", "
		}
		text += w.print(now[k])
	}
	if !moved {
		return
	}
	start, end := v.Span()
	w.edits = append(w.edits, edit{start, end, text + "]"})
}

func (w *writer) change(v document.Value, change int) {
	mv := &w.frame.change[change]
	fixes, risks := v.Get("fixes"), v.Get("risks")
	for i, x := range mv.change.Fixes {
		w.own(v, x.P, w.first(mv.fixes[i]))
		w.number(fixes.Get(string(w.model.Modes[x.Mode].ID)), x.P, w.first(mv.fixes[i]))
	}
	for i, x := range mv.change.Risks {
		w.own(v, x.P, w.first(mv.risks[i]))
		w.number(risks.Get(string(w.model.Modes[x.Mode].ID)), x.P, w.first(mv.risks[i]))
	}
}

// own names the source of a block of which a number is a person's own.
func (w *writer) own(v document.Value, was, now float64) {
	if w.source != ownSource || math.Abs(now-was) <= still*was {
		return
	}
	at, end := v.Span()
	if w.named[at] {
		return
	}
	if w.named == nil {
		w.named = map[int]bool{}
	}
	w.named[at] = true
	if old := v.Get("source"); old.Exists() {
		at, end = old.Span()
		w.edits = append(w.edits, edit{at, end, quoted(ownSource)})
		return
	}
	w.edits = append(w.edits, edit{end - 1, end - 1, `, "source": ` + quoted(ownSource)})
}

// first is the chance of a fix or a risk.
func (w *writer) first(block int) float64 { return w.frame.row(w.numbers, block)[0] }

// print writes a number to the digits of the writer, and no more than it needs.
func (w *writer) print(x float64) string {
	s := strconv.FormatFloat(x, 'e', w.digits-1, 64)
	y, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return s
	}
	if y != 0 && math.Abs(y) < 1e-5 {
		return strconv.FormatFloat(y, 'e', -1, 64)
	}
	return strconv.FormatFloat(y, 'f', -1, 64)
}

func quoted(s string) string { return string(document.AppendString(nil, s)) }
