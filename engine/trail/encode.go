package trail

import (
	"math"
	"strconv"

	"pitwise/engine/document"
)

// Encode returns the trail as a file: fields in the order of the format's
// description, two spaces of indent, one event a line, a newline at the end. Load
// reads back the same trail to the last bit, if Load would take it at all: what a
// file cannot hold becomes something that Load refuses (null for numbers that are
// not finite) or its nearest likeness (U+FFFD for bytes that are not UTF-8).
func (t *Trail) Encode() []byte {
	e := encoder{b: make([]byte, 0, 1024+128*len(t.Events)+len(t.ModelText)*9/8)}
	e.raw("{\n  ").field("format").text(formatName)
	e.raw(", ").field("version").int(t.version())
	e.raw(", ").field("id").text(t.ID)
	e.raw(", ").field("created").text(t.Created)
	e.raw(",\n  ").field("model").raw("{").field("id").text(t.Model.ID)
	e.raw(", ").field("revision").text(t.Model.Revision)
	e.raw(", ").field("sha256").text(t.Model.SHA256)
	e.raw("},\n  ").field("unit").raw("{").field("label").text(t.Unit.Label)
	e.raw(", ").field("notes").text(t.Unit.Notes)
	e.raw("},\n  ").field("terms").terms(&t.Terms, ",\n    ")
	e.raw(",\n  ").field("events").raw("[")
	for i := range t.Events {
		if i > 0 {
			e.raw(",")
		}
		e.raw("\n    ").event(&t.Events[i])
	}
	if len(t.Events) > 0 {
		e.raw("\n  ")
	}
	e.raw("]")
	if t.ModelText != "" {
		e.raw(",\n  ").field("model_text").text(t.ModelText)
	}
	e.raw("\n}\n")
	return e.b
}

// version is that of the file: 1 for a trail that needs nothing of version 2.
func (t *Trail) version() int {
	if t.Terms.Exchange != 0 {
		return 2
	}
	for i := range t.Events {
		if k := t.Events[i].Kind; k == NewTerms || k == Wait {
			return 2
		}
	}
	return 1
}

// Encode returns the event as the object that stands for it in a trail file, on one
// line.
func (ev *Event) Encode() []byte {
	var e encoder
	e.event(ev)
	return e.b
}

type encoder struct{ b []byte }

func (e *encoder) raw(s string) *encoder {
	e.b = append(e.b, s...)
	return e
}

func (e *encoder) field(name string) *encoder {
	e.b = document.AppendString(e.b, name)
	return e.raw(": ")
}

func (e *encoder) text(s string) { e.b = document.AppendString(e.b, s) }

func (e *encoder) int(i int) { e.b = strconv.AppendInt(e.b, int64(i), 10) }

func (e *encoder) number(x float64) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		e.raw("null")
		return
	}
	e.raw(document.Number64(x))
}

// terms adds terms; middle stands between the tools and what follows.
func (e *encoder) terms(t *Terms, middle string) *encoder {
	e.raw("{").field("minute_value").number(t.MinuteValue)
	e.raw(", ").field("currency").text(t.Currency)
	if t.Exchange != 0 {
		e.raw(", ").field("exchange").number(t.Exchange)
	}
	e.raw(", ").field("tools")
	encodeTexts(e, t.Tools)
	e.raw(middle).field("working_value").number(t.WorkingValue)
	e.raw(", ").field("as_is_value").number(t.AsIsValue)
	e.raw(", ").field("comeback_cost").number(t.ComebackCost)
	return e.raw("}")
}

func encodeTexts[S ~string](e *encoder, all []S) {
	e.raw("[")
	for i, s := range all {
		if i > 0 {
			e.raw(", ")
		}
		e.text(string(s))
	}
	e.raw("]")
}

func (e *encoder) event(ev *Event) {
	e.raw("{").field("n").int(ev.N)
	e.raw(", ").field("at").text(ev.At)
	e.raw(", ").field("kind").text(string(ev.Kind))
	optional := func(name, s string) {
		if s != "" {
			e.raw(", ").field(name).text(s)
		}
	}
	switch ev.Kind {
	case Result:
		e.raw(", ").field("test").text(string(ev.Test))
		optional("outcome", string(ev.Outcome))
		if ev.Reading != nil {
			e.raw(", ").field("reading").number(*ev.Reading)
		}
	case Setup:
		e.raw(", ").field("setup").text(string(ev.Setup))
	case Repair:
		e.raw(", ").field("repair").text(string(ev.Repair))
	case Skip:
		e.raw(", ").field("test").text(string(ev.Test))
		optional("reason", ev.Reason)
	case Note:
		e.raw(", ").field("text").text(ev.Text)
	case Void:
		e.raw(", ").field("of").int(ev.Of)
		optional("reason", ev.Reason)
	case NewTerms:
		if ev.Terms != nil {
			e.raw(", ").field("terms").terms(ev.Terms, ", ")
		}
	case Wait:
		e.raw(", ").field("for").text(ev.For)
	case End:
		e.raw(", ").field("as").text(string(ev.As))
		if len(ev.Causes) > 0 {
			e.raw(", ").field("causes")
			encodeTexts(e, ev.Causes)
		}
	}
	e.raw("}")
}
