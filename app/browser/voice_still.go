package browser

import "slices"

// WatchVoices implements Speaker.
func (s *Still) WatchVoices(f func([]Voice)) {
	s.Lock()
	defer s.Unlock()
	s.hears = f
	if voices := s.Voices; len(voices) > 0 {
		go f(voices)
	}
}

// Hears makes it a device with other voices.
func (s *Still) Hears(voices []Voice) {
	s.Lock()
	defer s.Unlock()
	s.Voices = voices
	if s.hears != nil {
		s.hears(voices)
	}
}

// Speak implements Speaker. What is read ends when EndSpeech is called, or by Hush.
func (s *Still) Speak(lang string, texts []string, done func()) {
	s.Hush()
	s.Lock()
	defer s.Unlock()
	if VoiceFor(s.Voices, lang) < 0 {
		go done()
		return
	}
	s.Spoken = append(s.Spoken, slices.Clone(texts))
	s.spoken = done
}

// Hush implements Speaker.
func (s *Still) Hush() { s.EndSpeech() }

// EndSpeech lets what is being read come to its end, and reports whether there was any.
func (s *Still) EndSpeech() bool {
	s.Lock()
	defer s.Unlock()
	done := s.spoken
	s.spoken = nil
	if done != nil {
		go done()
	}
	return done != nil
}
