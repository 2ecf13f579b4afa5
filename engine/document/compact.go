package document

// AppendCompact adds a JSON text to b without the blanks between its values.
func AppendCompact(b, text []byte) []byte {
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case ' ', '\t', '\n', '\r':
		case '"':
			start := i
			for i++; i < len(text) && text[i] != '"'; i++ {
				if text[i] == '\\' {
					i++
				}
			}
			b = append(b, text[start:min(i+1, len(text))]...)
		default:
			b = append(b, text[i])
		}
	}
	return b
}
