package document

import (
	"slices"
	"strconv"
	"strings"
)

// A Shape is the form that a value must have: one of *Record, *Union, Map, Items,
// Text, Real, Flag and Any.
type Shape interface {
	// check reports where v, which exists, differs from the shape.
	check(r *Report, v Value)
	schema(w *schemaWriter)
}

// A Field is one field of a record.
type Field struct {
	Name     string
	Shape    Shape
	Required bool
	Since    int    // the version of the format that brought it; 0 is the first
	Doc      string // one sentence for people who write such files
}

// A Record is an object with known fields.
type Record struct {
	Name   string // in a schema's $defs, and with its article in messages
	Doc    string
	Fields []Field
	When   *When // nil if its fields do not depend on each other
}

// When is what holds for a record whose field Flag is true: it has none of the fields
// Without, which are not required then.
type When struct {
	Flag    string
	Without []string
	Found   string // what to say of a field that is there all the same
}

// A Union is an object whose field Tag tells which further fields it has.
type Union struct {
	Name   string
	Doc    string
	Tag    string
	Common []Field // of every kind, the tag itself left out
	Kinds  []Variant
}

// A Variant is one kind of a Union.
type Variant struct {
	Tag    string
	Since  int // the version of the format that brought it; 0 is the first
	Doc    string
	Fields []Field
	OneOf  []string // of these fields, none Required, exactly one must be there
}

// A Map is an object with keys of one form and values of one shape.
type Map struct {
	Key  *Form
	Each Shape
}

// Items is a list of Least to Most entries of one shape; Most 0 means no limit.
type Items struct {
	Least, Most int
	Each        Shape
}

// Text is a string: one of Enum if there are any, of a Form if there is one.
type Text struct {
	Enum []string
	Form *Form
}

// A Form is what a string may be, told to schemas as a pattern and to the program as a function,
// so that the page's program does without package regexp.
type Form struct {
	Noun    string            // with its article, as in "an id"
	Pattern string            // an ECMA 262 regular expression
	Format  string            // JSON Schema's name for it, "" if it has none
	Match   func(string) bool // reports whether Pattern fits, and what no pattern can say does too
}

// Real is a number, finite and within the bounds that are set.
type Real struct {
	Whole bool
	Least *float64
	Above *float64
	Most  *float64
}

// Flag is true or false.
type Flag struct{}

// Any is whatever there is, as what was passed over by Limits.Keep.
type Any struct{}

// Bound returns a bound for a Real.
func Bound(x float64) *float64 { return &x }

// Check reports where v differs from the shape s, of which all versions' fields are taken.
func Check(r *Report, v Value, s Shape) { CheckVersion(r, v, s, 0) }

// CheckVersion is Check for a file of an earlier version of the format: fields and kinds
// that came later are defects. Version 0 is the latest.
func CheckVersion(r *Report, v Value, s Shape, version int) {
	r.version = version
	if v.Exists() {
		s.check(r, v)
	}
}

// tooNew reports whether what version since brought may not stand in the file, and a
// defect of v if so.
func tooNew(r *Report, v Value, since int) bool {
	if r.version == 0 || since <= r.version {
		return false
	}
	r.Add(v, "of version %d, this file is of version %d", since, r.version)
	return true
}

// is reports whether v is of kind k, and a defect if it is of another.
func is(r *Report, v Value, k Kind) bool {
	switch v.Kind() {
	case k:
		return true
	case Broken, Absent: // reported when it was read
		return false
	}
	r.Add(v, "%s, want %s", v.Kind(), k)
	return false
}

func (s *Record) check(r *Report, v Value) {
	if is(r, v, Object) {
		checkFields(r, v, "", s.without(r, v), s.Fields)
	}
}

// without returns the fields that v may not have because of its flag, and reports those
// that it has.
func (s *Record) without(r *Report, v Value) []string {
	if s.When == nil {
		return nil
	}
	if set, _ := v.Get(s.When.Flag).Bool(); !set {
		return nil
	}
	for _, name := range s.When.Without {
		if member := v.Get(name); member.Exists() {
			r.Add(member, "%s", s.When.Found)
		}
	}
	return s.When.Without
}

// checkFields holds the members of v against the fields it may have; owner is the
// kind of object if some fields belong to other kinds. Fields that are without are not
// looked at.
func checkFields(r *Report, v Value, owner string, without []string, fields ...[]Field) {
	for key, member := range v.Members() {
		if f := findField(key, fields); f != nil {
			if !slices.Contains(without, key) && !tooNew(r, member, f.Since) {
				f.Shape.check(r, member)
			}
			continue
		}
		if near := nearField(key, fields); near != "" {
			r.Add(member, "unknown field, names are case-sensitive: %q", near)
			continue
		}
		if owner != "" {
			r.Add(member, "unknown field of %s", owner)
			continue
		}
		r.Add(member, "unknown field")
	}
	for _, fs := range fields {
		for i := range fs {
			if fs[i].Required && !v.Get(fs[i].Name).Exists() && !slices.Contains(without, fs[i].Name) {
				r.AddMissing(v, fs[i].Name)
			}
		}
	}
}

func findField(key string, fields [][]Field) *Field {
	for _, fs := range fields {
		for i := range fs {
			if fs[i].Name == key {
				return &fs[i]
			}
		}
	}
	return nil
}

// nearField returns the field that key differs from only in case.
func nearField(key string, fields [][]Field) string {
	for _, fs := range fields {
		for i := range fs {
			if strings.EqualFold(fs[i].Name, key) {
				return fs[i].Name
			}
		}
	}
	return ""
}

func (s *Union) check(r *Report, v Value) {
	if !is(r, v, Object) {
		return
	}
	tag := v.Get(s.Tag)
	name, ok := tag.Text()
	for i := range s.Kinds {
		if k := &s.Kinds[i]; ok && k.Tag == name {
			if tooNew(r, tag, k.Since) {
				return
			}
			checkFields(r, v, Quote(name)+" "+s.Name, nil, []Field{{Name: s.Tag, Shape: Text{Enum: []string{name}}}}, s.Common, k.Fields)
			s.one(r, v, k)
			return
		}
	}
	// The kind is not known, so neither are its fields; the common ones are.
	switch {
	case !tag.Exists():
		r.AddMissing(v, s.Tag)
	case tag.Kind() == String:
		Text{Enum: s.tags(r.version)}.check(r, tag)
	default:
		is(r, tag, String)
	}
	for i := range s.Common {
		f := &s.Common[i]
		if member := v.Get(f.Name); member.Exists() {
			f.Shape.check(r, member)
		} else if f.Required {
			r.AddMissing(v, f.Name)
		}
	}
}

// tags lists the kinds that a version of the format has.
func (s *Union) tags(version int) []string {
	var all []string
	for _, k := range s.Kinds {
		if version == 0 || k.Since <= version {
			all = append(all, k.Tag)
		}
	}
	return all
}

// one reports where not exactly one of the fields of k.OneOf is there.
func (s *Union) one(r *Report, v Value, k *Variant) {
	if len(k.OneOf) == 0 {
		return
	}
	found := 0
	for _, name := range k.OneOf {
		if v.Get(name).Exists() {
			found++
		}
	}
	if found != 1 {
		r.Add(v, "%d of the fields %s, want exactly one", found, list(k.OneOf, "and"))
	}
}

// list joins quoted names.
func list(names []string, last string) string {
	var b strings.Builder
	for i, n := range names {
		switch {
		case i == 0:
		case i == len(names)-1:
			b.WriteString(" " + last + " ")
		default:
			b.WriteString(", ")
		}
		b.WriteString(Quote(n))
	}
	return b.String()
}

func (s Map) check(r *Report, v Value) {
	if !is(r, v, Object) {
		return
	}
	for key, member := range v.Members() {
		if s.Key != nil && !s.Key.Match(key) {
			r.Add(member, "the key %s is not %s", Quote(key), s.Key.Noun)
		}
		s.Each.check(r, member)
	}
}

func (s Items) check(r *Report, v Value) {
	if !is(r, v, List) {
		return
	}
	if n := v.Len(); n < s.Least {
		r.Add(v, "%d entries, want at least %d", n, s.Least)
	} else if s.Most > 0 && n > s.Most {
		r.Add(v, "%d entries, want at most %d", n, s.Most)
	}
	for _, each := range v.Items() {
		s.Each.check(r, each)
	}
}

func (s Text) check(r *Report, v Value) {
	if !is(r, v, String) || len(s.Enum) == 0 && s.Form == nil {
		return
	}
	text, _ := v.Text()
	if len(s.Enum) > 0 {
		for _, e := range s.Enum {
			if text == e {
				return
			}
		}
		r.Add(v, "%s, want %s", Quote(text), list(s.Enum, "or"))
		return
	}
	if s.Form != nil && !s.Form.Match(text) {
		r.Add(v, "%s is not %s", Quote(text), s.Form.Noun)
	}
}

func (s Real) check(r *Report, v Value) {
	if !is(r, v, Number) {
		return
	}
	x, ok := v.Float()
	if !ok {
		r.Add(v, "%s is not finite as a number of 64 bits", cut([]byte(v.Raw())))
		return
	}
	found := cut([]byte(v.Raw()))
	if s.Whole {
		if _, ok := v.Int(); !ok {
			r.Add(v, "%s, want a whole number", found)
			return
		}
	}
	switch {
	case s.Least != nil && s.Most != nil && *s.Least == *s.Most && x != *s.Least:
		r.Add(v, "%s, want %s", found, Number64(*s.Least))
	case s.Above != nil && !(x > *s.Above):
		r.Add(v, "%s, want above %s", found, Number64(*s.Above))
	case s.Least != nil && x < *s.Least:
		r.Add(v, "%s, want at least %s", found, Number64(*s.Least))
	case s.Most != nil && x > *s.Most:
		r.Add(v, "%s, want at most %s", found, Number64(*s.Most))
	}
}

// Number64 writes x as the shortest decimal that reads back to it.
func Number64(x float64) string {
	format := byte('g')
	if x == 0 || (x >= 1e-4 && x < 1e15) || (x <= -1e-4 && x > -1e15) {
		format = 'f'
	}
	return strconv.FormatFloat(x, format, -1, 64)
}

func (Flag) check(r *Report, v Value) { is(r, v, Bool) }

func (Any) check(*Report, Value) {}
