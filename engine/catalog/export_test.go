package catalog

import "strings"

// WithPart composes a shipped family that takes one part more, the last.
func WithPart(family, part string, text []byte) ([]byte, error) {
	s, err := newShelf(files)
	if err != nil {
		return nil, err
	}
	s.order = append(s.order, part)
	s.parts[part] = read("parts/"+part+".json", text, partForm)
	own, err := files.ReadFile("families/" + family + ".json")
	if err != nil {
		return nil, err
	}
	head, rest, _ := strings.Cut(string(own), `"takes": [`)
	takes, tail, _ := strings.Cut(rest, "]")
	taken := head + `"takes": [` + takes + `, "` + part + `"]` + tail
	return compose(read("families/"+family+".json", []byte(taken), familyForm), s)
}
