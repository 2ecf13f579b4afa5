package runner

import "slices"

// A shelf holds what was made of something large, by its key: the few that were used last.
// The zero shelf is empty.
type shelf[T any] struct {
	keys []string // the last used last
	held map[string]T
}

// get returns what is held under a key, which then is the last used.
func (s *shelf[T]) get(key string) (T, bool) {
	v, ok := s.held[key]
	if ok {
		s.keys = append(slices.DeleteFunc(s.keys, func(k string) bool { return k == key }), key)
	}
	return v, ok
}

// put holds v under a key, and lets go of what was used before the last most.
func (s *shelf[T]) put(key string, v T, most int) {
	if s.held == nil {
		s.held = map[string]T{}
	}
	s.held[key] = v
	s.keys = append(slices.DeleteFunc(s.keys, func(k string) bool { return k == key }), key)
	for len(s.keys) > most {
		delete(s.held, s.keys[0])
		s.keys = s.keys[1:]
	}
}

// keep lets go of all that keep does not pick.
func (s *shelf[T]) keep(pick func(key string) bool) {
	s.keys = slices.DeleteFunc(s.keys, func(k string) bool {
		if !pick(k) {
			delete(s.held, k)
			return true
		}
		return false
	})
}
