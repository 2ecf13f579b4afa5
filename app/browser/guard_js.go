//go:build js

package browser

import "syscall/js"

// Guard watches the page from now on, and stops every tap on what is guarded that came too soon.
func Guard() {
	g := &guard{known: js.Global().Get("WeakMap").New()}
	document := global("document")
	changed := js.Global().Get("MutationObserver").New(js.FuncOf(func(js.Value, []js.Value) any {
		g.look()
		return nil
	}))
	changed.Call("observe", document.Get("body"), map[string]any{"childList": true, "subtree": true, "characterData": true, "attributes": true,
		"attributeFilter": []any{GuardedMark, "class", "hidden", "open", "disabled"}})
	g.later = js.FuncOf(func(js.Value, []js.Value) any {
		g.waiting = false
		g.look()
		return nil
	})
	js.Global().Call("addEventListener", "resize", js.FuncOf(func(js.Value, []js.Value) any {
		g.look()
		return nil
	}))
	first := map[string]any{"capture": true, "passive": true}
	js.Global().Call("addEventListener", "pointerdown", js.FuncOf(func(_ js.Value, args []js.Value) any {
		g.down, g.good = guardedAt(args[0]), false
		if g.down.Truthy() {
			g.look()
			if m, ok := g.mark(g.down); ok {
				g.good = m.takes(args[0].Get("timeStamp").Float())
			}
		}
		return nil
	}), first)
	js.Global().Call("addEventListener", "click", js.FuncOf(func(_ js.Value, args []js.Value) any {
		e := args[0]
		on := guardedAt(e)
		if !on.Truthy() {
			return nil
		}
		g.look()
		m, ok := g.mark(on)
		good := ok && m.takes(e.Get("timeStamp").Float())
		if g.down.Truthy() && g.down.Equal(on) { // by a finger: what it saw when it came down
			good = good && g.good
		}
		g.down = js.Undefined()
		if !good {
			e.Call("preventDefault")
			e.Call("stopImmediatePropagation")
		}
		return nil
	}), map[string]any{"capture": true})
	g.look()
}

// A guard knows what is guarded on the page.
type guard struct {
	known   js.Value // WeakMap: element to its place in seen
	seen    []mark
	later   js.Func
	waiting bool

	down js.Value // what is guarded under the finger that came down last
	good bool     // it took the finger then
}

// guardedAt is the guarded element at or around the target of an event.
func guardedAt(e js.Value) js.Value {
	target := e.Get("target")
	if !target.Truthy() || !target.Get("closest").Truthy() {
		return js.Undefined()
	}
	return target.Call("closest", "["+GuardedMark+"]")
}

func (g *guard) mark(e js.Value) (mark, bool) {
	i := g.known.Call("get", e)
	if i.Type() != js.TypeNumber {
		return mark{}, false
	}
	return g.seen[i.Int()], true
}

// look sees what is guarded as it lies now.
func (g *guard) look() {
	now := global("performance").Call("now").Float()
	x, y := js.Global().Get("scrollX").Float(), js.Global().Get("scrollY").Float()
	// An element that is drawn anew as another, which is not guarded, is not new.
	stale := global("document").Call("querySelectorAll", "["+FreshMark+"]:not(["+GuardedMark+"])")
	for i := range stale.Length() {
		stale.Index(i).Call("removeAttribute", FreshMark)
	}
	all := global("document").Call("querySelectorAll", "["+GuardedMark+"]")
	seen := make([]mark, 0, all.Length())
	fresh := false
	for i := range all.Length() {
		e := all.Index(i)
		r := e.Call("getBoundingClientRect")
		b := bounds{r.Get("left").Float(), r.Get("top").Float(), r.Get("right").Float(), r.Get("bottom").Float()}
		m, _ := g.mark(e)
		m = m.look(e.Call("getAttribute", GuardedMark).String(), b, x, y, now)
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
