package document

// Format returns the text of the field format of the object that text holds, for a
// program that has to tell kinds of files apart before it loads one. It is "" if there
// is none, and if the text cannot be read as far as that field.
func Format(text []byte, l Limits) string {
	r := NewReport(text)
	l.Keep = 1
	r.Read(l)
	if len(r.tree.nodes) == 0 {
		return ""
	}
	s, _ := Value{&r.tree, 0}.Get("format").Text()
	return s
}
