package document

import "unicode/utf8"

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
