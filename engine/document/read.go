package document

import (
	"strconv"
	"unicode/utf16"
	"unicode/utf8"
)

// Limits bound what Read takes. All must be above 0.
type Limits struct {
	Bytes  int // length of the text
	Depth  int // lists and objects inside each other
	Values int // values and keys
	Keep   int // lists and objects deeper than this are passed over, for Value.Part to read; 0: none
}

// Read parses the report's text. It reports every defect that it can go on after
// (broken characters, malformed numbers, keys given twice, commas too many, data
// after the end); at one that it cannot, it stops and returns false.
func (r *Report) Read(l Limits) (root Value, ok bool) {
	if n := r.end - r.start; n > l.Bytes {
		r.add(r.start, whole, "", "%d bytes, want at most %d", n, l.Bytes)
		return Value{}, false
	}
	p := parser{report: r, tree: &r.tree, text: r.tree.text[:r.end], at: r.start, limits: l}
	p.space()
	if p.at == len(p.text) {
		r.add(r.start, whole, "", "empty, want a JSON object")
		return Value{}, false
	}
	if !p.value(-1, 0, 0) {
		return Value{}, false
	}
	p.space()
	if p.at < len(p.text) {
		r.add(p.at, textOnly, "", "%s after the end of the document", p.here())
	}
	return Value{&r.tree, 0}, true
}

type parser struct {
	report *Report
	tree   *tree
	text   []byte
	at     int
	limits Limits
}

// stop reports what the parser cannot go on after.
func (p *parser) stop(format string, args ...any) bool {
	p.report.add(p.at, textOnly, "", format, args...)
	return false
}

// here describes the character under the parser.
func (p *parser) here() string {
	if p.at >= len(p.text) {
		return "the end of the file"
	}
	r, size := utf8.DecodeRune(p.text[p.at:])
	switch {
	case r == utf8.RuneError && size <= 1:
		return "the byte 0x" + strconv.FormatUint(uint64(p.text[p.at]), 16)
	case r == '\uFEFF':
		return "a byte order mark"
	case r == '\'':
		return `"'"`
	}
	return Quote(string(r))
}

func (p *parser) space() {
	for p.at < len(p.text) {
		switch p.text[p.at] {
		case ' ', '\t', '\n', '\r':
			p.at++
		default:
			return
		}
	}
}

// peek returns the byte under the parser, 0 at the end.
func (p *parser) peek() byte {
	if p.at < len(p.text) {
		return p.text[p.at]
	}
	return 0
}

// push adds a node that starts here.
func (p *parser) push(kind Kind, parent, index int32) (int32, bool) {
	if len(p.tree.nodes) >= p.limits.Values {
		return 0, p.stop("more than %d values", p.limits.Values)
	}
	p.tree.nodes = append(p.tree.nodes, node{kind: kind, start: int32(p.at), parent: parent, index: index})
	return int32(len(p.tree.nodes) - 1), true
}

// value reads one value. index is its position in a list or the node of its key.
func (p *parser) value(parent, index int32, depth int) bool {
	c := p.peek()
	switch {
	case (c == '{' || c == '[') && p.limits.Keep > 0 && depth >= p.limits.Keep:
		return p.pass(parent, index)
	case c == '{' || c == '[':
		if depth >= p.limits.Depth {
			return p.stop("more than %d lists and objects inside each other", p.limits.Depth)
		}
		if c == '{' {
			return p.object(parent, index, depth+1)
		}
		return p.list(parent, index, depth+1)
	case c == '"':
		at, ok := p.push(String, parent, index)
		return ok && p.str(at, at)
	case wordByte(c):
		at, ok := p.push(Broken, parent, index)
		if ok {
			p.word(at)
		}
		return ok
	}
	return p.stop("%s, want a value", p.here())
}

// pass reads a list or an object to its end and keeps none of what it holds, wrong or not.
func (p *parser) pass(parent, index int32) bool {
	kind := Object
	if p.peek() == '[' {
		kind = List
	}
	at, ok := p.push(kind, parent, index)
	if !ok {
		return false
	}
	start, open := p.at, 0
	for ; p.at < len(p.text); p.at++ {
		switch p.text[p.at] {
		case '{', '[':
			open++
		case '}', ']':
			if open--; open == 0 {
				return p.close(at)
			}
		case '"':
			for p.at++; p.at < len(p.text) && p.text[p.at] != '"'; p.at++ {
				if p.text[p.at] == '\\' {
					p.at++
				}
			}
		}
	}
	p.at = start
	p.tree.nodes[at].kind = Broken
	p.tree.nodes[at].end = int32(len(p.text))
	return p.stop("%s that does not end", kind)
}

func (p *parser) list(parent, index int32, depth int) bool {
	at, ok := p.push(List, parent, index)
	if !ok {
		return false
	}
	p.at++
	p.space()
	if p.peek() == ']' {
		return p.close(at)
	}
	last, count := int32(0), int32(0)
	for {
		next := int32(len(p.tree.nodes))
		if !p.value(at, count, depth) {
			return false
		}
		if last != 0 {
			p.tree.nodes[last].next = next
		}
		last = next
		count++
		p.tree.nodes[at].count = count
		p.space()
		switch p.peek() {
		case ']':
			return p.close(at)
		case ',':
			comma := p.at
			p.at++
			p.space()
			if p.peek() == ']' {
				p.report.add(comma, textOnly, "", `"," before "]"`)
				return p.close(at)
			}
		default:
			return p.stop(`%s, want "," or "]"`, p.here())
		}
	}
}

func (p *parser) object(parent, index int32, depth int) bool {
	at, ok := p.push(Object, parent, index)
	if !ok {
		return false
	}
	p.at++
	p.space()
	if p.peek() == '}' {
		return p.close(at)
	}
	last, count := int32(0), int32(0)
	for {
		if p.peek() != '"' {
			return p.stop("%s, want a key in double quotes", p.here())
		}
		key, ok := p.push(String, at, 0)
		// A key's own defects are shown at the member's place, which is
		// that of its value, the next node.
		if !ok {
			return false
		}
		if !p.str(key, key+1) {
			p.drop(key)
			return false
		}
		p.space()
		if p.peek() != ':' {
			p.drop(key)
			return p.stop(`%s, want ":"`, p.here())
		}
		p.at++
		p.space()
		next := int32(len(p.tree.nodes))
		if !p.value(at, key, depth) {
			p.drop(key)
			return false
		}
		if last != 0 {
			p.tree.nodes[last].next = next
		}
		last = next
		count++
		p.tree.nodes[at].count = count
		p.space()
		switch p.peek() {
		case '}':
			p.again(at)
			return p.close(at)
		case ',':
			comma := p.at
			p.at++
			p.space()
			if p.peek() == '}' {
				p.report.add(comma, textOnly, "", `"," before "}"`)
				p.again(at)
				return p.close(at)
			}
		default:
			return p.stop(`%s, want "," or "}"`, p.here())
		}
	}
}

// drop makes sure that the value of a key exists as a node where reading stopped
// before it, for a defect of the key may point to it.
func (p *parser) drop(key int32) {
	if int32(len(p.tree.nodes)) == key+1 {
		k := p.tree.nodes[key]
		p.tree.nodes = append(p.tree.nodes, node{kind: Broken, start: k.start, end: k.end, parent: k.parent, index: key})
	}
}

func (p *parser) close(at int32) bool {
	p.at++
	p.tree.nodes[at].end = int32(p.at)
	return true
}

// again reports the keys that an object has more than once.
func (p *parser) again(object int32) {
	t := p.tree
	n := t.nodes[object].count
	if n < 2 {
		return
	}
	twice := func(at int32) {
		t.nodes[at].again = true
		p.report.Add(Value{t, at}, "key given twice in one object")
	}
	if n <= 8 { // most objects: cheaper without a map
		for at := object + 2; at != 0; at = t.nodes[at].next {
			for b := object + 2; b != at; b = t.nodes[b].next {
				if t.str(t.nodes[at].index) == t.str(t.nodes[b].index) {
					twice(at)
					break
				}
			}
		}
		return
	}
	seen := make(map[string]bool, n)
	for at := object + 2; at != 0; at = t.nodes[at].next {
		key := t.str(t.nodes[at].index)
		if seen[key] {
			twice(at)
		}
		seen[key] = true
	}
}

// str reads a string into the node at and reports what is wrong in it, once, at the
// place of the node place.
func (p *parser) str(at, place int32) bool {
	start := p.at
	wrong := func(format string, args ...any) {
		if place >= 0 {
			p.report.add(start, place, "", format, args...)
			place = -1
		}
	}
	for p.at++; p.at < len(p.text); {
		c := p.text[p.at]
		switch {
		case c == '"':
			p.at++
			p.tree.nodes[at].end = int32(p.at)
			return true
		case c == '\\':
			p.tree.nodes[at].escaped = true
			if !p.escape(wrong) {
				p.at = len(p.text)
			}
		case c < ' ':
			wrong("control character U+%04X in a string, want it escaped", c)
			p.at++
		case c < utf8.RuneSelf:
			p.at++
		default:
			r, size := utf8.DecodeRune(p.text[p.at:])
			if r == utf8.RuneError && size == 1 {
				wrong("byte 0x%02x in a string is not UTF-8", c)
			}
			p.at += size
		}
	}
	p.at = start
	p.tree.nodes[at].end = int32(len(p.text))
	p.tree.nodes[at].kind = Broken
	return p.stop("a string that does not end")
}

// escape reads what follows a backslash; false at the end of the text.
func (p *parser) escape(wrong func(string, ...any)) bool {
	if p.at+1 >= len(p.text) {
		return false
	}
	c := p.text[p.at+1]
	switch c {
	case '"', '\\', '/', 'b', 'f', 'n', 'r', 't':
		p.at += 2
		return true
	case 'u':
		r, ok := hex4(p.text[p.at+2:])
		if !ok {
			wrong(`\u in a string without four hexadecimal digits`)
			p.at += 2
			return true
		}
		p.at += 6
		if !utf16.IsSurrogate(r) {
			return true
		}
		if p.at+1 < len(p.text) && p.text[p.at] == '\\' && p.text[p.at+1] == 'u' {
			if low, ok := hex4(p.text[p.at+2:]); ok && utf16.DecodeRune(r, low) != utf8.RuneError {
				p.at += 6
				return true
			}
		}
		wrong(`\u%04x in a string is half a surrogate pair`, r)
		return true
	}
	wrong(`"\\" before a character that cannot be escaped in a string`)
	p.at++
	// The character itself is looked at as any other, but a quote
	// would have been an escape, so it is none.
	return true
}

// wordByte reports whether c can stand in a number or a bare word.
func wordByte(c byte) bool {
	return '0' <= c && c <= '9' || 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || c == '+' || c == '-' || c == '.' || c == '_'
}

// word reads a number, true, false or null into the node at.
func (p *parser) word(at int32) {
	start := p.at
	for p.at < len(p.text) && wordByte(p.text[p.at]) {
		p.at++
	}
	n := &p.tree.nodes[at]
	n.end = int32(p.at)
	word := p.text[start:p.at]
	switch {
	case string(word) == "true" || string(word) == "false":
		n.kind = Bool
	case string(word) == "null":
		n.kind = Null
	case number(word):
		n.kind = Number
	case word[0] == '_' || word[0] >= 'A':
		p.report.Add(Value{p.tree, at}, "%s is no JSON value", cut(word))
	default:
		p.report.Add(Value{p.tree, at}, "%s is no JSON number", cut(word))
	}
}

// cut shortens a bare word for a message.
func cut(word []byte) string {
	if len(word) > quoteLimit {
		return string(word[:quoteLimit]) + "…"
	}
	return string(word)
}

// number reports whether b is a number by the grammar of RFC 8259, section 6.
func number(b []byte) bool {
	i := 0
	digits := func() bool {
		from := i
		for i < len(b) && '0' <= b[i] && b[i] <= '9' {
			i++
		}
		return i > from
	}
	if i < len(b) && b[i] == '-' {
		i++
	}
	if i < len(b) && b[i] == '0' {
		i++
	} else if !digits() {
		return false
	}
	if i < len(b) && b[i] == '.' {
		i++
		if !digits() {
			return false
		}
	}
	if i < len(b) && (b[i] == 'e' || b[i] == 'E') {
		i++
		if i < len(b) && (b[i] == '+' || b[i] == '-') {
			i++
		}
		if !digits() {
			return false
		}
	}
	return i == len(b)
}
