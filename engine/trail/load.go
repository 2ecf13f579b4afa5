package trail

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"

	"pitwise/engine/document"
	"pitwise/engine/model"
)

// Load reads a trail file. The error is Defects: everything that is wrong with its
// form, in document order. Whether it fits a model is for Check to say.
func Load(text []byte) (*Trail, error) { return Read(document.NewReport(text)) }

// Read is Load for a trail that is a part of a larger text, as a unit of a back-up is.
func Read(r *document.Report) (*Trail, error) {
	root, ok := r.Read(Limits)
	t := &Trail{}
	if ok && isTrail(r, root) {
		version, _ := root.Get("version").Int()
		if version < 1 || version > Newest {
			version = Newest // for the rest of the defects
		}
		document.CheckVersion(r, root, trailShape, version)
		decode(r, root, t)
	}
	if err := r.Err(ErrInvalid); err != nil {
		return nil, err
	}
	return t, nil
}

// isTrail reports a file that is of another kind altogether, for which a list of all
// differences would help nobody.
func isTrail(r *document.Report, root document.Value) bool {
	name := text(root.Get("format"))
	if name == formatName || !strings.HasPrefix(name, "pitwise/") {
		return true
	}
	r.Add(root.Get("format"), "%s, want %q", document.Quote(name), formatName)
	return false
}

// text and number return the zero value for what is of the wrong form: it has been
// reported.
func text(v document.Value) string {
	s, _ := v.Text()
	return s
}

func number(v document.Value) float64 {
	x, _ := v.Float()
	return x
}

// texts reads a list of texts; nil if it is empty or absent.
func texts[S ~string](v document.Value) []S {
	var all []S
	for _, each := range v.Items() {
		all = append(all, S(text(each)))
	}
	return all
}

func decode(r *document.Report, v document.Value, t *Trail) {
	t.ID = text(v.Get("id"))
	t.Created = text(v.Get("created"))
	m := v.Get("model")
	t.Model = ModelRef{ID: text(m.Get("id")), Revision: text(m.Get("revision")), SHA256: text(m.Get("sha256"))}
	t.Unit = Unit{Label: text(v.Get("unit").Get("label")), Notes: text(v.Get("unit").Get("notes"))}
	t.Terms = decodeTerms(v.Get("terms"))
	before := 0
	for i, each := range v.Get("events").Items() {
		e := event(r, i, before, each)
		before = e.N
		t.Events = append(t.Events, e)
	}
	if carried := v.Get("model_text"); carried.Kind() == document.String {
		t.ModelText = text(carried)
		sum := sha256.Sum256([]byte(t.ModelText))
		if got := hex.EncodeToString(sum[:]); DigestForm.Match(t.Model.SHA256) && got != t.Model.SHA256 {
			r.Add(carried, "the text has the SHA-256 %s, want the %s of model.sha256", got, t.Model.SHA256)
		}
	}
}

// outOfStep reports whether the n of the event at index i is wrong. After a gap it is
// enough to go on counting, for one gap is one defect.
func outOfStep(n, i, before int) bool { return n != i+1 && (i == 0 || n != before+1) }

// event reads the event at index i; before is the n of the one before it.
func event(r *document.Report, i, before int, v document.Value) Event {
	e := Event{
		At:      text(v.Get("at")),
		Kind:    Kind(text(v.Get("kind"))),
		Test:    model.TestID(text(v.Get("test"))),
		Outcome: model.OutcomeID(text(v.Get("outcome"))),
		Setup:   model.SetupID(text(v.Get("setup"))),
		Repair:  model.RepairID(text(v.Get("repair"))),
		Reason:  text(v.Get("reason")),
		Text:    text(v.Get("text")),
		As:      Ending(text(v.Get("as"))),
		Causes:  texts[model.ModeID](v.Get("causes")),
		For:     text(v.Get("for")),
	}
	if terms := v.Get("terms"); terms.Exists() {
		read := decodeTerms(terms)
		e.Terms = &read
	}
	n := v.Get("n")
	var ok bool
	if e.N, ok = n.Int(); ok && e.N >= 1 && outOfStep(e.N, i, before) {
		r.Add(n, "%d, want %d: n counts from 1 without gaps", e.N, i+1)
	}
	if x, ok := v.Get("reading").Float(); ok {
		e.Reading = &x
	}
	of := v.Get("of")
	if e.Of, ok = of.Int(); ok && e.Kind == Void && e.Of >= 1 && e.Of >= i+1 {
		r.Add(of, "%d, want an event before this one, which is %d", e.Of, i+1)
	}
	return e
}
