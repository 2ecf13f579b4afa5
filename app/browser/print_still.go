package browser

// Print implements Device.
func (s *Still) Print() { s.Printed++ }
