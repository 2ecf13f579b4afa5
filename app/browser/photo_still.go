package browser

import (
	"fmt"
	"slices"
)

// Chosen implements Camera: what Puts holds, once.
func (s *Still) Chosen(string) []Chosen {
	s.Lock()
	defer s.Unlock()
	var chosen []Chosen
	for _, f := range s.Puts {
		chosen = append(chosen, Chosen{Name: f.Name, Size: len(f.Text), Read: func() ([]byte, error) { return []byte(f.Text), nil }})
	}
	s.Puts = nil
	return chosen
}

// Address implements Camera.
func (s *Still) Address(string) string {
	s.Lock()
	defer s.Unlock()
	s.made++
	address := fmt.Sprintf("blob:still/%d", s.made)
	s.addresses = append(s.addresses, address)
	return address
}

// Forget implements Camera.
func (s *Still) Forget(address string) {
	s.Lock()
	defer s.Unlock()
	s.addresses = slices.DeleteFunc(s.addresses, func(a string) bool { return a == address })
}

// Addresses returns those that were made and not forgotten.
func (s *Still) Addresses() []string {
	s.Lock()
	defer s.Unlock()
	return slices.Clone(s.addresses)
}
