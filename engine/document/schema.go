package document

import (
	"slices"
	"strconv"
)

// Schema returns the shape as a JSON Schema (draft 2020-12), indented by two spaces,
// ending in a newline. It says what a Shape says; what a decoder checks beyond
// (references, sums, ratios, and that a file of an early version has no later fields) no
// schema here does.
func Schema(title string, root *Record) []byte {
	w := &schemaWriter{Writer: Writer{Indent: "  "}, done: map[string]bool{}}
	w.Object(true)
	w.member("$schema", "https://json-schema.org/draft/2020-12/schema")
	w.member("title", title)
	w.record(root.Doc, root.When, root.Fields)
	if len(w.todo) > 0 {
		w.Key("$defs").Object(true)
		for len(w.todo) > 0 {
			next := w.todo[0]
			w.todo = w.todo[1:]
			w.Key(next.name).Object(true)
			next.write()
			w.End()
		}
		w.End()
	}
	w.End()
	return append(w.Bytes(), '\n')
}

// A definition is a named part of a schema that has been referred to.
type definition struct {
	name  string
	write func()
}

type schemaWriter struct {
	Writer
	done map[string]bool // names in todo, or written
	todo []definition
}

func (w *schemaWriter) member(name, s string) { w.Key(name).String(s) }

func (w *schemaWriter) number(name string, x float64) { w.Key(name).Number(x) }

func (w *schemaWriter) flag(name string, b bool) { w.Key(name).Bool(b) }

func (w *schemaWriter) refer(name string, write func()) {
	if !w.done[name] {
		w.done[name] = true
		w.todo = append(w.todo, definition{name, write})
	}
	w.member("$ref", "#/$defs/"+name)
}

// record writes the members of the schema of an object with fields.
func (w *schemaWriter) record(doc string, when *When, fields ...[]Field) {
	if doc != "" {
		w.member("description", doc)
	}
	w.member("type", "object")
	w.Key("properties").Object(true)
	for _, fs := range fields {
		for _, f := range fs {
			w.Key(f.Name).Object(true)
			if f.Doc != "" {
				w.member("description", ofVersion(f.Doc, f.Since))
			}
			f.Shape.schema(w)
			w.End()
		}
	}
	w.End()
	var always, otherwise []string
	for _, fs := range fields {
		for _, f := range fs {
			switch {
			case !f.Required:
			case when != nil && slices.Contains(when.Without, f.Name):
				otherwise = append(otherwise, f.Name)
			default:
				always = append(always, f.Name)
			}
		}
	}
	w.required(always)
	w.flag("additionalProperties", false)
	if when != nil {
		w.when(when, otherwise)
	}
}

func (w *schemaWriter) required(names []string) {
	w.Key("required").List(true)
	for _, name := range names {
		w.String(name)
	}
	w.End()
}

// when writes what depends on a flag; otherwise are the fields that are required where it
// is not true.
func (w *schemaWriter) when(when *When, otherwise []string) {
	w.Key("if").Object(true)
	w.Key("properties").Object(true)
	w.Key(when.Flag).Object(true)
	w.flag("const", true)
	w.End()
	w.End()
	w.required([]string{when.Flag})
	w.End()
	w.Key("then").Object(true)
	w.Key("properties").Object(true)
	for _, name := range when.Without {
		w.flag(name, false)
	}
	w.End()
	w.End()
	w.Key("else").Object(true)
	w.required(otherwise)
	w.End()
}

// ofVersion adds to a description the version that brought what it describes.
func ofVersion(doc string, since int) string {
	if since == 0 {
		return doc
	}
	return doc + " From version " + strconv.Itoa(since) + " on."
}

func (s *Record) schema(w *schemaWriter) {
	w.refer(s.Name, func() { w.record(s.Doc, s.When, s.Fields) })
}

func (s *Union) schema(w *schemaWriter) {
	w.refer(s.Name, func() {
		if s.Doc != "" {
			w.member("description", s.Doc)
		}
		w.Key("oneOf").List(true)
		for i := range s.Kinds {
			k := &s.Kinds[i]
			w.Object(true)
			w.refer(s.Name+"-"+k.Tag, func() {
				tag := []Field{{Name: s.Tag, Shape: Text{Enum: []string{k.Tag}}, Required: true}}
				w.record(ofVersion(k.Doc, k.Since), nil, tag, s.Common, k.Fields)
				if len(k.OneOf) > 0 {
					w.Key("oneOf").List(true)
					for _, name := range k.OneOf {
						w.Object(true)
						w.Key("required").List(true)
						w.String(name)
						w.End()
						w.End()
					}
					w.End()
				}
			})
			w.End()
		}
		w.End()
	})
}

func (s Map) schema(w *schemaWriter) {
	w.member("type", "object")
	if s.Key != nil {
		w.Key("propertyNames").Object(true)
		s.Key.schema(w)
		w.End()
	}
	w.Key("additionalProperties").Object(true)
	s.Each.schema(w)
	w.End()
}

func (s Items) schema(w *schemaWriter) {
	w.member("type", "array")
	if s.Least > 0 {
		w.number("minItems", float64(s.Least))
	}
	if s.Most > 0 {
		w.number("maxItems", float64(s.Most))
	}
	w.Key("items").Object(true)
	s.Each.schema(w)
	w.End()
}

func (f *Form) schema(w *schemaWriter) {
	w.member("pattern", f.Pattern)
	if f.Format != "" {
		w.member("format", f.Format)
	}
}

func (s Text) schema(w *schemaWriter) {
	w.member("type", "string")
	switch {
	case len(s.Enum) == 1:
		w.member("const", s.Enum[0])
	case len(s.Enum) > 1:
		w.Key("enum").List(true)
		for _, e := range s.Enum {
			w.String(e)
		}
		w.End()
	case s.Form != nil:
		s.Form.schema(w)
	}
}

func (s Real) schema(w *schemaWriter) {
	if s.Whole {
		w.member("type", "integer")
	} else {
		w.member("type", "number")
	}
	if s.Least != nil {
		w.number("minimum", *s.Least)
	}
	if s.Above != nil {
		w.number("exclusiveMinimum", *s.Above)
	}
	if s.Most != nil {
		w.number("maximum", *s.Most)
	}
}

func (Flag) schema(w *schemaWriter) { w.member("type", "boolean") }

func (Any) schema(*schemaWriter) {}
