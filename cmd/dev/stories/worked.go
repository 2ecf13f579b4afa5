package stories

import "pitwise/app/runner"

// AskedAt is the path at which the page asks, with ?story=NAME&key=KEY; Serve answers.
const AskedAt = "/worked"

// Ask, where it is set, asks another program of this source for what it worked out for a story under a key: a
// page takes ten times as long. No answer is nil.
var Ask func(story, key string) []byte

var (
	results = map[string]any{} // what was worked out, by key
	telling string             // the story that is told
	alone   int                // how often nothing came of Ask
)

// Alone is how much was worked out here although another program was asked.
func Alone() int { return alone }

// worked returns what comes of some work, done once, here or elsewhere.
func worked[T any](key string, work func() T) T {
	if v, ok := results[key]; ok {
		return v.(T)
	}
	var v T
	if Ask == nil {
		v = work()
	} else if runner.FromWire(Ask(telling, key), &v) != nil {
		alone++
		v = work()
	}
	results[key] = v
	return v
}
