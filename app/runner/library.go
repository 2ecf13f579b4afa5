package runner

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"slices"

	"pitwise/app/browser"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// What a planner grows takes a second or more, and is the same for the same model and terms;
// what it then advises is the same for the same trail. Both are kept on the device, so that a
// page that is loaded anew has them at once. They are no evidence, and can be worked out again.

// A store keeps what was worked out, by keys. Its methods may wait.
type store interface {
	load(key string) []byte // nil if there is none
	keep(key string, saved []byte)
}

// A closet is where one sort of it is kept in the storage: the head of the keys, the key of the
// list of them, the last kept last, and how many there are at most.
type closet struct {
	head, list string
	most       int
}

var (
	libraryCloset = closet{"library/", "libraries", 24} // two for each model and terms
	adviceCloset  = closet{"advice/", "advices", 48}    // the last of as many units
)

// shelved keeps what was worked out in a closet of the storage.
type shelved struct {
	r *Runner
	closet
	by string // the head of its own keys
}

func (s shelved) load(key string) []byte {
	key = s.by + key
	found := make(chan []byte, 1)
	s.r.later(func() {
		text, err := s.r.Storage.Kept(s.head + key)
		saved, wrong := base64.StdEncoding.DecodeString(text)
		if err != nil || wrong != nil || text == "" {
			saved = nil
		}
		found <- saved
	})
	return <-found
}

func (s shelved) keep(key string, saved []byte) {
	key = s.by + key
	s.r.later(func() {
		if s.r.Storage.Keep(s.head+key, base64.StdEncoding.EncodeToString(saved)) != nil {
			return // it is worked out again next time
		}
		var old []string
		err := s.r.Storage.Alter(s.list, func(text string) (string, error) {
			var keys []string
			_ = json.Unmarshal([]byte(text), &keys) // a list that does not read is none
			keys = append(slices.DeleteFunc(keys, func(k string) bool { return k == key }), key)
			drop := max(0, len(keys)-s.most)
			old = keys[:drop]
			now, err := json.Marshal(keys[drop:])
			return string(now), err
		})
		if err != nil {
			return // those that are old stay, which harms nothing
		}
		for _, key := range old {
			_ = s.r.Storage.Keep(s.head+key, "")
		}
	})
}

// What is grown under the terms that the page offers is the same on every device: it comes with the page, in a file that is read
// when it is first wanted. The file is one library after the other, each after its length as an unsigned varint.

// addLibrary adds a library to such a file.
func addLibrary(file, saved []byte) []byte {
	return append(binary.AppendUvarint(file, uint64(len(saved))), saved...)
}

// shippedLibrary returns what a planner of that key grew, nil if it is not in the file.
func shippedLibrary(file []byte, key string) []byte {
	for len(file) > 0 {
		size, n := binary.Uvarint(file)
		if n <= 0 || size > uint64(len(file)-n) {
			return nil // cut off: it is grown instead
		}
		saved := file[n : n+int(size)]
		if bytes.HasPrefix(saved, []byte(key)) {
			return saved
		}
		file = file[n+int(size):]
	}
	return nil
}

// asked are the closets of the page, as its engine's thread has them: it asks, and waits.
type asked struct {
	found  chan []byte
	advice bool
}

func (a asked) load(key string) []byte {
	browser.Answer(ToWire(answer{Wants: key, Advice: a.advice}))
	return <-a.found
}

func (a asked) keep(key string, saved []byte) {
	browser.Answer(ToWire(answer{Keeps: key, Advice: a.advice, Saved: saved}))
}

// situation is a digest of all that advice depends on, besides the program: of a trail all but whose it is, when it was, and what was
// noted beside it.
func situation(t *trail.Trail) string {
	bare := trail.Trail{Model: t.Model, Terms: t.Terms}
	for _, e := range t.Events {
		if e.Kind != trail.Note {
			e.At = ""
			bare.Events = append(bare.Events, e)
		}
	}
	sum := sha256.Sum256(bare.Encode())
	return hex.EncodeToString(sum[:])
}

// adviceText is advice as it is kept, and adviceOf reads it: nil where it is damaged.
func adviceText(proposals []plan.Proposal) []byte {
	text := ToWire(proposals)
	sum := sha256.Sum256(text)
	return append(sum[:], text...)
}

func adviceOf(text []byte) (proposals []plan.Proposal) {
	if len(text) < sha256.Size {
		return nil
	}
	sum, text := text[:sha256.Size], text[sha256.Size:]
	if now := sha256.Sum256(text); !bytes.Equal(sum, now[:]) || FromWire(text, &proposals) != nil {
		return nil
	}
	return proposals
}
