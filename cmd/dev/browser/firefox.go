package browser

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"
)

// firefox drives Firefox by WebDriver BiDi.
type firefox struct {
	path string
	run  *process
	bidi *bidi

	mu    sync.Mutex
	pages map[string]*Page // by the mark of the tab
	saved []saved
}

// saved is a whole download.
type saved struct{ name, path string }

func newFirefox() (program, error) {
	for _, name := range []string{"firefox-esr", "firefox"} {
		if path, err := exec.LookPath(name); err == nil {
			return &firefox{path: path}, nil
		}
	}
	return nil, Firefox.missing("Firefox")
}

// preferences keep the browser from errands of its own, send all but loopback to the
// proxy, and make it a phone with touch.
func preferences(proxy string) (string, error) {
	host, port, err := net.SplitHostPort(proxy)
	if err != nil {
		return "", err
	}
	all := map[string]any{
		"network.proxy.type": 1, "network.proxy.no_proxies_on": "127.0.0.1", "network.proxy.share_proxy_settings": true,
		"network.proxy.http": host, "network.proxy.ssl": host, "network.proxy.socks": "",
		"app.update.disabledForTesting": true, "app.normandy.enabled": false, "browser.safebrowsing.update.enabled": false,
		"browser.safebrowsing.malware.enabled": false, "browser.safebrowsing.phishing.enabled": false, "browser.safebrowsing.downloads.enabled": false,
		"browser.newtabpage.enabled": false, "browser.startup.page": 0, "browser.startup.homepage": "about:blank", "browser.shell.checkDefaultBrowser": false,
		"browser.sessionstore.resume_from_crash": false, "toolkit.startup.max_resumed_crashes": -1,
		"browser.region.network.url": "", "browser.region.update.enabled": false, "browser.search.update": false, "browser.topsites.contile.enabled": false,
		"datareporting.policy.dataSubmissionEnabled": false, "datareporting.healthreport.uploadEnabled": false, "toolkit.telemetry.enabled": false,
		"toolkit.telemetry.server": "", "extensions.update.enabled": false, "extensions.getAddons.cache.enabled": false, "extensions.systemAddon.update.enabled": false,
		"services.settings.server": "data:,", "network.captive-portal-service.enabled": false, "network.connectivity-service.enabled": false,
		"network.dns.disablePrefetch": true, "network.http.speculative-parallel-limit": 0, "network.prefetch-next": false,
		"media.gmp-manager.updateEnabled": false, "media.gmp-manager.url": "", "dom.push.connection.enabled": false, "geo.provider.testing": true,
		"browser.download.alwaysOpenPanel": false, "browser.tabs.remote.unloadDelayMs": 0, "browser.translations.enable": false,
		"dom.w3c_touch_events.enabled": 1, "ui.primaryPointerCapabilities": 1, "ui.allPointerCapabilities": 1,
		"intl.accept_languages": "en-US, en", "intl.locale.requested": "en-US",
		// A person who sees a page of their own bench is asked about nothing.
		"dom.webnotifications.enabled": false, "permissions.default.persistent-storage": 1,
	}
	var b strings.Builder
	for name, value := range all {
		text, err := json.Marshal(value)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&b, "user_pref(%q, %s);\n", name, text)
	}
	fmt.Fprintf(&b, "user_pref(%q, %s);\nuser_pref(%q, %s);\n", "network.proxy.http_port", port, "network.proxy.ssl_port", port)
	return b.String(), nil
}

func (f *firefox) start(profile, proxy string) error {
	dir := filepath.Join(profile, "firefox")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	wants, err := preferences(proxy)
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, "user.js"), []byte(wants), 0o644); err != nil {
		return err
	}
	cmd := exec.Command(f.path, "--headless", "--no-remote", "--profile", dir, "--remote-debugging-port", "0",
		"--remote-allow-origins", bidiOrigin, "about:blank")
	cmd.Env = append(os.Environ(), "HOME="+profile, "MOZ_CRASHREPORTER_DISABLE=1", "MOZ_DISABLE_AUTO_SAFE_MODE=1", "MOZ_DATA_REPORTING=0")
	if f.run, err = begin(cmd, nil); err != nil {
		return err
	}
	err = f.connect(filepath.Join(profile, "downloads"))
	if err != nil {
		f.run.kill()
	}
	return err
}

func (f *firefox) connect(downloads string) error {
	address, err := f.run.wait("WebDriver BiDi listening on ", Patience)
	if err != nil {
		return err
	}
	f.pages = map[string]*Page{}
	if f.bidi, err = dialBidi(strings.TrimSpace(address)+"/session", f.hear); err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(context.Background(), Patience)
	defer cancel()
	if err := f.bidi.do(ctx, "session.new", map[string]any{"capabilities": map[string]any{}}, nil); err != nil {
		return err
	}
	if err := os.MkdirAll(downloads, 0o755); err != nil {
		return err
	}
	err = f.bidi.do(ctx, "browser.setDownloadBehavior", map[string]any{
		"downloadBehavior": map[string]any{"type": "allowed", "destinationFolder": downloads},
	}, nil)
	if err != nil {
		return err
	}
	return f.bidi.do(ctx, "session.subscribe", map[string]any{
		"events": []string{"log.entryAdded", "network.beforeRequestSent", "browsingContext.downloadWillBegin", "browsingContext.downloadEnd"},
	}, nil)
}

func (f *firefox) kill() error {
	err := f.run.kill()
	f.bidi.close()
	return err
}

func (f *firefox) close() error {
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	err := f.bidi.do(ctx, "browser.close", map[string]any{}, nil)
	f.bidi.close()
	return errors.Join(err, f.run.end(10*time.Second))
}

func (f *firefox) downloaded() (name, path string, ok bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if len(f.saved) == 0 {
		return "", "", false
	}
	first := f.saved[0]
	f.saved = f.saved[1:]
	return first.name, first.path, true
}

// hear collects what must not be, and downloads.
func (f *firefox) hear(method string, params json.RawMessage) {
	var e struct {
		Context, Level, Text, Type, Status, Filepath, URL, SuggestedFilename string
		Source                                                               struct{ Context string }
		Request                                                              struct{ URL string }
	}
	if json.Unmarshal(params, &e) != nil {
		return
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	page := f.pages[e.Context]
	if page == nil {
		page = f.pages[e.Source.Context]
	}
	switch method {
	case "browsingContext.downloadEnd":
		if e.Status == "complete" {
			f.saved = append(f.saved, saved{filepath.Base(e.Filepath), e.Filepath})
		}
	case "log.entryAdded":
		if page != nil && e.Level == "error" {
			page.wrong(e.Type + ": " + e.Text)
		}
	case "network.beforeRequestSent":
		if page != nil && e.Request.URL != "" {
			page.asked(e.Request.URL)
		}
	}
}

func (f *firefox) open(p *Page) (tab, error) {
	ctx, cancel := context.WithTimeout(context.Background(), Patience)
	defer cancel()
	var made struct{ Context string }
	if err := f.bidi.do(ctx, "browsingContext.create", map[string]any{"type": "tab"}, &made); err != nil {
		return nil, err
	}
	f.mu.Lock()
	f.pages[made.Context] = p
	f.mu.Unlock()
	t := &firefoxTab{f: f, id: made.Context}
	return t, t.before(ctx, breaches)
}

// breaches makes an error of each breach of the Content-Security-Policy.
const breaches = `addEventListener("securitypolicyviolation", (e) => console.error("policy: " + e.violatedDirective + " refuses " + (e.blockedURI || "") + " " + (e.sample || "")))`

type firefoxTab struct {
	f  *firefox
	id string
}

func (t *firefoxTab) do(ctx context.Context, method string, params map[string]any, result any) error {
	params["context"] = t.id
	return t.f.bidi.do(ctx, method, params, result)
}

func (t *firefoxTab) visit(ctx context.Context, address string) error {
	return t.do(ctx, "browsingContext.navigate", map[string]any{"url": address, "wait": "interactive"}, nil)
}

func (t *firefoxTab) reload(ctx context.Context) error {
	return t.do(ctx, "browsingContext.reload", map[string]any{"wait": "interactive"}, nil)
}

func (t *firefoxTab) eval(ctx context.Context, expression string) (json.RawMessage, error) {
	value, err := t.evaluate(ctx, asText(expression))
	if err != nil || value.Type != "string" {
		return nil, err
	}
	var text string
	if err := json.Unmarshal(value.Value, &text); err != nil {
		return nil, err
	}
	return json.RawMessage(text), nil
}

// remote is a value of the page.
type remote struct {
	Type     string
	Value    json.RawMessage
	SharedID string
}

func (t *firefoxTab) evaluate(ctx context.Context, expression string) (remote, error) {
	var got struct {
		Type             string
		Result           remote
		ExceptionDetails struct{ Text string }
	}
	err := t.f.bidi.do(ctx, "script.evaluate", map[string]any{
		"expression": expression, "awaitPromise": true, "target": map[string]any{"context": t.id}, "userActivation": false,
	}, &got)
	if err == nil && got.Type == "exception" {
		err = errors.New(got.ExceptionDetails.Text)
	}
	return got.Result, err
}

func (t *firefoxTab) before(ctx context.Context, script string) error {
	return t.f.bidi.do(ctx, "script.addPreloadScript", map[string]any{
		"functionDeclaration": "() => {" + script + "\n}", "contexts": []string{t.id},
	}, nil)
}

func (t *firefoxTab) size(ctx context.Context, width, height int) error {
	return t.do(ctx, "browsingContext.setViewport", map[string]any{
		"viewport": map[string]any{"width": width, "height": height}, "devicePixelRatio": 2,
	}, nil)
}

func (t *firefoxTab) elements(ctx context.Context) ([]Element, error) { return namedElements(ctx, t) }

func (t *firefoxTab) call(ctx context.Context, e Element, function string) (string, error) {
	raw, err := t.eval(ctx, calling(e, function))
	return plain(raw), err
}

func (t *firefoxTab) touch(ctx context.Context, x, y float64, _ time.Time) error {
	return t.do(ctx, "input.performActions", map[string]any{"actions": touchAt(x, y)}, nil)
}

// touchAt is a touch by one finger, in the form that all WebDrivers take.
func touchAt(x, y float64) []any {
	return []any{map[string]any{
		"type": "pointer", "id": "finger", "parameters": map[string]any{"pointerType": "touch"},
		"actions": []any{
			map[string]any{"type": "pointerMove", "x": int(x), "y": int(y), "duration": 0},
			map[string]any{"type": "pointerDown", "button": 0},
			map[string]any{"type": "pointerUp", "button": 0},
		},
	}}
}

// keyed is text typed on keys, in the form that all WebDrivers take.
func keyed(text string) []any {
	strokes := []any{}
	for _, r := range text {
		key := string(r)
		switch r {
		case '\b':
			key = "\ue003"
		case '\t':
			key = "\ue004"
		case '\r', '\n':
			key = "\ue007"
		}
		strokes = append(strokes, map[string]any{"type": "keyDown", "value": key}, map[string]any{"type": "keyUp", "value": key})
	}
	return []any{map[string]any{"type": "key", "id": "keys", "actions": strokes}}
}

func (t *firefoxTab) insert(ctx context.Context, text string) error {
	if text == "" {
		text = "\b"
	}
	return t.press(ctx, text)
}

func (t *firefoxTab) press(ctx context.Context, keys string) error {
	return t.do(ctx, "input.performActions", map[string]any{"actions": keyed(keys)}, nil)
}

func (t *firefoxTab) upload(ctx context.Context, e Element, path string) error {
	node, err := t.evaluate(ctx, marked(e))
	if err != nil {
		return err
	}
	return t.do(ctx, "input.setFiles", map[string]any{"element": map[string]any{"sharedId": node.SharedID}, "files": []string{path}}, nil)
}

func (t *firefoxTab) picture(ctx context.Context) ([]byte, error) {
	var shot struct{ Data string }
	if err := t.do(ctx, "browsingContext.captureScreenshot", map[string]any{}, &shot); err != nil {
		return nil, err
	}
	return base64.StdEncoding.DecodeString(shot.Data)
}

func (t *firefoxTab) close() {
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	t.do(ctx, "browsingContext.close", map[string]any{}, nil)
}
