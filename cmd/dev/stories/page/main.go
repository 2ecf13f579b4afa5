//go:build js && wasm

// Command page shows the story that the address names, in place of the page itself: ?story=NAME, or
// ?steps=MODEL for a unit on which the script's pitwisePut(i) puts each of pitwiseSteps steps.
package main

import (
	"syscall/js"

	"pitwise/app/view"
	"pitwise/cmd/dev/stories"
)

func main() {
	search := js.Global().Get("URLSearchParams").New(js.Global().Get("location").Get("search"))
	if id := search.Call("get", "steps"); id.Truthy() {
		steps(id.String(), search.Call("get", "lang").String())
		return
	}
	story, ok := stories.Find(search.Call("get", "story").String())
	if !ok {
		story = stories.All[0]
	}
	view.RegisterAt(story.State(), stories.Answer(story))
	view.Run()
}

func steps(id, lang string) {
	s, puts := stories.Steps(id, lang)
	send := view.RegisterAt(s, stories.Silent)
	js.Global().Set("pitwiseSteps", len(puts))
	js.Global().Set("pitwisePut", js.FuncOf(func(_ js.Value, args []js.Value) any {
		send(puts[args[0].Int()])
		return nil
	}))
	view.Run()
}
