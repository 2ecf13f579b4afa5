package document

import (
	"bytes"
	"iter"
	"math"
	"strconv"
	"unicode/utf16"
	"unicode/utf8"
)

// Kind is the kind of a JSON value.
type Kind uint8

const (
	Absent Kind = iota // the zero Value: nothing there
	Broken             // there, but already reported as not JSON
	Null
	Bool
	Number
	String
	List
	Object
)

// String names a kind with its article, as in "a number".
func (k Kind) String() string {
	switch k {
	case Absent:
		return "nothing"
	case Broken:
		return "no JSON value"
	case Null:
		return "null"
	case Bool:
		return "a true or false"
	case Number:
		return "a number"
	case String:
		return "a string"
	case List:
		return "a list"
	case Object:
		return "an object"
	}
	return "an unknown kind"
}

// A tree is a text and its values in document order. A key stands before its value
// as a node of its own.
type tree struct {
	of      string    // where the root stands in a larger text, "" if it is the whole
	counted *position // of that text
	text    []byte
	nodes   []node
}

// A node is one value or key. Zero is the root, so zero also says "none" in next.
type node struct {
	kind    Kind
	escaped bool  // a string with backslashes
	again   bool  // the value of a key that its object has already
	start   int32 // first byte
	end     int32 // after the last byte
	parent  int32 // -1 for the root
	next    int32 // next value in the same list or object
	index   int32 // in a list: position; in an object: the node of the key
	count   int32 // entries of a list or object
}

// A Value is one value of a tree that was read. The zero Value is an absent one;
// all methods work on it.
type Value struct {
	tree *tree
	at   int32
}

// Exists reports whether the value is there.
func (v Value) Exists() bool { return v.tree != nil }

func (v Value) node() *node { return &v.tree.nodes[v.at] }

// Kind returns the kind of the value, Absent for the zero Value.
func (v Value) Kind() Kind {
	if v.tree == nil {
		return Absent
	}
	return v.node().kind
}

// Len returns the number of entries of a list or an object, 0 for other values.
// Keys given twice count twice.
func (v Value) Len() int {
	if v.tree == nil {
		return 0
	}
	return int(v.node().count)
}

// Items yields the entries of a list in order; none for other values.
func (v Value) Items() iter.Seq2[int, Value] {
	return func(yield func(int, Value) bool) {
		if v.Kind() != List || v.Len() == 0 {
			return
		}
		i := 0
		for at := v.at + 1; at != 0; at = v.tree.nodes[at].next {
			if !yield(i, Value{v.tree, at}) {
				return
			}
			i++
		}
	}
}

// Members yields the keys and values of an object in document order, of a key that
// is given twice only the first; none for other values.
func (v Value) Members() iter.Seq2[string, Value] {
	return func(yield func(string, Value) bool) {
		if v.Kind() != Object || v.Len() == 0 {
			return
		}
		for at := v.at + 2; at != 0; at = v.tree.nodes[at].next {
			n := &v.tree.nodes[at]
			if n.again {
				continue
			}
			if !yield(v.tree.str(n.index), Value{v.tree, at}) {
				return
			}
		}
	}
}

// Get returns the member of an object with that name, the zero Value if there is
// none. It takes time linear in the number of members.
func (v Value) Get(name string) Value {
	if v.Kind() != Object || v.Len() == 0 {
		return Value{}
	}
	for at := v.at + 2; at != 0; at = v.tree.nodes[at].next {
		if v.tree.same(v.tree.nodes[at].index, name) {
			return Value{v.tree, at}
		}
	}
	return Value{}
}

// Text returns the characters of a string. Whatever is not Unicode in it has been
// reported, and stands as U+FFFD.
func (v Value) Text() (s string, ok bool) {
	if v.Kind() != String {
		return "", false
	}
	return v.tree.str(v.at), true
}

// Raw returns the characters of the value as the file has them.
func (v Value) Raw() string {
	if v.tree == nil {
		return ""
	}
	n := v.node()
	return string(v.tree.text[n.start:n.end])
}

// Span returns where the value stands in its text: its first byte and the one after its
// last; 0 and 0 for an absent value.
func (v Value) Span() (start, end int) {
	if v.tree == nil {
		return 0, 0
	}
	n := v.node()
	return int(n.start), int(n.end)
}

// Part returns a report on the value alone, as part of its text: what it reads has its lines
// and places in the whole. It is for values that were passed over by Limits.Keep.
func (v Value) Part() *Report {
	n := v.node()
	r := NewReport(v.tree.text)
	r.start, r.end, r.tree.of, r.tree.counted = int(n.start), int(n.end), v.Place(), v.tree.counted
	return r
}

// Float returns a number as the nearest float64; ok is false for other values and
// for numbers too large for one.
func (v Value) Float() (x float64, ok bool) {
	if v.Kind() != Number {
		return 0, false
	}
	x, err := strconv.ParseFloat(v.Raw(), 64)
	return x, err == nil && !math.IsInf(x, 0)
}

// Int returns a number that is whole, however it is written (1, 1.0, 10e-1), and
// at most 2^53 in size.
func (v Value) Int() (i int, ok bool) {
	x, ok := v.Float()
	if !ok || x != math.Trunc(x) || math.Abs(x) > 1<<53 {
		return 0, false
	}
	if int64(int(x)) != int64(x) {
		return 0, false // an int of 32 bits
	}
	return int(x), true
}

// Bool returns a true or false.
func (v Value) Bool() (b, ok bool) {
	if v.Kind() != Bool {
		return false, false
	}
	return v.tree.text[v.node().start] == 't', true
}

// Place returns the way from the root to the value, "" for the root.
func (v Value) Place() string {
	if v.tree == nil {
		return ""
	}
	return v.tree.place(v.at)
}

func (t *tree) place(at int32) string {
	var way []int32
	for ; at >= 0 && t.nodes[at].parent >= 0; at = t.nodes[at].parent {
		way = append(way, at)
	}
	b := []byte(t.of)
	for i := len(way) - 1; i >= 0; i-- {
		n := &t.nodes[way[i]]
		if t.nodes[n.parent].kind == List {
			b = append(b, '[')
			b = strconv.AppendInt(b, int64(n.index), 10)
			b = append(b, ']')
		} else {
			b = appendKey(b, t.str(n.index))
		}
	}
	return string(b)
}

// appendKey adds one key to a place.
func appendKey(b []byte, key string) []byte {
	if plain(key) {
		if len(b) > 0 {
			b = append(b, '.')
		}
		return append(b, key...)
	}
	b = append(b, '[')
	b = append(b, Quote(key)...)
	return append(b, ']')
}

// plain reports whether a key can stand in a place without quotes.
func plain(key string) bool {
	if key == "" || len(key) > quoteLimit {
		return false
	}
	for i := 0; i < len(key); i++ {
		c := key[i]
		if c != '_' && (c < 'a' || c > 'z') && (c < 'A' || c > 'Z') && (i == 0 || c < '0' || c > '9') {
			return false
		}
	}
	return true
}

// quoteLimit is how many characters of a stranger's text a message shows.
const quoteLimit = 60

// Quote puts a stranger's text in double quotes for a message: at most 60
// characters of it, and nothing in it that does not print (no controls, no marks
// that turn the direction of writing).
func Quote(s string) string {
	n := 0
	for i := range s {
		if n == quoteLimit {
			q := strconv.Quote(s[:i])
			return q[:len(q)-1] + `…"`
		}
		n++
	}
	return strconv.Quote(s)
}

// same reports whether the string node at is s.
func (t *tree) same(at int32, s string) bool {
	n := &t.nodes[at]
	if n.escaped || n.kind == Broken {
		return t.str(at) == s
	}
	return string(t.text[n.start+1:n.end-1]) == s
}

// str returns the characters of the string node at.
func (t *tree) str(at int32) string {
	n := &t.nodes[at]
	raw := t.text[n.start+1 : n.end]
	if n.kind != Broken { // a string that does not end, and is reported
		raw = raw[:len(raw)-1]
	}
	if !n.escaped {
		return valid(raw)
	}
	b := make([]byte, 0, len(raw))
	for i := 0; i < len(raw); {
		if raw[i] != '\\' {
			r, size := utf8.DecodeRune(raw[i:])
			b = utf8.AppendRune(b, r)
			i += size
			continue
		}
		if i+1 >= len(raw) {
			break
		}
		c := raw[i+1]
		i += 2
		switch c {
		case 'b':
			b = append(b, '\b')
		case 'f':
			b = append(b, '\f')
		case 'n':
			b = append(b, '\n')
		case 'r':
			b = append(b, '\r')
		case 't':
			b = append(b, '\t')
		case 'u':
			r, ok := hex4(raw[i:])
			if !ok {
				b = utf8.AppendRune(b, utf8.RuneError)
				continue
			}
			i += 4
			if utf16.IsSurrogate(r) && i+1 < len(raw) && raw[i] == '\\' && raw[i+1] == 'u' {
				if low, ok := hex4(raw[i+2:]); ok {
					if pair := utf16.DecodeRune(r, low); pair != utf8.RuneError {
						b = utf8.AppendRune(b, pair)
						i += 6
						continue
					}
				}
			}
			b = utf8.AppendRune(b, r) // U+FFFD for a lone surrogate
		default:
			b = append(b, c)
		}
	}
	return valid(b)
}

// valid returns b with U+FFFD for what is not UTF-8.
func valid(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	return string(bytes.ToValidUTF8(b, []byte("\uFFFD")))
}

// hex4 reads four hexadecimal digits.
func hex4(b []byte) (r rune, ok bool) {
	if len(b) < 4 {
		return 0, false
	}
	for _, c := range b[:4] {
		switch {
		case '0' <= c && c <= '9':
			c -= '0'
		case 'a' <= c && c <= 'f':
			c -= 'a' - 10
		case 'A' <= c && c <= 'F':
			c -= 'A' - 10
		default:
			return 0, false
		}
		r = r<<4 | rune(c)
	}
	return r, true
}
