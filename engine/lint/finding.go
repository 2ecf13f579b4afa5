package lint

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"pitwise/engine/document"
)

// Kind is the kind of a finding.
type Kind string

const (
	Twins     Kind = "twins"           // two modes that no test tells apart
	Rare      Kind = "rare-outcome"    // an outcome below 1 in 10,000 whatever is wrong
	Healthier Kind = "healthier"       // a row that looks healthier than healthy
	Idle      Kind = "idle-row"        // a row that says what healthy says
	Unmended  Kind = "no-repair"       // a mode that no repair takes away
	Unseen    Kind = "no-test"         // a mode that no test shows
	Blind     Kind = "blind-repair"    // a weighty repair that asks for no result first
	Steep     Kind = "steep-row"       // an outcome that a fault makes ten times likelier, or rarer, without a why
	Renewing  Kind = "renewing-risk"   // a slight risk by which other repairs forget that they failed
	Beaten    Kind = "beaten-repair"   // another repair is as good in every respect and better in one
	Unhelpful Kind = "idle-test"       // a test that never changed the advice
	Unworthy  Kind = "unworthy-repair" // a repair that was never worth doing
)

// Searched reports whether findings of a kind come from a search: then more trails or units
// may show to be of use what fewer did not, and an exception that explains nothing this time
// may be needed the next.
func (k Kind) Searched() bool { return k == Unhelpful || k == Unworthy }

// A Finding is one thing that a model's author should look at.
type Finding struct {
	Kind  Kind
	Of    []string // ids, in the model's order: modes, or a test, or a test and an outcome, …
	Found string   // what was found
}

// String returns kind, ids and what was found.
func (f Finding) String() string {
	return string(f.Kind) + " " + strings.Join(f.Of, " ") + ": " + f.Found
}

// An Exception says that a finding is meant, and why.
type Exception struct {
	Model string
	Kind  Kind
	Of    []string
	Why   string
}

// Apply takes away the findings that some exception of the model explains. unused are
// the exceptions of the model that explain nothing.
func Apply(model string, all []Finding, exceptions []Exception) (left []Finding, unused []Exception) {
	used := make([]bool, len(exceptions))
	for _, f := range all {
		explained := false
		for i, e := range exceptions {
			if e.Model == model && e.Kind == f.Kind && slices.Equal(e.Of, f.Of) {
				explained, used[i] = true, true
			}
		}
		if !explained {
			left = append(left, f)
		}
	}
	for i, e := range exceptions {
		if e.Model == model && !used[i] {
			unused = append(unused, e)
		}
	}
	return left, unused
}

// ErrExceptions says that a file of exceptions cannot be read.
var ErrExceptions = errors.New("lint: exceptions: not valid")

var exceptionForm = document.Items{Each: &document.Record{Fields: []document.Field{
	{Name: "model", Shape: document.Text{}, Required: true},
	{Name: "kind", Shape: document.Text{Enum: []string{
		string(Twins), string(Rare), string(Healthier), string(Idle), string(Unmended),
		string(Unseen), string(Blind), string(Steep), string(Renewing), string(Beaten), string(Unhelpful), string(Unworthy),
	}}, Required: true},
	{Name: "of", Shape: document.Items{Least: 1, Each: document.Text{}}, Required: true},
	{Name: "why", Shape: document.Text{}, Required: true},
}}}

// ReadExceptions reads a list of exceptions:
//
//	[{"model": "tray", "kind": "twins", "of": ["lens.dirty", "mirror.fogged"], "why": "…"}]
func ReadExceptions(text []byte) ([]Exception, error) {
	report := document.NewReport(text)
	root, ok := report.Read(document.Limits{Bytes: 1 << 20, Depth: 8, Values: 1 << 16})
	if ok {
		document.Check(report, root, exceptionForm)
	}
	if err := report.Err(ErrExceptions); err != nil {
		return nil, err
	}
	var all []Exception
	for i, v := range root.Items() {
		word := func(name string) string {
			s, _ := v.Get(name).Text()
			return s
		}
		for _, name := range []string{"model", "kind", "why"} {
			if word(name) == "" {
				return nil, fmt.Errorf("%w: [%d].%s is empty", ErrExceptions, i, name)
			}
		}
		e := Exception{Model: word("model"), Kind: Kind(word("kind")), Why: word("why")}
		for _, each := range v.Get("of").Items() {
			id, _ := each.Text()
			e.Of = append(e.Of, id)
		}
		all = append(all, e)
	}
	return all, nil
}
