//go:build browser

package flows_test

import (
	"os"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pitwise/cmd/dev/browser"
	"pitwise/cmd/dev/stories"
)

// twice is how long fingers take to tap twice, quick and slow (common practice, no source), and
// the worst time there is.
var twice = []time.Duration{browser.AtTheWorst, 100 * time.Millisecond, 300 * time.Millisecond}

// TestATapTwiceRecordsOnce walks a unit with a finger that taps everything twice: no second
// tap may record anything or put something else on the screen, whatever has come to lie under
// the finger by then.
func TestATapTwiceRecordsOnce(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.StartIn(t, engine()).Open(s)
	p.Go("/")
	others := map[time.Duration]int{}
	tapTwice := func(name string, gap time.Duration) {
		if p.TapTwice(name, gap) {
			others[gap]++
		}
	}
	for _, gap := range twice {
		fillIn(p, "Shelf 7")
		tapTwice("Start", gap)
		settled(p)
		onStep(t, p, "Start", gap)
		for i := range 5 {
			n := steps(p)
			const unread = `document.querySelector(".pane-step section.cautions h3")`
			for browser.Value[bool](p, "!!"+unread) {
				first := browser.Value[string](p, unread+".innerText")
				tapTwice("I have read this", gap)
				p.Until(unread + "?.innerText !== " + strconv.Quote(first))
				onStep(t, p, "I have read this", gap)
				assert.Equal(t, n, steps(p), "the second tap recorded a result (%d, after %v)", i, gap)
			}
			// The lowest one: where the next step has something too.
			button := browser.Value[string](p, `[...document.querySelectorAll(".pane-step .deck .outcome-title, .pane-step .deck .button-main")].at(-1).innerText`)
			tapTwice(button, gap)
			p.Until(`document.querySelectorAll(".event").length > ` + strconv.Itoa(n))
			settled(p)
			onStep(t, p, button, gap)
			assert.Equal(t, n+1, steps(p), "tapping %q twice (%d, after %v)", button, i, gap)
		}
		p.Tap("Other")
		tapTwice("Add a note", gap)
		p.See("What should be remembered?")
		time.Sleep(300 * time.Millisecond)
		assert.True(t, browser.Value[bool](p, `document.querySelector("#sheet-text") !== null`), "the second tap closed what the first opened (after %v)", gap)
		p.Tap("Cancel")
		p.Tap("Back to the bench")
	}
	t.Logf("second taps that fell on something else: %v", others)
	assert.Greater(t, others[browser.AtTheWorst], 4, "the second taps had nothing to fall on")
}

// targets numbers what takes a tap on the screen, at most two of each kind, the first and the last, and scrolls
// to them: walk.count(), and walk.spot(i) where a finger would touch it, null if something lies over it.
const targets = `void (window.walk = {
	all() {
		const kinds = new Map();
		for (const e of document.querySelectorAll("button:not(:disabled), a[href], label:not(.field-name), summary, [data-guarded]")) {
			if (!e.checkVisibility() || e.getBoundingClientRect().width < 2) continue;
			const kind = (e.dataset.guarded || e.tagName + e.className).split("{")[0];
			const same = kinds.get(kind) || [];
			kinds.set(kind, same.length > 1 ? [same[0], e] : [...same, e]);
		}
		return [...kinds.values()].flat();
	},
	count() { return this.all().length; },
	async tell(story) {
		await tell(story);
		for (let n = 0; n < 60 && document.querySelector("[data-fresh]"); n++) await new Promise(requestAnimationFrame);
		this.toggled = this.downs.length = pitwiseHeard.length = 0;
	},
	spot(i) {
		const e = this.all()[i];
		e.scrollIntoView({block: "center", inline: "center", behavior: "instant"});
		const r = [...e.getClientRects()].find((r) => r.width >= 1 && r.height >= 1);
		const x = r.left + r.width / 2, y = r.top + r.height / 2;
		const top = document.elementFromPoint(x, y);
		return {X: x, Y: y, Name: e.innerText || e.getAttribute("aria-label") || e.dataset.guarded || "", Covered: !top || !e.contains(top) && !top.contains(e)};
	},
	async did() {
		for (const end = performance.now() + 80; performance.now() < end;) await new Promise(requestAnimationFrame);
		return {Heard: [...pitwiseHeard, ...Array(this.toggled).fill("toggle")], Apart: this.downs.length > 1 ? this.downs[1] - this.downs[0] : 0};
	},
	downs: [],
}, window.addEventListener("touchstart", (e) => walk.downs.push(e.timeStamp), {capture: true, passive: true}), document.addEventListener("click", (e) => { if (e.target.closest?.("summary")) walk.toggled++; }))`

// A walk counts what became of double taps.
type walk struct{ taps, did, others, wrong, covered, slow atomic.Int32 }

// TestATapTwiceIsOneTapOnEveryScreen taps everything twice that takes a tap on every story's screen, on the same spot, as
// soon as something else lies there and after 100 and 300 ms: the page hears of one tap and no more. Every tenth of these
// taps on every eighth screen, with PITWISE_WALK=all each, and with PITWISE_GUARD=off on a page that does not guard its taps.
func TestATapTwiceIsOneTapOnEveryScreen(t *testing.T) {
	t.Parallel()
	s := serveStories(t)
	b := browser.StartIn(t, engine())
	var w walk
	every := 8
	if os.Getenv("PITWISE_WALK") == "all" {
		every = 1
	}
	tabs := 3 // at a time: most of a walk is waiting
	if b.Engine == browser.WebKit {
		tabs = 1 // its driver is at one of them
	}
	t.Run("tab", func(t *testing.T) {
		for tab := range tabs {
			t.Run(strconv.Itoa(tab), func(t *testing.T) {
				t.Parallel()
				p := b.Open(s)
				p.In(t)
				if os.Getenv("PITWISE_GUARD") == "off" {
					p.Before(`{ const listen = window.addEventListener; window.addEventListener = (name, ...rest) => ["click", "pointerdown"].includes(name) || listen.call(window, name, ...rest); }`)
				}
				p.Go("/?story=first-run")
				p.Eval(telling)
				p.Eval(targets)
				for i := tab * every; i < len(stories.All); i += tabs * every {
					t.Run(stories.All[i].Name, func(t *testing.T) {
						p.In(t)
						w.story(t, p, stories.All[i].Name, i)
					})
				}
			})
		}
	})
	t.Logf("targets under a finger that just tapped: %d (of %d double taps, %d of them did something, %d second taps fell on something else, %d targets lay under something, %d could not be tapped twice in time)",
		w.wrong.Load(), w.taps.Load(), w.did.Load(), w.others.Load(), w.covered.Load(), w.slow.Load())
	assert.Greater(t, w.did.Load(), w.taps.Load()/2)
	assert.Less(t, w.slow.Load(), w.taps.Load()/10+1)
	assert.Greater(t, w.others.Load(), w.taps.Load()/20)
}

// story taps twice on one screen; which tells stories apart, so that not the same is left out of each.
func (w *walk) story(t *testing.T, p *browser.Page, name string, which int) {
	tell := "walk.tell(" + strconv.Quote(name) + ")"
	p.Eval(tell)
	for k := range browser.Value[int](p, "walk.count()") {
		for _, gap := range twice {
			if which++; which%10 > 0 && os.Getenv("PITWISE_WALK") != "all" {
				continue
			}
			w.double(t, p, tell, k, gap, 3)
		}
	}
}

// double taps one target of the screen twice. A busy machine may take so long between the taps that the second one is meant:
// then it tries again.
func (w *walk) double(t *testing.T, p *browser.Page, tell string, k int, gap time.Duration, tries int) {
	p.Eval(tell)
	spot := browser.Value[struct {
		X, Y    float64
		Name    string
		Covered bool
	}](p, "walk.spot("+strconv.Itoa(k)+")")
	if spot.Covered {
		w.covered.Add(1)
		return
	}
	other := p.TouchTwice(spot.X, spot.Y, gap, 200*time.Millisecond)
	did := browser.Value[struct {
		Heard []string
		Apart float64
	}](p, "walk.did()")
	if gap != browser.AtTheWorst && did.Apart >= 400 {
		if tries > 1 {
			w.double(t, p, tell, k, gap, tries-1)
		} else {
			w.slow.Add(1)
		}
		return
	}
	w.taps.Add(1)
	if other {
		w.others.Add(1)
	}
	if len(did.Heard) > 0 {
		w.did.Add(1)
	}
	if !assert.LessOrEqual(t, len(did.Heard), 1, "%q, tapped twice after %v, did %v", spot.Name, gap, did.Heard) {
		w.wrong.Add(1)
	}
}

// onStep sees to it that the screen stays with the unit's step for a while.
func onStep(t *testing.T, p *browser.Page, button string, gap time.Duration) {
	t.Helper()
	time.Sleep(300 * time.Millisecond)
	assert.True(t, browser.Value[bool](p, `document.querySelector(".unit-step") !== null`), "tapping %q twice (after %v) left the step:\n%s", button, gap, p.Text())
}
