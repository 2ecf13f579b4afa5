//go:build js

package browser

import (
	"sync"
	"syscall/js"
)

// voices returns the browser's voices and what they are.
func voices() (raw []js.Value, all []Voice) {
	synth := global("speechSynthesis")
	if !synth.Truthy() {
		return nil, nil
	}
	list := synth.Call("getVoices")
	for i := range list.Length() {
		v := list.Index(i)
		raw = append(raw, v)
		all = append(all, Voice{Lang: textOf(v, "lang"), Local: v.Get("localService").Truthy(), Default: v.Get("default").Truthy()})
	}
	return raw, all
}

// WatchVoices implements Speaker.
func (p *Page) WatchVoices(f func([]Voice)) {
	synth := global("speechSynthesis")
	if !synth.Truthy() {
		return
	}
	look := func() {
		_, all := voices()
		go f(all)
	}
	if synth.Get("addEventListener").Truthy() { // some browsers have none, and all voices at once
		synth.Call("addEventListener", "voiceschanged", js.FuncOf(func(js.Value, []js.Value) any {
			look()
			return nil
		}))
	}
	look()
}

// Speak implements Speaker. A browser may forget an utterance that nothing holds, and then never
// says that it ended.
func (p *Page) Speak(lang string, texts []string, done func()) {
	raw, all := voices()
	i := VoiceFor(all, lang)
	if i < 0 || len(texts) == 0 {
		done()
		return
	}
	p.Hush()
	var once sync.Once
	over := js.FuncOf(func(js.Value, []js.Value) any {
		once.Do(func() { go done() })
		return nil
	})
	p.uttered = nil
	for n, text := range texts {
		u := js.Global().Get("SpeechSynthesisUtterance").New(text)
		u.Set("voice", raw[i])
		u.Set("lang", raw[i].Get("lang"))
		u.Set("onerror", over)
		if n == len(texts)-1 {
			u.Set("onend", over)
		}
		p.uttered = append(p.uttered, u)
		global("speechSynthesis").Call("speak", u)
	}
}

// Hush implements Speaker.
func (p *Page) Hush() {
	if synth := global("speechSynthesis"); synth.Truthy() {
		synth.Call("cancel")
	}
}
