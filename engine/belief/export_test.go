package belief

// Cramp leaves a space, before its first use, room for one table of a test alone.
func (s *Space) Cramp() *Space {
	s.tables.room = 1
	return s
}
