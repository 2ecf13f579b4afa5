package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// Page is one tab.
type Page struct {
	t      testing.TB
	c      *Chromium
	s      *Server
	ctx    context.Context
	cancel context.CancelFunc
	dead   atomic.Bool

	mu      sync.Mutex
	allowed []string
	errors  []string
	foreign []string
	calls   map[string]func(text string)
}

func ptr[T any](v T) *T { return &v }

// prepare opens the tab and makes it a phone.
func (p *Page) prepare() {
	p.t.Helper()
	require.NoError(p.t, chromedp.Do(p.ctx))
	require.NoError(p.t, chromedp.Listen(p.ctx, p.hear))
	p.Size(390, 844)
	p.do(func(ctx context.Context, t *chromedp.Target) error {
		if _, err := cdp.Call(ctx, t, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: clock}); err != nil {
			return err
		}
		_, err := cdp.Call(ctx, t, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{
			Enabled: true, MaxTouchPoints: 5,
		})
		return err
	})
}

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

// hear collects what must not be.
func (p *Page) hear(event any) {
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		text := e.ExceptionDetails.Text
		if e.ExceptionDetails.Exception != nil {
			text += " " + e.ExceptionDetails.Exception.Description
		}
		p.wrong("exception: " + text)
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeAssert {
			var words []string
			for _, a := range e.Args {
				words = append(words, strings.TrimSpace(string(a.Value)+" "+a.Description))
			}
			p.wrong("console: " + strings.Join(words, " "))
		}
	case *log.EventEntryAdded:
		if e.Entry.Level != log.EntryLevelError {
			return
		}
		if e.Entry.Source == log.EntrySourceNetwork && !p.s.up() {
			return // that the server is gone is no fault of the page
		}
		p.wrong(fmt.Sprintf("%s: %s (%s)", e.Entry.Source, e.Entry.Text, e.Entry.URL))
	case *runtime.EventBindingCalled:
		p.mu.Lock()
		call := p.calls[e.Name]
		p.mu.Unlock()
		if call != nil {
			call(e.Payload)
		}
	case *network.EventRequestWillBeSent:
		u, err := url.Parse(e.Request.URL)
		if err != nil || (u.Scheme == "http" || u.Scheme == "https" || u.Scheme == "ws" || u.Scheme == "wss") && u.Scheme+"://"+u.Host != p.s.Origin() {
			p.mu.Lock()
			p.foreign = append(p.foreign, e.Request.URL)
			p.mu.Unlock()
		}
	}
}

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
	p.cancel()
}

// Size sets the size of the screen in CSS pixels, as a phone with two device
// pixels to each.
func (p *Page) Size(width, height int) {
	p.t.Helper()
	p.do(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{
			Width: int64(width), Height: int64(height), DeviceScaleFactor: 2, Mobile: width < 1000,
		})
		return err
	})
}

// Media sets media features, such as Media("prefers-color-scheme", "dark").
func (p *Page) Media(pairs ...string) {
	p.t.Helper()
	var features []*emulation.MediaFeature
	for i := 0; i+1 < len(pairs); i += 2 {
		features = append(features, &emulation.MediaFeature{Name: pairs[i], Value: pairs[i+1]})
	}
	p.do(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: features})
		return err
	})
}

// Slow slows the processor down by the factor; 1 is its own speed.
func (p *Page) Slow(factor float64) {
	p.t.Helper()
	p.do(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: factor})
		return err
	})
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
	p.do(func(ctx context.Context, t *chromedp.Target) error {
		res, err := cdp.Call(ctx, t, page.Navigate, page.NavigateParams{URL: address})
		if err == nil && res.ErrorText != "" {
			err = fmt.Errorf("%s: %s", address, res.ErrorText)
		}
		return err
	})
}

// Reload loads the page again and waits until the program shows its view.
func (p *Page) Reload() {
	p.t.Helper()
	p.Eval("void (window.pitwiseOldPage = true)")
	p.do(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, page.Reload, page.ReloadParams{})
		return err
	})
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
		state, err := run(p, chromedp.Evaluate[string](`(async () => {
			const r = await navigator.serviceWorker.getRegistration();
			const has = (w) => w ? w.state : "none";
			return [window.pitwiseUpdate && window.pitwiseUpdate.ready ? "ready" : "not ready",
				navigator.serviceWorker.controller ? "controlled" : "not controlled",
				r ? "installing " + has(r.installing) + ", waiting " + has(r.waiting) + ", active " + has(r.active) : "no registration"].join("; ");
		})()`, awaitPromise))
		if err != nil {
			return false, err.Error()
		}
		return strings.HasPrefix(state, "ready; controlled"), state
	})
}

// Until waits until the JavaScript expression, or what it promises, is true.
func (p *Page) Until(expression string) {
	p.t.Helper()
	p.await("until "+expression, func() (bool, string) {
		v, err := run(p, chromedp.Evaluate[bool]("Promise.resolve("+expression+").then(Boolean)", awaitPromise))
		if err != nil {
			return false, err.Error()
		}
		return v, "it is false; the page shows:\n" + p.text()
	})
}

// Eval runs JavaScript for its effect and waits for a promise.
func (p *Page) Eval(expression string) {
	p.t.Helper()
	_, err := run(p, chromedp.Evaluate[chromedp.Void](expression, awaitPromise))
	require.NoError(p.t, err)
}

// Value runs JavaScript and returns what it gives, awaiting a promise.
func Value[T any](p *Page, expression string) T {
	p.t.Helper()
	v, err := run(p, chromedp.Evaluate[T](expression, awaitPromise))
	require.NoError(p.t, err)
	return v
}

func awaitPromise(e *runtime.EvaluateParams) { e.AwaitPromise = ptr(true) }

// Answer gives scripts of the page a function with the name, which takes a text
// and hands it to the test at once. It must be quick and use no Page.
func (p *Page) Answer(name string, call func(text string)) {
	p.t.Helper()
	p.mu.Lock()
	if p.calls == nil {
		p.calls = map[string]func(string){}
	}
	p.calls[name] = call
	p.mu.Unlock()
	p.do(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, runtime.AddBinding, runtime.AddBindingParams{Name: name})
		return err
	})
}

// Text returns the visible text of the page, with every kind of space as a space.
func (p *Page) Text() string {
	p.t.Helper()
	return p.text()
}

func (p *Page) text() string {
	text, err := run(p, chromedp.Evaluate[string]("document.body ? document.body.innerText : ''"))
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
	node       cdp.BackendNodeID
}

// touchable are the roles that Tap looks among.
var touchable = []string{"button", "link", "checkbox", "radio", "switch", "tab", "menuitem", "option", "combobox", "textbox",
	"searchbox", "spinbutton", "slider", "DisclosureTriangle", "Date", "InputTime", "gridcell", "treeitem", "listitem"}

// fields are the roles that Type looks among.
var fields = []string{"textbox", "searchbox", "spinbutton", "combobox", "Date", "InputTime"}

// elements returns everything that has a name and one of the roles, in the order of
// the page. No roles means all.
func (p *Page) elements(roles []string) ([]Element, error) {
	tree, err := run(p, func(ctx context.Context, t *chromedp.Target) (accessibility.GetFullAXTreeResult, error) {
		return cdp.Call(ctx, t, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
	})
	if err != nil {
		return nil, err
	}
	var found []Element
	for _, n := range tree.Nodes {
		if n.Ignored || n.Role == nil || n.Name == nil || n.BackendDOMNodeID == 0 {
			continue
		}
		e := Element{plain(n.Role.Value), plain(n.Name.Value), n.BackendDOMNodeID}
		if e.Name != "" && (len(roles) == 0 || slices.Contains(roles, e.Role)) {
			found = append(found, e)
		}
	}
	return found, nil
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
	p.await(fmt.Sprintf("find %q", name), func() (bool, string) {
		all, err := p.elements(roles)
		if err != nil {
			return false, err.Error()
		}
		var begins []Element
		for _, e := range all {
			if e.Name == name {
				found = e
				return true, ""
			}
			if strings.HasPrefix(e.Name, name) {
				begins = append(begins, e)
			}
		}
		if len(begins) == 1 {
			found = begins[0]
			return true, ""
		}
		return false, fmt.Sprintf("there is: %v", all)
	})
	return found
}

// Tap touches the element with the accessible name, in its middle. It fails if
// something else lies over it.
func (p *Page) Tap(name string) {
	p.t.Helper()
	p.tap(p.find(name, touchable))
}

func (p *Page) tap(e Element) {
	p.t.Helper()
	var spot struct {
		X, Y  float64
		Cover string
	}
	p.await(fmt.Sprintf("touch %q", e.Name), func() (bool, string) {
		raw, err := p.call(e, `function() {
			this.scrollIntoView({block: "center", inline: "center", behavior: "instant"});
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
	p.do(func(ctx context.Context, t *chromedp.Target) error {
		down := input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: []*input.TouchPoint{{X: spot.X, Y: spot.Y}}}
		if _, err := cdp.Call(ctx, t, input.DispatchTouchEvent, down); err != nil {
			return err
		}
		up := input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}}
		_, err := cdp.Call(ctx, t, input.DispatchTouchEvent, up)
		return err
	})
}

// Type puts the text into the field with the accessible name, in place of what
// was there, and leaves the field.
func (p *Page) Type(name, text string) {
	p.t.Helper()
	e := p.find(name, fields)
	p.tap(e)
	p.want(e, `function() { this.focus(); if (this.select) this.select(); return ""; }`)
	p.do(func(ctx context.Context, t *chromedp.Target) error {
		if text == "" {
			return chromedp.Do(ctx, chromedp.KeyEvent("\b"))
		}
		_, err := cdp.Call(ctx, t, input.InsertText, input.InsertTextParams{Text: text})
		return err
	})
	p.want(e, `function() { this.blur(); return ""; }`)
}

// Press sends a key, such as "\t" or kb.Escape of chromedp, to what has the focus.
func (p *Page) Press(keys string) {
	p.t.Helper()
	require.NoError(p.t, chromedp.Do(p.limited(), chromedp.KeyEvent(keys)))
}

// Upload gives a file to the file field with the accessible name.
func (p *Page) Upload(name, path string) {
	p.t.Helper()
	e := p.find(name, nil)
	p.do(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: []string{path}, BackendNodeID: e.node})
		return err
	})
}

// Downloaded waits for the next download of the browser to be whole, takes it away,
// and returns its name and content.
func (p *Page) Downloaded() (string, []byte) {
	p.t.Helper()
	var name, path string
	p.await("find a download", func() (bool, string) {
		var whole bool
		name, path, whole = p.c.downloads.take()
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
	shot, err := run(p, func(ctx context.Context, t *chromedp.Target) (page.CaptureScreenshotResult, error) {
		return cdp.Call(ctx, t, page.CaptureScreenshot, page.CaptureScreenshotParams{Format: page.CaptureScreenshotFormatPng})
	})
	require.NoError(p.t, err)
	return shot.Data
}

// Screenshot writes what the screen shows to testdata/screens/NAME.png.
func (p *Page) Screenshot(name string) {
	p.t.Helper()
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
	return run(p, func(ctx context.Context, t *chromedp.Target) (string, error) {
		node, err := cdp.Call(ctx, t, dom.ResolveNode, dom.ResolveNodeParams{BackendNodeID: e.node})
		if err != nil {
			return "", err
		}
		res, err := cdp.Call(ctx, t, runtime.CallFunctionOn, runtime.CallFunctionOnParams{
			FunctionDeclaration: function, ObjectID: node.Object.ObjectID, ReturnByValue: ptr(true),
		})
		if err != nil {
			return "", err
		}
		if res.ExceptionDetails != nil {
			return "", fmt.Errorf("%s", res.ExceptionDetails.Text)
		}
		return plain(res.Result.Value), nil
	})
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
		time.Sleep(30 * time.Millisecond)
	}
}

func (p *Page) limited() context.Context {
	ctx, cancel := context.WithTimeout(p.ctx, Patience)
	context.AfterFunc(ctx, cancel)
	return ctx
}

func (p *Page) do(f func(ctx context.Context, t *chromedp.Target) error) {
	p.t.Helper()
	require.NoError(p.t, chromedp.Do(p.limited(), chromedp.Func(f)))
}

func run[T any](p *Page, a chromedp.Action[T]) (T, error) {
	ctx, cancel := context.WithTimeout(p.ctx, Patience)
	defer cancel()
	return chromedp.Run(ctx, a)
}
