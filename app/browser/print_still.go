package browser

// Print implements Device.
func (s *Still) Print() {
	s.Lock()
	defer s.Unlock()
	s.Printed++
}
