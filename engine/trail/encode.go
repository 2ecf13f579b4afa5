package trail

import "pitwise/engine/document"

// Encode returns the trail as a file: fields in the order of the format's
// description, two spaces of indent, one event a line, a newline at the end. Load
// reads back the same trail to the last bit, if Load would take it at all: what a
// file cannot hold becomes something that Load refuses (null for numbers that are
// not finite) or its nearest likeness (U+FFFD for bytes that are not UTF-8). The
// version is the first that can hold it.
func (t *Trail) Encode() []byte {
	w := document.Writer{Indent: "  "}
	w.Object(true)
	w.Key("format").String(formatName).Join().Key("version").Int(t.version())
	w.Join().Key("id").String(t.ID).Join().Key("created").String(t.Created)
	w.Key("model").Object(false)
	w.Key("id").String(t.Model.ID).Key("revision").String(t.Model.Revision).Key("sha256").String(t.Model.SHA256).End()
	w.Key("unit").Object(false).Key("label").String(t.Unit.Label).Key("notes").String(t.Unit.Notes).End()
	w.Key("terms")
	t.Terms.write(&w, true)
	w.Key("events").List(true)
	for i := range t.Events {
		t.Events[i].write(&w)
	}
	w.End()
	if t.ModelText != "" {
		w.Key("model_text").String(t.ModelText)
	}
	w.End()
	return append(w.Bytes(), '\n')
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
func (e *Event) Encode() []byte {
	var w document.Writer
	e.write(&w)
	return w.Bytes()
}

// write writes terms, on two lines or on one.
func (t *Terms) write(w *document.Writer, twoLines bool) {
	w.Object(false)
	w.Key("minute_value").Number(t.MinuteValue).Key("currency").String(t.Currency)
	if t.Exchange != 0 {
		w.Key("exchange").Number(t.Exchange)
	}
	w.Key("tools")
	writeTexts(w, t.Tools)
	if twoLines {
		w.Break()
	}
	w.Key("working_value").Number(t.WorkingValue).Key("as_is_value").Number(t.AsIsValue).Key("comeback_cost").Number(t.ComebackCost)
	w.End()
}

func writeTexts[S ~string](w *document.Writer, all []S) {
	w.List(false)
	for _, s := range all {
		w.String(string(s))
	}
	w.End()
}

func (e *Event) write(w *document.Writer) {
	w.Object(false).Key("n").Int(e.N).Key("at").String(e.At).Key("kind").String(string(e.Kind))
	text := func(name, s string) { w.Key(name).String(s) }
	optional := func(name, s string) {
		if s != "" {
			text(name, s)
		}
	}
	switch e.Kind {
	case Result:
		text("test", string(e.Test))
		optional("outcome", string(e.Outcome))
		if e.Reading != nil {
			w.Key("reading").Number(*e.Reading)
		}
	case Setup:
		text("setup", string(e.Setup))
	case Repair:
		text("repair", string(e.Repair))
	case Skip:
		text("test", string(e.Test))
		optional("reason", e.Reason)
	case Note:
		text("text", e.Text)
	case Void:
		w.Key("of").Int(e.Of)
		optional("reason", e.Reason)
	case NewTerms:
		if e.Terms != nil {
			w.Key("terms")
			e.Terms.write(w, false)
		}
	case Wait:
		text("for", e.For)
	case End:
		text("as", string(e.As))
		if len(e.Causes) > 0 {
			w.Key("causes")
			writeTexts(w, e.Causes)
		}
	}
	w.End()
}
