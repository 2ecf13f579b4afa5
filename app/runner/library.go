package runner

import (
	"encoding/base64"
	"encoding/json"
	"slices"

	"pitwise/app/browser"
)

// What a planner grows takes a second or more, and is the same for the same model and terms:
// it is kept on the device under the planner's key, so that a page that is loaded anew has
// it at once. It is no evidence, and can be grown again.

// libraries keeps what planners have grown, by their keys. Its methods may wait.
type libraries interface {
	load(key string) []byte // nil if there is none
	keep(key string, saved []byte)
}

// libraryKey is the head of the keys of what is kept of planners, and librariesKey that of the
// list of them, the last kept last.
const (
	libraryKey    = "library/"
	librariesKey  = "libraries"
	librariesMost = 24 // two for each model and terms
)

// shelved keeps libraries in the storage.
type shelved struct{ r *Runner }

func (s shelved) load(key string) []byte {
	found := make(chan []byte, 1)
	s.r.later(func() {
		text, err := s.r.Storage.Kept(libraryKey + key)
		saved, wrong := base64.StdEncoding.DecodeString(text)
		if err != nil || wrong != nil || text == "" {
			saved = nil
		}
		found <- saved
	})
	return <-found
}

func (s shelved) keep(key string, saved []byte) {
	s.r.later(func() {
		if s.r.Storage.Keep(libraryKey+key, base64.StdEncoding.EncodeToString(saved)) != nil {
			return // it is grown again next time
		}
		var old []string
		err := s.r.Storage.Alter(librariesKey, func(text string) (string, error) {
			var keys []string
			_ = json.Unmarshal([]byte(text), &keys) // a list that does not read is none
			keys = append(slices.DeleteFunc(keys, func(k string) bool { return k == key }), key)
			most := max(0, len(keys)-librariesMost)
			old = keys[:most]
			now, err := json.Marshal(keys[most:])
			return string(now), err
		})
		if err != nil {
			return // those that are old stay, which harms nothing
		}
		for _, key := range old {
			_ = s.r.Storage.Keep(libraryKey+key, "")
		}
	})
}

// asked are the libraries of the page, as its engine's thread has them: it asks, and waits.
type asked struct{ found chan []byte }

func (a asked) load(key string) []byte {
	browser.Answer(toWire(answer{Wants: key}))
	return <-a.found
}

func (a asked) keep(key string, saved []byte) {
	browser.Answer(toWire(answer{Keeps: key, Library: saved}))
}
