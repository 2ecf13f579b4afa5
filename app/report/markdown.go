package report

import (
	"strings"

	"pitwise/app/words"
	"pitwise/engine/document"
)

// Markdown is the report as CommonMark with the widespread form of tables.
func Markdown(w *words.Words, u Unit) string {
	r := Of(w, u)
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
		for _, r := range s.Rows {
			row(&b, r.Cells)
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

// escape makes text mean itself in Markdown: one line, the signs that mean
// something escaped where they do, and no address that a reader would turn into a
// link. What means nothing stays readable.
func escape(s string) string {
	var b strings.Builder
	text := []rune(strings.TrimSpace(strings.ReplaceAll(Plain(s), "\n", " ")))
	next := func(i int) rune {
		if i+1 < len(text) {
			return text[i+1]
		}
		return 0
	}
	number := true // only digits so far: "1." would begin a list
	for i, r := range text {
		switch {
		case strings.ContainsRune("\\`*_{}[]<>|~&$^!@", r),
			r == ':' && next(i) == '/',
			r == '.' && i >= 3 && strings.EqualFold(string(text[i-3:i]), "www"),
			i == 0 && strings.ContainsRune("#+-=", r),
			i > 0 && number && (r == '.' || r == ')') && (next(i) == ' ' || next(i) == 0):
			b.WriteByte('\\')
		}
		number = number && r >= '0' && r <= '9'
		b.WriteRune(r)
	}
	return b.String()
}

// Plain returns a text without the signs that steer rather than say.
func Plain(s string) string { return document.Plain(s) }
