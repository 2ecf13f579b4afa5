//go:build !js

package stories

import (
	"encoding/base64"
	"io"
	"net/http"
	"sync"

	"pitwise/app/runner"
)

var one sync.Mutex // tells at a time

// Serve answers what a page asks for that tells stories: it tells the story itself and says what came of the key,
// in base64, or nothing.
func Serve(w http.ResponseWriter, r *http.Request) {
	one.Lock()
	defer one.Unlock()
	story, ok := Find(r.FormValue("story"))
	if !ok {
		return
	}
	story.State()
	if v, ok := results[r.FormValue("key")]; ok {
		io.WriteString(w, base64.StdEncoding.EncodeToString(runner.ToWire(v)))
	}
}
