//go:build js

package browser

import (
	"errors"
	"fmt"
	"strings"
	"syscall/js"
	"time"
)

// Page is the Device of a browser.
type Page struct {
	awake bool
	lock  js.Value // of the screen; not set if there is none

	uttered []js.Value // what is being read aloud
}

// NewPage returns the device that this page runs on.
func NewPage() *Page {
	p := &Page{}
	// The browser takes the lock away while the page is hidden.
	global("document").Call("addEventListener", "visibilitychange", js.FuncOf(func(js.Value, []js.Value) any {
		if p.awake && global("document", "visibilityState").String() == "visible" {
			go p.Awake(true)
		}
		return nil
	}))
	return p
}

func global(path ...string) js.Value {
	v := js.Global()
	for _, p := range path {
		if !v.Truthy() {
			return js.Undefined()
		}
		v = v.Get(p)
	}
	return v
}

// await waits for a promise.
func await(promise js.Value) (js.Value, error) {
	type answer struct {
		v   js.Value
		err error
	}
	came := make(chan answer, 1)
	then := js.FuncOf(func(_ js.Value, args []js.Value) any {
		v := js.Undefined()
		if len(args) > 0 {
			v = args[0]
		}
		came <- answer{v: v}
		return nil
	})
	defer then.Release()
	failed := js.FuncOf(func(_ js.Value, args []js.Value) any {
		err := errors.New("browser: refused")
		if len(args) > 0 && args[0].Truthy() {
			if name := textOf(args[0], "name"); name == "AbortError" {
				err = ErrDismissed
			} else {
				err = fmt.Errorf("browser: %s: %s", name, textOf(args[0], "message"))
			}
		}
		came <- answer{err: err}
		return nil
	})
	defer failed.Release()
	promise.Call("then", then, failed)
	a := <-came
	return a.v, a.err
}

// Now implements Device.
func (p *Page) Now() time.Time { return time.Now() }

// Random implements Device.
func (p *Page) Random(b []byte) error {
	crypto := global("crypto")
	if !crypto.Truthy() {
		return errors.New("browser: no source of random bytes")
	}
	a := js.Global().Get("Uint8Array").New(len(b))
	crypto.Call("getRandomValues", a)
	js.CopyBytesToGo(b, a)
	return nil
}

// Wishes implements Device.
func (p *Page) Wishes() []string {
	list := global("navigator", "languages")
	if !list.Truthy() {
		return nil
	}
	var wishes []string
	for i := range list.Length() {
		wishes = append(wishes, list.Index(i).String())
	}
	return wishes
}

// Words implements Device. The loader fetches what the person's language needs beside the program.
func (p *Page) Words(lang string) ([]byte, error) {
	fetch := global("pitwiseWords")
	if !fetch.Truthy() {
		return nil, errors.New("browser: no texts beside the program")
	}
	buffer, err := await(fetch.Invoke(lang))
	if err != nil {
		return nil, err
	}
	return bytesOf(js.Global().Get("Uint8Array").New(buffer)), nil
}

func blob(f File) js.Value {
	return js.Global().Get("File").New([]any{f.Text}, f.Name, map[string]any{"type": f.Type})
}

// shareable returns the file in a form that the share sheet takes: as it is, or as
// plain text where the sheet knows no better.
func shareable(f File) (js.Value, bool) {
	nav := global("navigator")
	if !nav.Get("canShare").Truthy() || !nav.Get("share").Truthy() {
		return js.Undefined(), false
	}
	for _, form := range []File{f, {Name: f.Name + ".txt", Type: "text/plain", Text: f.Text}} {
		data := map[string]any{"files": []any{blob(form)}}
		if nav.Call("canShare", data).Truthy() {
			return js.ValueOf(data), true
		}
	}
	return js.Undefined(), false
}

// CanShare implements Device.
func (p *Page) CanShare() bool {
	_, ok := shareable(File{Name: "trail.json", Type: "application/json", Text: "{}"})
	return ok
}

// Save implements Device.
func (p *Page) Save(f File) error {
	return caught(func() {
		url := js.Global().Get("URL")
		address := url.Call("createObjectURL", blob(f))
		a := global("document").Call("createElement", "a")
		a.Set("href", address)
		a.Set("download", f.Name)
		a.Call("click")
		go func() {
			time.Sleep(time.Minute) // the download has long begun
			url.Call("revokeObjectURL", address)
		}()
	})
}

// Share implements Device.
func (p *Page) Share(f File) error {
	data, ok := shareable(f)
	if !ok {
		return errors.New("browser: no share sheet for files")
	}
	_, err := await(global("navigator").Call("share", data))
	return err
}

// Copy implements Device.
func (p *Page) Copy(text string) error {
	clipboard := global("navigator", "clipboard")
	if !clipboard.Truthy() {
		return errors.New("browser: no clipboard")
	}
	_, err := await(clipboard.Call("writeText", text))
	return err
}

// Pick implements Device. The page has the field; here is what was put into it.
func (p *Page) Pick(limit int) (File, error) {
	input := global("document").Call("getElementById", FileField)
	if !input.Truthy() || input.Get("files").Length() == 0 {
		return File{}, ErrDismissed
	}
	f := input.Get("files").Index(0)
	name := f.Get("name").String()
	if size := f.Get("size").Int(); size > limit {
		input.Set("value", "")
		return File{}, TooLong{name, size, limit}
	}
	// As bytes: text() would mend broken UTF-8 without a word.
	buffer, err := await(f.Call("arrayBuffer"))
	input.Set("value", "") // so that the same file may be chosen again
	if err != nil {
		return File{}, err
	}
	a := js.Global().Get("Uint8Array").New(buffer)
	text := make([]byte, a.Length())
	js.CopyBytesToGo(text, a)
	return File{Name: name, Type: textOf(f, "type"), Text: string(text)}, nil
}

// Persist implements Device.
func (p *Page) Persist() bool {
	storage := global("navigator", "storage")
	if !storage.Truthy() || !storage.Get("persist").Truthy() {
		return false
	}
	v, err := await(storage.Call("persist"))
	return err == nil && v.Truthy()
}

// Room implements Device.
func (p *Page) Room() (used, left float64, persisted bool) {
	storage := global("navigator", "storage")
	if !storage.Truthy() {
		return 0, 0, false
	}
	if v, err := await(storage.Call("persisted")); err == nil {
		persisted = v.Truthy()
	}
	if v, err := await(storage.Call("estimate")); err == nil {
		used = v.Get("usage").Float()
		left = v.Get("quota").Float() - used
	}
	return used, left, persisted
}

// Forgets implements Device. WebKit does: seven days of use without a visit to the page,
// but for pages on the home screen. It is told by a property of styles that no other
// engine has.
//
// Source: WebKit's blog, "Full Third-Party Cookie Blocking and More" (2020).
func (p *Page) Forgets() bool {
	return global("CSS").Call("supports", "-webkit-nbsp-mode", "space").Truthy() && !global("goappIsAppInstalled").Invoke().Truthy()
}

// Awake implements Device. Where there is no wake lock, or it is refused (a low
// battery), the screen sleeps as ever and the timer goes on.
func (p *Page) Awake(on bool) {
	p.awake = on
	if p.lock.Truthy() {
		p.lock.Call("release")
		p.lock = js.Undefined()
	}
	wake := global("navigator", "wakeLock")
	if !on || !wake.Truthy() {
		return
	}
	if lock, err := await(wake.Call("request", "screen")); err == nil {
		p.lock = lock
	}
}

// Buzz implements Device.
func (p *Page) Buzz() {
	if nav := global("navigator"); nav.Get("vibrate").Truthy() {
		nav.Call("vibrate", []any{200, 100, 200})
	}
}

// Yield implements Device.
func (p *Page) Yield() { Yield() }

// Yield lets the browser have its turn.
func Yield() {
	// A message to oneself comes after what the browser has to do, and without
	// the few milliseconds that a timer waits at least.
	done := make(chan struct{}, 1)
	c := js.Global().Get("MessageChannel").New()
	f := js.FuncOf(func(js.Value, []js.Value) any {
		done <- struct{}{}
		return nil
	})
	c.Get("port1").Set("onmessage", f)
	c.Get("port2").Call("postMessage", 0)
	<-done
	c.Get("port1").Call("close")
	f.Release()
}

// Wear implements Device.
func (p *Page) Wear(theme, lang string) {
	root := global("document", "documentElement")
	root.Call("setAttribute", "data-theme", theme)
	root.Set("lang", lang)
}

// Top implements Device.
func (p *Page) Top() {
	go func() {
		p.Yield() // until the new screen stands
		if h := global("document").Call("getElementById", "heading"); h.Truthy() {
			h.Call("focus", map[string]any{"preventScroll": true})
		}
		js.Global().Call("scrollTo", 0, 0)
	}()
}

// Renew implements Device.
func (p *Page) Renew() {
	if u := global("pitwiseUpdate"); u.Truthy() {
		u.Call("apply")
	}
}

// WatchUpdate implements Device.
func (p *Page) WatchUpdate(f func()) {
	look := func() {
		if u := global("pitwiseUpdate"); u.Truthy() && u.Get("waiting").Truthy() {
			go f()
		}
	}
	js.Global().Call("addEventListener", "pitwise-update", js.FuncOf(func(js.Value, []js.Value) any {
		look()
		return nil
	}))
	look()
}

// WatchNetwork implements Device.
func (p *Page) WatchNetwork(f func(offline bool)) {
	for _, name := range []string{"online", "offline"} {
		js.Global().Call("addEventListener", name, js.FuncOf(func(js.Value, []js.Value) any {
			go f(name == "offline")
			return nil
		}))
	}
	if on := global("navigator", "onLine"); on.Type() == js.TypeBoolean && !on.Bool() {
		go f(true)
	}
}

// Root returns the path that the app's own paths stand under, without a slash at
// its end.
func Root() string {
	if f := global("goappGetenv"); f.Truthy() {
		if v := f.Invoke("GOAPP_ROOT_PREFIX"); v.Type() == js.TypeString {
			return strings.TrimRight(v.String(), "/")
		}
	}
	return ""
}
