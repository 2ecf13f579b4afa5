package browser

import "strings"

// ReadsCodes implements CodeReader.
func (s *Still) ReadsCodes() bool {
	s.Lock()
	defer s.Unlock()
	return s.Reads
}

// CodesIn implements CodeReader: a file's lines are its codes, and one that begins with "%" is no picture.
func (s *Still) CodesIn(file []byte) ([]string, error) {
	text := strings.TrimSpace(string(file))
	switch {
	case strings.HasPrefix(text, "%"):
		return nil, ErrFormat
	case text == "":
		return nil, nil
	}
	return strings.Split(text, "\n"), nil
}

// Look implements CodeReader: the camera sees what Sights holds, one after another, and then nothing.
func (s *Still) Look(found func(texts []string) bool) error {
	s.Lock()
	sights, none := s.Sights, s.Sights == nil
	s.Unlock()
	if none {
		return ErrNoCamera
	}
	for _, texts := range sights {
		if !found(texts) {
			return nil
		}
	}
	for found(nil) {
		s.Yield()
	}
	return nil
}
