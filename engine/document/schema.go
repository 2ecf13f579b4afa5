package document

import (
	"bytes"
	"encoding/json"
	"slices"
	"strconv"
)

// Schema returns the shape as a JSON Schema (draft 2020-12), indented by two spaces,
// ending in a newline. It says what a Shape says; what a decoder checks beyond
// (references, sums, ratios, and that a file of an early version has no later fields) no
// schema here does.
func Schema(title string, root *Record) []byte {
	w := &schemaWriter{done: map[string]bool{}}
	w.open('{')
	w.member("$schema", "https://json-schema.org/draft/2020-12/schema")
	w.member("title", title)
	w.record(root.Doc, root.When, root.Fields)
	if len(w.todo) > 0 {
		w.key("$defs")
		w.open('{')
		for len(w.todo) > 0 {
			next := w.todo[0]
			w.todo = w.todo[1:]
			w.key(next.name)
			w.open('{')
			next.write()
			w.close('}')
		}
		w.close('}')
	}
	w.close('}')
	var out bytes.Buffer
	if err := json.Indent(&out, w.b, "", "  "); err != nil {
		return nil // cannot be: the writer closes what it opens
	}
	out.WriteByte('\n')
	return out.Bytes()
}

// A definition is a named part of a schema that has been referred to.
type definition struct {
	name  string
	write func()
}

type schemaWriter struct {
	b    []byte
	done map[string]bool // names in todo, or written
	todo []definition
}

func (w *schemaWriter) comma() {
	if n := len(w.b); n > 0 && w.b[n-1] != '{' && w.b[n-1] != '[' && w.b[n-1] != ':' {
		w.b = append(w.b, ',')
	}
}

func (w *schemaWriter) open(c byte) {
	w.comma()
	w.b = append(w.b, c)
}

func (w *schemaWriter) close(c byte) { w.b = append(w.b, c) }

func (w *schemaWriter) key(name string) {
	w.comma()
	w.b = AppendString(w.b, name)
	w.b = append(w.b, ':')
}

func (w *schemaWriter) text(s string) {
	w.comma()
	w.b = AppendString(w.b, s)
}

func (w *schemaWriter) member(name, s string) {
	w.key(name)
	w.text(s)
}

func (w *schemaWriter) number(name string, x float64) {
	w.key(name)
	w.b = append(w.b, Number64(x)...)
}

func (w *schemaWriter) flag(name string, b bool) {
	w.key(name)
	w.b = strconv.AppendBool(w.b, b)
}

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
	w.key("properties")
	w.open('{')
	for _, fs := range fields {
		for _, f := range fs {
			w.key(f.Name)
			w.open('{')
			if f.Doc != "" {
				w.member("description", ofVersion(f.Doc, f.Since))
			}
			f.Shape.schema(w)
			w.close('}')
		}
	}
	w.close('}')
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
	w.key("required")
	w.open('[')
	for _, name := range names {
		w.text(name)
	}
	w.close(']')
}

// when writes what depends on a flag; otherwise are the fields that are required where it
// is not true.
func (w *schemaWriter) when(when *When, otherwise []string) {
	w.key("if")
	w.open('{')
	w.key("properties")
	w.open('{')
	w.key(when.Flag)
	w.open('{')
	w.flag("const", true)
	w.close('}')
	w.close('}')
	w.required([]string{when.Flag})
	w.close('}')
	w.key("then")
	w.open('{')
	w.key("properties")
	w.open('{')
	for _, name := range when.Without {
		w.flag(name, false)
	}
	w.close('}')
	w.close('}')
	w.key("else")
	w.open('{')
	w.required(otherwise)
	w.close('}')
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
		w.key("oneOf")
		w.open('[')
		for i := range s.Kinds {
			k := &s.Kinds[i]
			w.open('{')
			w.refer(s.Name+"-"+k.Tag, func() {
				tag := []Field{{Name: s.Tag, Shape: Text{Enum: []string{k.Tag}}, Required: true}}
				w.record(ofVersion(k.Doc, k.Since), nil, tag, s.Common, k.Fields)
				if len(k.OneOf) > 0 {
					w.key("oneOf")
					w.open('[')
					for _, name := range k.OneOf {
						w.open('{')
						w.key("required")
						w.open('[')
						w.text(name)
						w.close(']')
						w.close('}')
					}
					w.close(']')
				}
			})
			w.close('}')
		}
		w.close(']')
	})
}

func (s Map) schema(w *schemaWriter) {
	w.member("type", "object")
	if s.Key != nil {
		w.key("propertyNames")
		w.open('{')
		s.Key.schema(w)
		w.close('}')
	}
	w.key("additionalProperties")
	w.open('{')
	s.Each.schema(w)
	w.close('}')
}

func (s Items) schema(w *schemaWriter) {
	w.member("type", "array")
	if s.Least > 0 {
		w.number("minItems", float64(s.Least))
	}
	if s.Most > 0 {
		w.number("maxItems", float64(s.Most))
	}
	w.key("items")
	w.open('{')
	s.Each.schema(w)
	w.close('}')
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
		w.key("enum")
		w.open('[')
		for _, e := range s.Enum {
			w.text(e)
		}
		w.close(']')
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
