package browser

import (
	"errors"
	"fmt"
	"sync"
	"time"
)

// ErrDismissed says that the person closed a sheet without choosing.
var ErrDismissed = errors.New("browser: dismissed")

// Still is a Device that stands still: the fake of the tests. Its clock moves one
// second a call, its random bytes count up, and it keeps what it is handed. Its fields
// are read and set under its lock while anything else uses it.
type Still struct {
	sync.Mutex
	At        time.Time
	Languages []string
	Texts     map[string][]byte // what Words returns, by language
	Shares    bool
	Offers    []File // what Pick returns, in turn
	Refuses   error  // what Save, Share and Copy answer
	Forgetful bool   // what Forgets says
	Persists  bool   // whether Room says that the storage lasts

	Saved   []File
	Shared  []File
	Copied  []string
	Themes  []string
	Renewed int
	Printed int

	Puts   []File // what Chosen returns, once
	Reads  bool   // whether it reads QR codes
	Voices []Voice
	Spoken [][]string // what Speak was given
	Sights [][]string // codes that the camera sees, in turn; nil if there is no camera

	hears     func([]Voice)
	spoken    func() // of what is being read
	counter   byte
	made      int
	addresses []string
}

// Now implements Device.
func (s *Still) Now() time.Time {
	s.Lock()
	defer s.Unlock()
	s.At = s.At.Add(time.Second)
	return s.At
}

// Random implements Device.
func (s *Still) Random(b []byte) error {
	s.Lock()
	defer s.Unlock()
	for i := range b {
		s.counter++
		b[i] = s.counter
	}
	return nil
}

// Wishes implements Device.
func (s *Still) Wishes() []string {
	s.Lock()
	defer s.Unlock()
	return s.Languages
}

// Words implements Device.
func (s *Still) Words(lang string) ([]byte, error) {
	s.Lock()
	defer s.Unlock()
	if text, ok := s.Texts[lang]; ok {
		return text, nil
	}
	return nil, errors.New("browser: no such file")
}

// CanShare implements Device.
func (s *Still) CanShare() bool {
	s.Lock()
	defer s.Unlock()
	return s.Shares
}

// Save implements Device.
func (s *Still) Save(f File) error {
	s.Lock()
	defer s.Unlock()
	if s.Refuses == nil {
		s.Saved = append(s.Saved, f)
	}
	return s.Refuses
}

// Share implements Device.
func (s *Still) Share(f File) error {
	s.Lock()
	defer s.Unlock()
	if s.Refuses == nil {
		s.Shared = append(s.Shared, f)
	}
	return s.Refuses
}

// Copy implements Device.
func (s *Still) Copy(text string) error {
	s.Lock()
	defer s.Unlock()
	if s.Refuses == nil {
		s.Copied = append(s.Copied, text)
	}
	return s.Refuses
}

// Pick implements Device.
func (s *Still) Pick(limit int) (File, error) {
	s.Lock()
	defer s.Unlock()
	if len(s.Offers) == 0 {
		return File{}, ErrDismissed
	}
	f := s.Offers[0]
	s.Offers = s.Offers[1:]
	if len(f.Text) > limit {
		return File{}, TooLong{f.Name, len(f.Text), limit}
	}
	return f, nil
}

// TooLong is the error for a file over a limit.
type TooLong struct {
	Name        string
	Size, Limit int
}

func (e TooLong) Error() string { return fmt.Sprintf("%d bytes, want at most %d", e.Size, e.Limit) }

// Persist implements Device.
func (s *Still) Persist() bool {
	s.Lock()
	defer s.Unlock()
	return s.Persists
}

// Room implements Device.
func (s *Still) Room() (used, left float64, persisted bool) {
	s.Lock()
	defer s.Unlock()
	return 1e5, 1e9, s.Persists
}

// Forgets implements Device.
func (s *Still) Forgets() bool {
	s.Lock()
	defer s.Unlock()
	return s.Forgetful
}

// Awake implements Device.
func (s *Still) Awake(on bool) {}

// Buzz implements Device.
func (s *Still) Buzz() {}

// Yield implements Device.
func (s *Still) Yield() {}

// Wear implements Device.
func (s *Still) Wear(theme, lang string) {
	s.Lock()
	defer s.Unlock()
	s.Themes = append(s.Themes, theme+" "+lang)
}

// Top implements Device.
func (s *Still) Top() {}

// Renew implements Device.
func (s *Still) Renew() {
	s.Lock()
	defer s.Unlock()
	s.Renewed++
}

// WatchUpdate implements Device.
func (s *Still) WatchUpdate(func()) {}

// WatchNetwork implements Device.
func (s *Still) WatchNetwork(func(bool)) {}
