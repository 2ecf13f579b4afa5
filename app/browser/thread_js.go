//go:build js

package browser

import "syscall/js"

// Beside starts the program once more in a thread of its own, with what web/start.js has
// compiled. hear gets what it answers; over is called once if it ends or could not begin.
// ok is false where the browser has no threads.
func Beside(hear func([]byte), over func()) (post func([]byte), ok bool) {
	start := js.Global().Get("pitwiseEngine")
	if !start.Truthy() {
		return nil, false
	}
	var worker js.Value
	if caught(func() { worker = start.Invoke() }) != nil || !worker.Truthy() {
		return nil, false
	}
	came := queue(hear)
	// What was posted before it listens waits here: nobody would hear it.
	listens := worker.Get("listens").Truthy()
	var early []js.Value
	worker.Call("addEventListener", "message", js.FuncOf(func(_ js.Value, args []js.Value) any {
		data := args[0].Get("data")
		switch {
		case data.InstanceOf(js.Global().Get("Uint8Array")):
			came <- bytesOf(data)
		case data.Type() != js.TypeObject:
		case data.Get("pitwise").Equal(js.ValueOf("listens")):
			listens = true
			for _, bytes := range early {
				worker.Call("postMessage", bytes)
			}
			early = nil
		case data.Get("pitwise").Equal(js.ValueOf("ended")):
			ended()
			go over()
		}
		return nil
	}))
	worker.Call("addEventListener", "error", js.FuncOf(func(js.Value, []js.Value) any {
		ended()
		go over()
		return nil
	}))
	return func(text []byte) {
		bytes := js.Global().Get("Uint8Array").New(len(text))
		js.CopyBytesToJS(bytes, text)
		if !listens {
			early = append(early, bytes)
			return
		}
		worker.Call("postMessage", bytes)
	}, true
}

// ended tells whoever looks that the work goes on in the page, which is then busy with it.
func ended() { js.Global().Get("console").Call("error", "pitwise: the engine's thread has ended") }

// queue hands what comes to hear, one after another and in order. An event must not wait, so
// it holds more than ever comes at once.
func queue(hear func([]byte)) chan<- []byte {
	came := make(chan []byte, 4096)
	go func() {
		for text := range came {
			hear(text)
		}
	}()
	return came
}

// InThread reports whether this is the program in such a thread, and not the page.
func InThread() bool { return js.Global().Get("pitwiseThread").Truthy() }

// Listen hears what the page posts to the thread, in a thread.
func Listen(hear func([]byte)) {
	came := queue(hear)
	js.Global().Call("addEventListener", "message", js.FuncOf(func(_ js.Value, args []js.Value) any {
		if data := args[0].Get("data"); data.InstanceOf(js.Global().Get("Uint8Array")) {
			came <- bytesOf(data)
		}
		return nil
	}))
	js.Global().Call("postMessage", map[string]any{"pitwise": "listens"})
}

// Grown returns the file of what planners grew before there was a page, in a thread; nil if it cannot be had.
func Grown() []byte {
	fetch := js.Global().Get("pitwiseGrown")
	if !fetch.Truthy() {
		return nil
	}
	buffer, err := await(fetch.Invoke())
	if err != nil {
		return nil
	}
	return bytesOf(js.Global().Get("Uint8Array").New(buffer))
}

// Answer posts to the page, in a thread.
func Answer(text []byte) {
	bytes := js.Global().Get("Uint8Array").New(len(text))
	js.CopyBytesToJS(bytes, text)
	js.Global().Call("postMessage", bytes)
}
