package browser

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// chromium drives Chromium by its DevTools protocol.
type chromium struct {
	path      string
	film      string // what its camera sees; none without
	timed     bool   // something is timed
	downloads downloads

	root   context.Context
	cancel context.CancelFunc
	group  int // process group of the browser
}

func newChromium() (*chromium, error) {
	path, err := Find()
	if err != nil {
		return nil, err
	}
	return &chromium{path: path}, nil
}

func (c *chromium) start(profile, proxy string) error {
	c.downloads.dir = filepath.Join(profile, "downloads")
	if err := os.MkdirAll(c.downloads.dir, 0o755); err != nil {
		return err
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(c.path),
		chromedp.UserDataDir(filepath.Join(profile, "chromium")),
		chromedp.Flag("no-sandbox", os.Geteuid() == 0),
		chromedp.Flag("disable-gpu", true),
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-domain-reliability", true),
		chromedp.Flag("no-pings", true),
		chromedp.Flag("hide-scrollbars", true),
		// Whatever is not for loopback ends in the trap.
		chromedp.Flag("proxy-server", proxy),
		chromedp.Flag("proxy-bypass-list", "127.0.0.1"),
		chromedp.ModifyCmdFunc(func(cmd *exec.Cmd) { cmd.SysProcAttr = apart() }),
	)
	if !c.timed {
		// A test is over before it pays to compile a function for speed.
		options = append(options, chromedp.Flag("js-flags", "--wasm-tiering-budget=300000000"))
	}
	if c.film != "" {
		options = append(options, chromedp.Flag("use-fake-ui-for-media-stream", true),
			chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-file-for-fake-video-capture", c.film))
	}
	allocator, cancel := chromedp.NewExecAllocator(context.Background(), options...)
	root, cancelRoot := chromedp.NewContext(allocator)
	err := chromedp.Do(root)
	if err == nil {
		err = c.downloads.follow(root)
	}
	if err != nil {
		cancelRoot()
		cancel()
		return err
	}
	c.root = root
	c.cancel = func() { cancelRoot(); cancel() }
	c.group = chromedp.FromContext(root).Browser.Process().Pid
	return nil
}

func (c *chromium) kill() error {
	err := syscall.Kill(-c.group, syscall.SIGKILL)
	c.cancel()
	return err
}

func (c *chromium) close() error {
	if c.root.Err() != nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(c.root, 10*time.Second)
	defer cancel()
	if err := chromedp.Cancel(ctx); err != nil {
		return err
	}
	c.cancel()
	return nil
}

func (c *chromium) downloaded() (name, path string, ok bool) { return c.downloads.take() }

func (c *chromium) open(p *Page) (tab, error) {
	ctx, cancel := chromedp.NewContext(c.root)
	t := &chromiumTab{ctx: ctx, cancel: cancel, page: p}
	if err := chromedp.Do(ctx); err != nil {
		return nil, err
	}
	if err := chromedp.Listen(ctx, t.hear); err != nil {
		return nil, err
	}
	return t, t.do(context.Background(), func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{
			Enabled: true, MaxTouchPoints: 5,
		})
		return err
	})
}

type chromiumTab struct {
	ctx    context.Context
	cancel context.CancelFunc
	page   *Page

	mu    sync.Mutex
	calls map[string]func(text string)
}

// limited is the tab's context, ended when the caller's ends.
func (t *chromiumTab) limited(ctx context.Context) (context.Context, context.CancelFunc) {
	both, cancel := context.WithTimeout(t.ctx, Patience)
	stop := context.AfterFunc(ctx, cancel)
	return both, func() { stop(); cancel() }
}

func (t *chromiumTab) do(ctx context.Context, f func(ctx context.Context, t *chromedp.Target) error) error {
	ctx, cancel := t.limited(ctx)
	defer cancel()
	return chromedp.Do(ctx, chromedp.Func(f))
}

// asks makes one call of the protocol and returns its answer.
func asks[P, R any](ctx context.Context, t *chromiumTab, call cdp.Command[P, R], params P) (R, error) {
	ctx, cancel := t.limited(ctx)
	defer cancel()
	return chromedp.Run(ctx, func(ctx context.Context, t *chromedp.Target) (R, error) { return cdp.Call(ctx, t, call, params) })
}

func (t *chromiumTab) visit(ctx context.Context, address string) error {
	res, err := asks(ctx, t, page.Navigate, page.NavigateParams{URL: address})
	if err == nil && res.ErrorText != "" {
		err = fmt.Errorf("%s: %s", address, res.ErrorText)
	}
	return err
}

func (t *chromiumTab) reload(ctx context.Context) error {
	_, err := asks(ctx, t, page.Reload, page.ReloadParams{})
	return err
}

func (t *chromiumTab) eval(ctx context.Context, expression string) (json.RawMessage, error) {
	res, err := asks(ctx, t, runtime.Evaluate, runtime.EvaluateParams{Expression: expression, ReturnByValue: ptr(true), AwaitPromise: ptr(true)})
	if err != nil {
		return nil, err
	}
	if e := res.ExceptionDetails; e != nil {
		return nil, thrown(e)
	}
	return json.RawMessage(res.Result.Value), nil
}

func thrown(e *runtime.ExceptionDetails) error {
	text := e.Text
	if e.Exception != nil {
		text += " " + e.Exception.Description + string(e.Exception.Value)
	}
	return errors.New(text)
}

func (t *chromiumTab) before(ctx context.Context, script string) error {
	_, err := asks(ctx, t, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
	return err
}

func (t *chromiumTab) size(ctx context.Context, width, height int) error {
	_, err := asks(ctx, t, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{
		Width: int64(width), Height: int64(height), DeviceScaleFactor: 2, Mobile: width < 1000,
	})
	return err
}

// elements reads the tree that Chromium gives to screen readers.
func (t *chromiumTab) elements(ctx context.Context) ([]Element, error) {
	tree, err := asks(ctx, t, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
	if err != nil {
		return nil, err
	}
	var found []Element
	for _, n := range tree.Nodes {
		if n.Ignored || n.Role == nil || n.Name == nil || n.BackendDOMNodeID == 0 {
			continue
		}
		if e := (Element{plain(n.Role.Value), plain(n.Name.Value), n.BackendDOMNodeID}); e.Name != "" {
			found = append(found, e)
		}
	}
	return found, nil
}

func (t *chromiumTab) call(ctx context.Context, e Element, function string) (string, error) {
	node, err := asks(ctx, t, dom.ResolveNode, dom.ResolveNodeParams{BackendNodeID: e.node.(cdp.BackendNodeID)})
	if err != nil {
		return "", err
	}
	res, err := asks(ctx, t, runtime.CallFunctionOn, runtime.CallFunctionOnParams{
		FunctionDeclaration: function, ObjectID: node.Object.ObjectID, ReturnByValue: ptr(true),
	})
	if err != nil {
		return "", err
	}
	if res.ExceptionDetails != nil {
		return "", thrown(res.ExceptionDetails)
	}
	return plain(res.Result.Value), nil
}

func (t *chromiumTab) touch(ctx context.Context, x, y float64, at time.Time) error {
	down := input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: []*input.TouchPoint{{X: x, Y: y}}}
	up := input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}}
	if !at.IsZero() {
		down.Timestamp = input.TimeSinceEpoch(float64(at.UnixMicro()) / 1e6)
		up.Timestamp = down.Timestamp
	}
	if _, err := asks(ctx, t, input.DispatchTouchEvent, down); err != nil {
		return err
	}
	_, err := asks(ctx, t, input.DispatchTouchEvent, up)
	return err
}

func (t *chromiumTab) insert(ctx context.Context, text string) error {
	if text == "" {
		return t.press(ctx, "\b")
	}
	_, err := asks(ctx, t, input.InsertText, input.InsertTextParams{Text: text})
	return err
}

func (t *chromiumTab) press(ctx context.Context, keys string) error {
	ctx, cancel := t.limited(ctx)
	defer cancel()
	return chromedp.Do(ctx, chromedp.KeyEvent(keys))
}

func (t *chromiumTab) upload(ctx context.Context, e Element, path string) error {
	_, err := asks(ctx, t, dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: []string{path}, BackendNodeID: e.node.(cdp.BackendNodeID)})
	return err
}

func (t *chromiumTab) picture(ctx context.Context) ([]byte, error) {
	shot, err := asks(ctx, t, page.CaptureScreenshot, page.CaptureScreenshotParams{Format: page.CaptureScreenshotFormatPng})
	return shot.Data, err
}

func (t *chromiumTab) close() { t.cancel() }

// hear collects what must not be.
func (t *chromiumTab) hear(event any) {
	p := t.page
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		p.wrong("exception: " + thrown(e.ExceptionDetails).Error())
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
		t.mu.Lock()
		call := t.calls[e.Name]
		t.mu.Unlock()
		if call != nil {
			call(e.Payload)
		}
	case *network.EventRequestWillBeSent:
		p.asked(e.Request.URL)
	}
}

// ---- What only Chromium is asked for --------------------------------------

// chromium is the page's tab for what other engines have no way to do.
func (p *Page) chromium() *chromiumTab {
	p.t.Helper()
	t, ok := p.tab.(*chromiumTab)
	if !ok {
		p.t.Fatalf("this step is one for %s, not for %s", Chromium, p.b.Engine)
	}
	return t
}

// ask makes one call of Chromium's protocol and returns its answer.
func ask[P, R any](p *Page, call cdp.Command[P, R], params P) R {
	p.t.Helper()
	r, err := asks(context.Background(), p.chromium(), call, params)
	if err != nil {
		p.t.Fatal(err)
	}
	return r
}

// Media sets media features, such as Media("prefers-color-scheme", "dark").
func (p *Page) Media(pairs ...string) {
	p.t.Helper()
	var features []*emulation.MediaFeature
	for i := 0; i+1 < len(pairs); i += 2 {
		features = append(features, &emulation.MediaFeature{Name: pairs[i], Value: pairs[i+1]})
	}
	ask(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: features})
}

// Slow slows the processor down by the factor; 1 is its own speed.
func (p *Page) Slow(factor float64) {
	p.t.Helper()
	ask(p, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: factor})
}

// Answer gives scripts of the page a function with the name, which takes a text
// and hands it to the test at once. It must be quick and use no Page.
func (p *Page) Answer(name string, call func(text string)) {
	p.t.Helper()
	t := p.chromium()
	t.mu.Lock()
	if t.calls == nil {
		t.calls = map[string]func(string){}
	}
	t.calls[name] = call
	t.mu.Unlock()
	ask(p, runtime.AddBinding, runtime.AddBindingParams{Name: name})
}

// downloads are the files that a browser has saved. A file counts when the browser says
// that it is whole: what lies in the folder before that may be empty.
type downloads struct {
	dir string

	mu    sync.Mutex
	names map[string]string // by the browser's mark of the download
	whole []string          // marks, in order
}

// follow makes the browser save into the folder and tell of each download.
func (d *downloads) follow(ctx context.Context) error {
	if err := chromedp.ListenBrowser(ctx, d.hear); err != nil {
		return err
	}
	_, err := cdp.Call(ctx, chromedp.FromContext(ctx).Browser, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{
		// Under its mark, no file takes the place or the number of another.
		Behavior: browser.SetDownloadBehaviorBehaviorAllowAndName, DownloadPath: d.dir, EventsEnabled: ptr(true),
	})
	return err
}

func (d *downloads) hear(event any) {
	d.mu.Lock()
	defer d.mu.Unlock()
	switch e := event.(type) {
	case *browser.EventDownloadWillBegin:
		if d.names == nil {
			d.names = map[string]string{}
		}
		d.names[e.GUID] = e.SuggestedFilename
	case *browser.EventDownloadProgress:
		if e.State == browser.DownloadProgressStateCompleted {
			d.whole = append(d.whole, e.GUID)
		}
	}
}

func (d *downloads) take() (name, path string, ok bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if len(d.whole) == 0 {
		return "", "", false
	}
	mark := d.whole[0]
	d.whole = d.whole[1:]
	return d.names[mark], filepath.Join(d.dir, mark), true
}
