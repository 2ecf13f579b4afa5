//go:build js

package browser

import "syscall/js"

// tappable is everything that takes a tap, but for the first screen and for the last one, if the program ends:
// start.js looks after those.
const tappable = ":is(button, a[href], label, summary, [" + GuardedMark + "]):not(#first *, #stopped *)"

// Guard watches the page from now on, and stops every tap that came too soon.
func Guard() {
	g := &guard{known: js.Global().Get("WeakMap").New(), last: touch{at: -Pause}}
	document := global("document")
	changed := js.Global().Get("MutationObserver").New(js.FuncOf(func(js.Value, []js.Value) any {
		g.look()
		return nil
	}))
	changed.Call("observe", document.Get("body"), map[string]any{"childList": true, "subtree": true, "characterData": true, "attributes": true,
		"attributeFilter": []any{GuardedMark, "href", "class", "hidden", "open", "disabled"}})
	g.later = js.FuncOf(func(js.Value, []js.Value) any {
		g.waiting = false
		g.look()
		return nil
	})
	js.Global().Call("addEventListener", "resize", js.FuncOf(func(js.Value, []js.Value) any {
		g.look()
		return nil
	}))
	js.Global().Call("addEventListener", "pointerdown", js.FuncOf(func(_ js.Value, args []js.Value) any {
		g.press(args[0])
		return nil
	}), map[string]any{"capture": true, "passive": true})
	js.Global().Call("addEventListener", "click", js.FuncOf(func(_ js.Value, args []js.Value) any {
		if !g.click(args[0]) {
			args[0].Call("preventDefault")
			args[0].Call("stopImmediatePropagation")
		}
		return nil
	}), map[string]any{"capture": true})
	g.look()
}

// A guard knows what takes a tap on the page.
type guard struct {
	known   js.Value // WeakMap: element to its place in seen
	seen    []mark
	later   js.Func
	waiting bool

	down js.Value // what is under the finger that came down last
	good bool     // it took the finger then
	last touch
}

// guardedAt is what takes the tap of an event.
func guardedAt(e js.Value) js.Value {
	target := e.Get("target")
	if !target.Truthy() || !target.Get("closest").Truthy() {
		return js.Undefined()
	}
	return target.Call("closest", tappable)
}

// press notes whether what is under a finger took it as it came down.
func (g *guard) press(e js.Value) {
	g.down, g.good = guardedAt(e), false
	if g.down.Truthy() {
		g.look()
		at := e.Get("timeStamp").Float()
		m, ok := g.mark(g.down)
		g.good = ok && m.takes(at) && !g.last.repeats(e.Get("clientX").Float(), e.Get("clientY").Float(), at)
	}
}

// click reports whether a click counts. One without a finger, by a key or by a label for its field, has
// only to come after the element was seen.
func (g *guard) click(e js.Value) bool {
	on := guardedAt(e)
	if !on.Truthy() || !e.Get("isTrusted").Bool() {
		return true // the page's own: a tap on the first screen, done again once the program is there
	}
	g.look()
	at := e.Get("timeStamp").Float()
	m, ok := g.mark(on)
	good := ok && m.takes(at)
	if g.down.Truthy() && g.down.Equal(on) {
		good = good && g.good
		if good {
			g.last = touch{e.Get("clientX").Float(), e.Get("clientY").Float(), at}
		}
	}
	g.down = js.Undefined()
	return good
}

func (g *guard) mark(e js.Value) (mark, bool) {
	i := g.known.Call("get", e)
	if i.Type() != js.TypeNumber {
		return mark{}, false
	}
	return g.seen[i.Int()], true
}

// says is what a tap on an element would do, as far as that can be told.
func says(e js.Value) string {
	for _, name := range []string{GuardedMark, "href", "for"} {
		if v := e.Call("getAttribute", name); v.Type() == js.TypeString {
			return v.String()
		}
	}
	return e.Get("textContent").String()
}

// boundsOf is where an element lies on the screen, nowhere while it is not shown: what is folded away has
// bounds in some browsers.
func boundsOf(e js.Value) bounds {
	if e.Get("checkVisibility").Truthy() && !e.Call("checkVisibility").Bool() {
		return bounds{}
	}
	r := e.Call("getBoundingClientRect")
	return bounds{r.Get("left").Float(), r.Get("top").Float(), r.Get("right").Float(), r.Get("bottom").Float()}
}

// look sees what takes a tap as it lies now.
func (g *guard) look() {
	now := global("performance").Call("now").Float()
	x, y := js.Global().Get("scrollX").Float(), js.Global().Get("scrollY").Float()
	// An element that is drawn anew as another, which takes no tap, is not new.
	stale := global("document").Call("querySelectorAll", "["+FreshMark+"]:not("+tappable+")")
	for i := range stale.Length() {
		stale.Index(i).Call("removeAttribute", FreshMark)
	}
	all := global("document").Call("querySelectorAll", tappable)
	seen := make([]mark, 0, all.Length())
	fresh := false
	for i := range all.Length() {
		e := all.Index(i)
		b := boundsOf(e)
		m, _ := g.mark(e)
		m = m.look(says(e), b, x, y, now)
		seen = append(seen, m)
		if isFresh := !m.takes(now); isFresh != e.Call("hasAttribute", FreshMark).Bool() {
			e.Call("toggleAttribute", FreshMark, isFresh)
		}
		fresh = fresh || !m.takes(now)
	}
	g.known = js.Global().Get("WeakMap").New()
	for i := range seen {
		g.known.Call("set", all.Index(i), i)
	}
	g.seen = seen
	if fresh && !g.waiting {
		g.waiting = true
		js.Global().Call("setTimeout", g.later, Pause/4)
	}
}
