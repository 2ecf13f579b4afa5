package report

import (
	"strings"
	"unicode"

	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/trail"
)

// Markdown is the report as CommonMark with the widespread form of tables.
func Markdown(w *words.Words, m *model.Model, t *trail.Trail, a *trail.Account) string {
	r := Of(w, m, t, a)
	var b strings.Builder
	b.WriteString("# " + escape(r.Title) + "\n")
	for _, s := range r.Sections {
		b.WriteString("\n## " + escape(s.Title) + "\n\n")
		for _, line := range s.Lines {
			b.WriteString("- " + escape(line) + "\n")
		}
		if len(s.Rows) == 0 {
			continue
		}
		if len(s.Lines) > 0 {
			b.WriteString("\n")
		}
		row(&b, s.Head)
		b.WriteString("|" + strings.Repeat(" --- |", len(s.Head)) + "\n")
		for _, cells := range s.Rows {
			row(&b, cells)
		}
	}
	return b.String()
}

func row(b *strings.Builder, cells []string) {
	b.WriteString("|")
	for _, c := range cells {
		b.WriteString(" " + escape(c) + " |")
	}
	b.WriteString("\n")
}

// escape makes text mean itself in Markdown: one line, every ASCII sign that could
// begin something escaped, and no address that a reader would turn into a link.
func escape(s string) string {
	var b strings.Builder
	for _, r := range Plain(s) {
		switch {
		case r == '\n':
			b.WriteByte(' ')
		case strings.ContainsRune("\\`*_{}[]<>()#+-.!|~&:@=\"'$^", r):
			b.WriteByte('\\')
			b.WriteRune(r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// Plain returns a text without the signs that steer rather than say: control
// characters but the line feed, direction marks and overrides, zero-width signs.
func Plain(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\t':
			return r
		case unicode.Is(unicode.Cc, r), unicode.Is(unicode.Cf, r), unicode.Is(unicode.Co, r), r == '\u2028', r == '\u2029', r == unicode.ReplacementChar:
			return -1
		}
		return r
	}, s)
}
