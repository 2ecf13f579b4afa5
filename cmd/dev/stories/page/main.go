//go:build js && wasm

// Command page shows the story that the address names, in place of the page itself: ?story=NAME, or
// ?steps=MODEL for a unit on which the script's pitwisePut(i) puts each of pitwiseSteps steps.
package main

import (
	"net/url"
	"syscall/js"

	"pitwise/app/state"
	"pitwise/app/view"
	"pitwise/cmd/dev/stories"
)

func main() {
	search, _ := url.ParseQuery(js.Global().Get("location").Get("search").String()[1:])
	if id := search.Get("steps"); id != "" {
		steps(id, search.Get("lang"))
		return
	}
	story, ok := stories.Find(search.Get("story"))
	if !ok {
		story = stories.All[0]
	}
	view.RegisterAt(story.State(), stories.Answer(story))
	view.Run()
}

func steps(id, lang string) {
	s, all := stories.Steps(id)
	if lang != "" {
		s, _ = state.Update(s, state.ChooseLang{Lang: lang})
	}
	send := view.RegisterAt(s, func(state.Effect) []state.Msg { return nil })
	js.Global().Set("pitwiseSteps", len(all))
	js.Global().Set("pitwisePut", js.FuncOf(func(_ js.Value, args []js.Value) any {
		send(stories.Put(s.Unit, all[args[0].Int()]))
		return nil
	}))
	view.Run()
}
