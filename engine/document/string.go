package document

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// AppendString adds s to b as a JSON string. What is not UTF-8 in s becomes U+FFFD;
// the marks U+2028 and U+2029 are escaped, for scripts take them as ends of lines.
func AppendString(b []byte, s string) []byte {
	const digits = "0123456789abcdef"
	b = append(b, '"')
	for i := 0; i < len(s); {
		c := s[i]
		if c < utf8.RuneSelf {
			switch {
			case c == '"' || c == '\\':
				b = append(b, '\\', c)
			case c == '\n':
				b = append(b, '\\', 'n')
			case c == '\r':
				b = append(b, '\\', 'r')
			case c == '\t':
				b = append(b, '\\', 't')
			case c < ' ' || c == 0x7f:
				b = append(b, '\\', 'u', '0', '0', digits[c>>4], digits[c&15])
			default:
				b = append(b, c)
			}
			i++
			continue
		}
		r, size := utf8.DecodeRuneInString(s[i:])
		switch r {
		case '\u2028':
			b = append(b, `\u2028`...)
		case '\u2029':
			b = append(b, `\u2029`...)
		default:
			b = utf8.AppendRune(b, r)
		}
		i += size
	}
	return append(b, '"')
}

// Steers reports the signs that steer a terminal or a page rather than say something:
// controls, marks of direction, marks without width, private signs, and ends of lines.
func Steers(r rune) bool {
	return unicode.In(r, unicode.Cc, unicode.Cf, unicode.Co, unicode.Zl, unicode.Zp)
}

// Line returns a stranger's text fit for one line: what ends a line or moves along it is a
// space, and what else steers is left out.
func Line(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\t', r == '\r', r == '\u2028', r == '\u2029':
			return ' '
		case Steers(r):
			return -1
		}
		return r
	}, s)
}

// Plain returns a stranger's text fit for a page: with its line feeds and tabs, and without
// what else steers.
func Plain(s string) string {
	return strings.Map(func(r rune) rune {
		if r != '\n' && r != '\t' && Steers(r) {
			return -1
		}
		return r
	}, s)
}
