package main

import (
	"fmt"
	"io"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"pitwise/engine/document"
)

// steady writes JSON with every sign that steers a terminal escaped. Such signs can stand
// in strings alone, where an escape means the same, so that what is read back is the same.
// Each write must be whole characters.
type steady struct{ w io.Writer }

func (s steady) Write(text []byte) (int, error) {
	calm := make([]byte, 0, len(text))
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRune(text[i:])
		if r != '\n' && document.Steers(r) {
			if a, b := utf16.EncodeRune(r); b != unicode.ReplacementChar {
				calm = fmt.Appendf(calm, `\u%04x\u%04x`, a, b)
			} else {
				calm = fmt.Appendf(calm, `\u%04x`, r)
			}
		} else {
			calm = append(calm, text[i:i+size]...)
		}
		i += size
	}
	if _, err := s.w.Write(calm); err != nil {
		return 0, err
	}
	return len(text), nil
}
