//go:build js && wasm

// Command page shows the story that the address names, in place of the page itself: ?story=NAME (&lang=de in another language), or
// ?steps=MODEL for a unit on which the script's pitwisePut(i) puts each of pitwiseSteps steps. The script's
// pitwiseTell(NAME, LANG) shows another story, "" none, and pitwiseHeard has the kind of every message that came of a tap.
// What takes long is asked of the server, if it tells stories too; pitwiseAlone() is how much of it was worked out here.
package main

import (
	"encoding/base64"
	"syscall/js"

	"pitwise/app/view"
	"pitwise/cmd/dev/stories"
)

func main() {
	stories.Ask = ask
	js.Global().Set("pitwiseAlone", js.FuncOf(func(js.Value, []js.Value) any { return stories.Alone() }))
	search := js.Global().Get("URLSearchParams").New(js.Global().Get("location").Get("search"))
	if id := search.Call("get", "steps"); id.Truthy() {
		steps(id.String(), search.Call("get", "lang").String())
		return
	}
	story, ok := find(search.Call("get", "story"), search.Call("get", "lang"))
	if !ok {
		story = stories.All[0]
	}
	wear(story)
	stage := view.RegisterAt(story.State(), stories.Answer(story))
	heard := js.Global().Get("Array").New()
	js.Global().Set("pitwiseHeard", heard)
	stage.Hear(func(kind string) { heard.Call("push", kind) })
	js.Global().Set("pitwiseTell", js.FuncOf(func(_ js.Value, args []js.Value) any {
		args = append(args, js.Undefined())
		if story, ok := find(args[0], args[1]); ok {
			wear(story)
			stage.Put(story.State(), stories.Answer(story))
		} else {
			stage.Put(stories.Nothing, stories.Silent)
		}
		return nil
	}))
	view.Run()
}

// ask asks the server and waits: a story is told at once.
func ask(story, key string) []byte {
	request := js.Global().Get("XMLHttpRequest").New()
	request.Call("open", "GET", stories.AskedAt+"?story="+story+"&key="+key, false) // neither has a sign of its own in an address
	request.Call("send")
	answer, err := base64.StdEncoding.DecodeString(request.Get("responseText").String())
	if err != nil {
		return nil // another server has the page at every address
	}
	return answer
}

// find finds a story by its name, in a language if one is told.
func find(name, lang js.Value) (story stories.Story, ok bool) {
	if story, ok = stories.Find(name.String()); ok && lang.Truthy() {
		story = story.In(lang.String())
	}
	return story, ok
}

// wear tells the browser the story's language, as the page does: it breaks words and chooses letters by it.
func wear(story stories.Story) {
	js.Global().Get("document").Get("documentElement").Set("lang", story.State().Lang)
}

func steps(id, lang string) {
	s, puts := stories.Steps(id, lang)
	stage := view.RegisterAt(s, stories.Silent)
	js.Global().Set("pitwiseSteps", len(puts))
	js.Global().Set("pitwisePut", js.FuncOf(func(_ js.Value, args []js.Value) any {
		for _, m := range puts[args[0].Int()] {
			stage.Send(m)
		}
		return nil
	}))
	view.Run()
}
