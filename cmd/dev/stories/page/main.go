//go:build js && wasm

// Command page shows the story that the address names, in place of the page itself.
package main

import (
	"strings"
	"syscall/js"

	"pitwise/app/view"
	"pitwise/cmd/dev/stories"
)

func main() {
	search := js.Global().Get("location").Get("search").String()
	_, name, _ := strings.Cut(search, "story=")
	story, ok := stories.Find(name)
	if !ok {
		story = stories.All[0]
	}
	view.RegisterAt(story.State(), stories.Answer(story))
	view.Run()
}
