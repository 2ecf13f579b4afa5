package belief

// Cramp leaves a space, before its first use, room for one table of a test alone.
func (s *Space) Cramp() *Space {
	s.tables.room = 1
	return s
}

// Roomy gives a space that nobody else uses room for so many bytes of tables.
func (s *Space) Roomy(bytes int) { s.tables.room = bytes }

// Taken returns what a space has counted that its tables take, what they do take, and how many there are.
func (s *Space) Taken() (counted, taken, tables int) {
	for test := range s.tables.whole {
		for _, c := range []*classes{s.tables.whole[test].Load(), s.tables.part[test].Load()} {
			if c != nil {
				taken += c.bytes()
				tables++
			}
		}
	}
	return s.tables.bytes, taken, tables
}

// Effort returns how many masses leaving out each result of the links multiplies, about.
func (s *Space) Effort(links []Link) (float64, error) {
	c, err := s.follow(links)
	if err != nil {
		return 0, err
	}
	return c.effort(), nil
}
