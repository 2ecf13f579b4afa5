package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Page is one tab.
type Page struct {
	t    testing.TB
	b    *Browser
	s    *Server
	tab  tab
	dead atomic.Bool

	tapped struct {
		x, y float64
		at   time.Time
	}

	mu      sync.Mutex
	allowed []string
	errors  []string
	foreign []string
}

func ptr[T any](v T) *T { return &v }

// clock notes when the program's first view took the place of the first screen,
// and when the page first had a button or link of the program to touch.
const clock = `new MutationObserver((_, observer) => {
	if (document.readyState !== "loading" && document.body && !document.getElementById("first")) {
		window.pitwiseShown = window.pitwiseShown || performance.now();
		if (document.querySelector("body > :first-child :is(button, a[href])")) {
			window.pitwiseUsable = performance.now();
			observer.disconnect();
		}
	}
}).observe(document, {childList: true, subtree: true})`

// Milestones returns, in milliseconds since the start of the last navigation,
// when the program was compiled, when its first view was there, and when that
// had something to touch.
func (p *Page) Milestones() string {
	p.t.Helper()
	return Value[string](p, `[performance.getEntriesByName("pitwise-compiled")[0].startTime, pitwiseShown, pitwiseUsable].map(Math.round).join(", ")`)
}

// Usable returns how long after the start of the last navigation the page had
// something of the program to touch.
func (p *Page) Usable() time.Duration {
	p.t.Helper()
	p.Until("window.pitwiseUsable")
	return time.Duration(Value[float64](p, "window.pitwiseUsable") * float64(time.Millisecond))
}

// asked notes a request that the page makes to another origin.
func (p *Page) asked(address string) {
	u, err := url.Parse(address)
	if err == nil && (!slices.Contains([]string{"http", "https", "ws", "wss"}, u.Scheme) || u.Scheme+"://"+u.Host == p.s.Origin()) {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.foreign = append(p.foreign, address)
}

// wrong notes an error of the page.
func (p *Page) wrong(text string) {
	if p.dead.Load() {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, a := range p.allowed {
		if strings.Contains(text, a) {
			return
		}
	}
	p.errors = append(p.errors, text)
}

// Allow says that errors with the text are meant to happen from now on.
func (p *Page) Allow(text string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.allowed = append(p.allowed, text)
}

// Errors returns what went wrong so far, and forgets it, for tests that look
// at errors themselves.
func (p *Page) Errors() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	errors := p.errors
	p.errors = nil
	return errors
}

// check is made at the end of the test.
func (p *Page) check() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, e := range p.errors {
		p.t.Errorf("the page reported an error: %s", e)
	}
	for _, u := range p.foreign {
		p.t.Errorf("the page asked for another origin: %s", u)
	}
}

// Close closes the tab.
func (p *Page) Close() {
	p.dead.Store(true)
	p.tab.close()
}

// Size sets the size of the screen in CSS pixels, as a phone with two device
// pixels to each where the engine can.
func (p *Page) Size(width, height int) {
	p.t.Helper()
	p.do(func(ctx context.Context) error { return p.tab.size(ctx, width, height) })
}

// In makes failures those of a subtest until it ends.
func (p *Page) In(t testing.TB) {
	before := p.t
	p.t = t
	t.Cleanup(func() { p.t = before })
}

// Go opens a path of the page and waits until the program shows its view.
func (p *Page) Go(path string) {
	p.t.Helper()
	p.Visit(p.s.URL(path))
	p.Started()
}

// Visit opens an address and waits for no more than its document.
func (p *Page) Visit(address string) {
	p.t.Helper()
	p.do(func(ctx context.Context) error { return p.tab.visit(ctx, address) })
}

// Reload loads the page again and waits until the program shows its view.
func (p *Page) Reload() {
	p.t.Helper()
	p.Eval("void (window.pitwiseOldPage = true)")
	p.do(p.tab.reload)
	p.Until("!window.pitwiseOldPage")
	p.Started()
}

// Started waits until the first screen has given way to the program's view, and
// that to what was stored.
func (p *Page) Started() {
	p.t.Helper()
	p.Until(`document.readyState === "complete" && document.body !== null && document.getElementById("first") === null && document.querySelector("main.waiting") === null`)
}

// Stored waits until the page is stored whole, so that the server may go.
func (p *Page) Stored() {
	p.t.Helper()
	p.await("be stored", func() (bool, string) {
		state, err := value[string](p, `(async () => {
			const r = await navigator.serviceWorker.getRegistration();
			const has = (w) => w ? w.state : "none";
			return [window.pitwiseUpdate && window.pitwiseUpdate.ready ? "ready" : "not ready",
				navigator.serviceWorker.controller ? "controlled" : "not controlled",
				r ? "installing " + has(r.installing) + ", waiting " + has(r.waiting) + ", active " + has(r.active) : "no registration"].join("; ");
		})()`)
		if err != nil {
			return false, err.Error()
		}
		return strings.HasPrefix(state, "ready; controlled"), state
	})
}

// Until waits until the JavaScript expression, or what it promises, is true. The page
// itself looks, whenever something in it changes.
func (p *Page) Until(expression string) {
	p.t.Helper()
	p.await("until "+expression, func() (bool, string) {
		v, err := value[bool](p, `(async () => {
			const look = async () => Boolean(await (`+expression+`));
			for (const end = performance.now() + `+patienceOfAPage+`; ;) {
				if (await look()) return true;
				if (performance.now() > end) return false;
				await `+change+`;
			}
		})()`)
		if err != nil {
			return false, err.Error()
		}
		return v, "it is false; the page shows:\n" + p.text()
	})
}

// patienceOfAPage is how long a page itself waits for something, in milliseconds; then the
// test asks anew, for the page may be another one.
const patienceOfAPage = "2000"

// change is a promise that is kept when the page's next change is whole, or soon. Each look at a page costs it time that on a busy
// machine it has not: what it waits for would come later for being asked after.
const change = `new Promise((done) => {
	const observer = new MutationObserver(() => { observer.disconnect(); setTimeout(done, 25); });
	observer.observe(document, {subtree: true, childList: true, attributes: true, characterData: true});
	setTimeout(() => { observer.disconnect(); done(); }, 250);
})`

// Eval runs JavaScript for its effect and waits for a promise.
func (p *Page) Eval(expression string) {
	p.t.Helper()
	p.do(func(ctx context.Context) error {
		_, err := p.tab.eval(ctx, expression)
		return err
	})
}

// Value runs JavaScript and returns what it gives, awaiting a promise.
func Value[T any](p *Page, expression string) T {
	p.t.Helper()
	v, err := value[T](p, expression)
	require.NoError(p.t, err)
	return v
}

func value[T any](p *Page, expression string) (v T, err error) {
	ctx, cancel := context.WithTimeout(context.Background(), Patience)
	defer cancel()
	raw, err := p.tab.eval(ctx, expression)
	if err != nil || raw == nil {
		return v, err
	}
	return v, json.Unmarshal(raw, &v)
}

// Before runs the script before any of the page's own, whenever a page is loaded from
// now on.
func (p *Page) Before(script string) {
	p.t.Helper()
	p.do(func(ctx context.Context) error { return p.tab.before(ctx, script) })
}

// Text returns the visible text of the page, with every kind of space as a space.
func (p *Page) Text() string {
	p.t.Helper()
	return p.text()
}

func (p *Page) text() string {
	text, err := value[string](p, `document.body ? document.body.innerText : ""`)
	if err != nil {
		return "(" + err.Error() + ")"
	}
	return spaces.Replace(text)
}

// spaces are those that do not break a line: no-break, figure, narrow, thin.
var spaces = strings.NewReplacer("\u00a0", " ", "\u2007", " ", "\u202f", " ", "\u2009", " ")

// See waits until the text can be seen.
func (p *Page) See(text string) {
	p.t.Helper()
	p.await(fmt.Sprintf("see %q", text), func() (bool, string) {
		there := p.text()
		return strings.Contains(there, text), "the page shows:\n" + there
	})
}

// Gone waits until the text can no longer be seen.
func (p *Page) Gone(text string) {
	p.t.Helper()
	p.await(fmt.Sprintf("see %q go", text), func() (bool, string) {
		there := p.text()
		return !strings.Contains(there, text), "the page shows:\n" + there
	})
}

// Element is something on the page as a screen reader tells it.
type Element struct {
	Role, Name string
	node       any // the tab's own mark of it
}

// touchable are the roles that Tap looks among.
var touchable = []string{"button", "link", "checkbox", "radio", "switch", "tab", "menuitem", "option", "combobox", "textbox",
	"searchbox", "spinbutton", "slider", "DisclosureTriangle", "Date", "InputTime", "gridcell", "treeitem", "listitem"}

// fields are the roles that Type looks among.
var fields = []string{"textbox", "searchbox", "spinbutton", "combobox", "Date", "InputTime"}

// elements returns everything that has a name and one of the roles, in the order of
// the page. No roles means all.
func (p *Page) elements(roles []string) ([]Element, error) {
	ctx, cancel := context.WithTimeout(context.Background(), Patience)
	defer cancel()
	all, err := p.tab.elements(ctx)
	return slices.DeleteFunc(all, func(e Element) bool { return len(roles) > 0 && !slices.Contains(roles, e.Role) }), err
}

func plain(v []byte) string {
	var s string
	if json.Unmarshal(v, &s) != nil {
		return ""
	}
	return strings.TrimSpace(spaces.Replace(s))
}

// find waits for the element with the name: the whole name, or else the only
// one that begins with it.
func (p *Page) find(name string, roles []string) Element {
	p.t.Helper()
	var found Element
	p.await(fmt.Sprintf("find %q", name), func() (ok bool, instead string) {
		found, ok, instead = p.look(name, roles)
		return ok, instead
	})
	return found
}

// look looks once for the element that find waits for.
func (p *Page) look(name string, roles []string) (found Element, ok bool, instead string) {
	all, err := p.elements(roles)
	if err != nil {
		return found, false, err.Error()
	}
	// Engines differ in where they put a space between two parts of a name.
	wanted := strings.Join(strings.Fields(name), "")
	var begins []Element
	for _, e := range all {
		there := strings.Join(strings.Fields(e.Name), "")
		if there == wanted {
			return e, true, ""
		}
		if strings.HasPrefix(there, wanted) {
			begins = append(begins, e)
		}
	}
	if len(begins) == 1 {
		return begins[0], true, ""
	}
	return found, false, fmt.Sprintf("there is: %v", all)
}

// Tap touches the element with the accessible name, in its middle. It fails if
// something else lies over it.
func (p *Page) Tap(name string) {
	p.t.Helper()
	p.tap(name, touchable)
}

// tap touches the element that find would find, and returns it.
func (p *Page) tap(name string, roles []string) Element {
	p.t.Helper()
	e, x, y := p.spot(name, roles)
	// Who means a second tap on a spot takes a moment; sooner it is no tap of its own.
	if math.Hypot(x-p.tapped.x, y-p.tapped.y) < 30 {
		time.Sleep(time.Until(p.tapped.at.Add(500 * time.Millisecond)))
	}
	p.Touch(x, y)
	p.tapped.x, p.tapped.y, p.tapped.at = x, y, time.Now()
	return e
}

// AtTheWorst is the time between two taps when the second comes as soon as something else
// that takes a tap lies under the finger.
const AtTheWorst time.Duration = 0

// comes is how long AtTheWorst waits for that: a next step may have to be worked out.
const comes = 5 * time.Second

// TapTwice touches the element with the accessible name and, after a while, the same spot
// once more. It reports whether something else that takes a tap lay there then.
func (p *Page) TapTwice(name string, after time.Duration) (other bool) {
	p.t.Helper()
	_, x, y := p.spot(name, touchable)
	return p.TouchTwice(x, y, after, comes)
}

// Touch touches a spot of the screen, in CSS pixels, whatever lies there.
func (p *Page) Touch(x, y float64) {
	p.t.Helper()
	p.touchAt(x, y, time.Time{})
}

func (p *Page) touchAt(x, y float64, at time.Time) {
	p.t.Helper()
	p.do(func(ctx context.Context) error { return p.tab.touch(ctx, x, y, at) })
}

// TouchTwice touches a spot and, after a while, once more, and reports whether something else that takes
// a tap lay there then. At the worst time it does not tap again if nothing else comes within a time: a tap on what
// lay there all along, so long after, is meant. What is late because the machine is busy is no later for the page, if
// the engine can tell it.
func (p *Page) TouchTwice(x, y float64, after, within time.Duration) (other bool) {
	p.t.Helper()
	p.Eval(fmt.Sprintf(`void (window.pitwiseUnder = (() => {
		const under = () => { const e = document.elementFromPoint(%f, %f)?.closest("button, a, label, summary, [data-guarded]"); return e ? [e.innerText, e.dataset.guarded, e.getAttribute("href")].join() : null; };
		const first = under();
		const other = () => ![first, null].includes(under());
		return async (within) => { for (const end = performance.now() + within; !other() && performance.now() < end;) await new Promise(requestAnimationFrame); return other() ? Date.now() : 0; };
	})())`, x, y))
	first := time.Now()
	p.touchAt(x, y, first)
	if after == AtTheWorst {
		came := Value[int64](p, fmt.Sprintf("pitwiseUnder(%d)", within.Milliseconds()))
		if came == 0 {
			return false
		}
		p.touchAt(x, y, time.UnixMilli(came))
		return true
	}
	time.Sleep(time.Until(first.Add(after)))
	other = Value[int64](p, "pitwiseUnder(0)") > 0
	p.touchAt(x, y, first.Add(after))
	return other
}

// spot brings the element that find would find into view and returns it, and where a finger
// would touch it. A page that is drawn anew meanwhile may have put another in its place: that
// one is found then.
func (p *Page) spot(name string, roles []string) (e Element, x, y float64) {
	p.t.Helper()
	var spot struct {
		X, Y  float64
		Cover string
	}
	p.await(fmt.Sprintf("touch %q", name), func() (ok bool, instead string) {
		if e, ok, instead = p.look(name, roles); !ok {
			return false, instead
		}
		raw, err := p.call(e, `function() {
			this.scrollIntoView({block: "center", inline: "center", behavior: "instant"});
			if (this.closest("[data-fresh]")) return JSON.stringify({Cover: "it came just now and takes no tap yet"});
			const spots = [this, ...(this.labels || [])];
			let cover = "it has no size";
			for (const spot of spots) {
				for (const r of spot.getClientRects()) {
					if (r.width < 1 || r.height < 1) continue;
					const x = r.left + r.width / 2, y = r.top + r.height / 2;
					const top = document.elementFromPoint(x, y);
					if (top && spots.some((s) => s.contains(top))) return JSON.stringify({X: x, Y: y});
					cover = top ? top.outerHTML.slice(0, 200) : "outside of the screen";
				}
			}
			return JSON.stringify({Cover: cover});
		}`)
		if err != nil {
			return false, err.Error()
		}
		spot.Cover = ""
		if err := json.Unmarshal([]byte(raw), &spot); err != nil {
			return false, err.Error()
		}
		return spot.Cover == "", "covered: " + spot.Cover
	})
	return e, spot.X, spot.Y
}

// Type puts the text into the field with the accessible name, in place of what
// was there, and leaves the field.
func (p *Page) Type(name, text string) {
	p.t.Helper()
	e := p.tap(name, fields)
	p.want(e, `function() { this.focus(); if (this.select) this.select(); return ""; }`)
	p.do(func(ctx context.Context) error { return p.tab.insert(ctx, text) })
	p.want(e, `function() { this.blur(); return ""; }`)
}

// Press sends a key, such as "\t" or kb.Escape of chromedp, to what has the focus.
func (p *Page) Press(keys string) {
	p.t.Helper()
	p.do(func(ctx context.Context) error { return p.tab.press(ctx, keys) })
}

// Upload gives a file to the file field with the accessible name.
func (p *Page) Upload(name, path string) {
	p.t.Helper()
	e := p.find(name, nil)
	p.do(func(ctx context.Context) error { return p.tab.upload(ctx, e, path) })
}

// Downloaded waits for the next download of the browser to be whole, takes it away,
// and returns its name and content.
func (p *Page) Downloaded() (string, []byte) {
	p.t.Helper()
	var name, path string
	p.await("find a download", func() (bool, string) {
		var whole bool
		name, path, whole = p.b.program.downloaded()
		return whole, "nothing was downloaded"
	})
	body, err := os.ReadFile(path)
	require.NoError(p.t, err)
	require.NoError(p.t, os.Remove(path))
	return name, body
}

// Picture returns what the screen shows, as PNG.
func (p *Page) Picture() []byte {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), Patience)
	defer cancel()
	shot, err := p.tab.picture(ctx)
	require.NoError(p.t, err)
	return shot
}

// Screenshot writes what the screen shows to testdata/screens/NAME.png, if PITWISE_SCREENS is set: a quarter of a walk
// would be spent on pictures at which nobody looks.
func (p *Page) Screenshot(name string) {
	p.t.Helper()
	if os.Getenv("PITWISE_SCREENS") == "" {
		return
	}
	dir := Screens(p.t)
	require.NoError(p.t, os.MkdirAll(dir, 0o755))
	require.NoError(p.t, os.WriteFile(filepath.Join(dir, name+".png"), p.Picture(), 0o644))
}

// want calls the function on the element.
func (p *Page) want(e Element, function string) string {
	p.t.Helper()
	v, err := p.call(e, function)
	require.NoError(p.t, err)
	return v
}

// call calls a JavaScript function that returns a string, with the element as
// this.
func (p *Page) call(e Element, function string) (string, error) {
	ctx, cancel := context.WithTimeout(context.Background(), Patience)
	defer cancel()
	return p.tab.call(ctx, e, function)
}

// await repeats the question until it is answered with yes.
func (p *Page) await(what string, question func() (ok bool, instead string)) {
	p.t.Helper()
	end := time.Now().Add(Patience)
	for {
		ok, instead := question()
		if ok {
			return
		}
		if time.Now().After(end) {
			require.FailNow(p.t, "the page did not let the test "+what, "%s\nerrors: %q", instead, p.Errors())
		}
		if _, err := value[any](p, change); err != nil {
			time.Sleep(30 * time.Millisecond) // between two documents nothing changes
		}
	}
}

// do does something that a page must let itself be asked.
func (p *Page) do(f func(ctx context.Context) error) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), Patience)
	defer cancel()
	require.NoError(p.t, f(ctx))
}
