package browser

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"image/png"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"
)

// webkit drives WebKitGTK by WebDriver, in a window of its own on a screen of its own.
//
// Source: W3C WebDriver.
type webkit struct {
	screen  *process
	display string
	frames  string // folder of the screen's pixels
	driver  *process
	base    string // address of the driver
	session string

	mu    sync.Mutex
	at    string           // the tab that commands go to
	pages map[string]*Page // by the mark of the tab
	saved []saved
}

//go:embed webkit.py
var webkitWindow []byte

func newWebKit() (program, error) {
	for _, need := range []string{"WebKitWebDriver", "Xvfb"} {
		if _, err := exec.LookPath(need); err != nil {
			return nil, WebKit.missing(need)
		}
	}
	if err := webkitForPython(); err != nil {
		return nil, err
	}
	return &webkit{pages: map[string]*Page{}}, nil
}

// webkitForPython looks whether the window's language knows the engine.
func webkitForPython() error {
	cmd := exec.Command("/usr/bin/python3", "-c", `import gi; gi.require_version("Gtk", "3.0"); gi.require_version("WebKit2", "4.1")`)
	if cmd.Run() != nil {
		return WebKit.missing("WebKit for Python")
	}
	return nil
}

func (w *webkit) start(profile, proxy string) error {
	err := w.begin(profile, proxy)
	if err != nil {
		w.kill()
	}
	return err
}

func (w *webkit) begin(profile, proxy string) error {
	dir, downloads := filepath.Join(profile, "webkit"), filepath.Join(profile, "downloads")
	w.frames = filepath.Join(profile, "screen")
	for _, d := range []string{dir, downloads, w.frames} {
		if err := os.MkdirAll(d, 0o755); err != nil {
			return err
		}
	}
	window, before := filepath.Join(dir, "window.py"), filepath.Join(dir, "before.js")
	if err := os.WriteFile(window, webkitWindow, 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(before, []byte(clock), 0o644); err != nil {
		return err
	}

	// The screen says on its descriptor 3 which number it got.
	read, write, err := os.Pipe()
	if err != nil {
		return err
	}
	defer read.Close()
	cmd := exec.Command("Xvfb", "-displayfd", "3", "-screen", "0", "1280x900x24", "-nolisten", "tcp", "-fbdir", w.frames)
	cmd.ExtraFiles = []*os.File{write}
	w.screen, err = begin(cmd, nil)
	write.Close()
	if err != nil {
		return err
	}
	read.SetReadDeadline(time.Now().Add(Patience))
	number, err := io.ReadAll(read)
	if n := bytes.TrimSpace(number); len(n) > 0 {
		w.display = ":" + string(n)
	} else {
		return fmt.Errorf("browser: Xvfb gives no screen: %w", errors.Join(err, errors.New(strings.Join(w.screen.said.all, "\n"))))
	}

	port, err := freePort()
	if err != nil {
		return err
	}
	cmd = exec.Command("WebKitWebDriver", "--port="+port)
	cmd.Env = append(os.Environ(), "DISPLAY="+w.display, "HOME="+dir, "XDG_RUNTIME_DIR="+dir, "NO_AT_BRIDGE=1", "GSETTINGS_BACKEND=memory",
		"LANG=C.UTF-8", "LANGUAGE=en_US:en", "LIBGL_ALWAYS_SOFTWARE=1")
	if w.driver, err = begin(cmd, w.hear); err != nil {
		return err
	}
	w.base = "http://127.0.0.1:" + port
	ctx, cancel := context.WithTimeout(context.Background(), Patience)
	defer cancel()
	for {
		if err = w.call(ctx, http.MethodGet, w.base+"/status", nil, nil); err == nil {
			break
		}
		select {
		case <-w.driver.done:
			return fmt.Errorf("WebKitWebDriver ended: %s", strings.Join(w.driver.said.all, "\n"))
		case <-ctx.Done():
			return err
		case <-time.After(20 * time.Millisecond):
		}
	}
	var made struct{ SessionID string }
	err = w.call(ctx, http.MethodPost, w.base+"/session", map[string]any{"capabilities": map[string]any{"alwaysMatch": map[string]any{
		"webkitgtk:browserOptions": map[string]any{"binary": window, "args": []string{dir, downloads, "http://" + proxy, before}},
	}}}, &made)
	w.session = w.base + "/session/" + made.SessionID
	w.at, w.pages = "", map[string]*Page{}
	return err
}

func freePort() (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	defer l.Close()
	return strconv.Itoa(l.Addr().(*net.TCPAddr).Port), nil
}

// call sends a command of WebDriver and puts the value of the answer into result.
func (w *webkit) call(ctx context.Context, method, address string, body, result any) error {
	var text io.Reader
	if body != nil {
		b, err := json.Marshal(body)
		if err != nil {
			return err
		}
		text = bytes.NewReader(b)
	}
	request, err := http.NewRequestWithContext(ctx, method, address, text)
	if err != nil {
		return err
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	var answer struct{ Value json.RawMessage }
	if err := json.NewDecoder(response.Body).Decode(&answer); err != nil {
		return err
	}
	if response.StatusCode != http.StatusOK {
		var wrong struct{ Error, Message string }
		json.Unmarshal(answer.Value, &wrong)
		return fmt.Errorf("%s: %s %s", strings.TrimPrefix(address, w.session), wrong.Error, wrong.Message)
	}
	if result == nil {
		return nil
	}
	return json.Unmarshal(answer.Value, result)
}

// unknown is what the engine writes of directives it does not know, which by their
// standard it passes over.
const unknown = "Unrecognized Content-Security-Policy directive"

// hear collects what must not be, and downloads, from what the engine writes.
func (w *webkit) hear(line string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if rest, ok := strings.CutPrefix(line, "DOWNLOADED "); ok {
		path, name, _ := strings.Cut(rest, " ")
		w.saved = append(w.saved, saved{name, path})
		return
	}
	kind, _, _ := strings.Cut(strings.TrimPrefix(line, "CONSOLE "), " ")
	if !strings.HasPrefix(line, "CONSOLE ") || !strings.Contains(line, " ERROR ") || strings.Contains(line, unknown) {
		return
	}
	for _, p := range w.pages {
		if kind == "NETWORK" && !p.s.up() {
			continue // that the server is gone is no fault of the page
		}
		// The engine does not say which page it was.
		p.wrong(line)
	}
}

func (w *webkit) kill() error {
	var errs []error
	for _, p := range []*process{w.driver, w.screen} {
		if p != nil {
			errs = append(errs, p.kill())
		}
	}
	w.driver, w.screen = nil, nil
	return errors.Join(errs...)
}

func (w *webkit) close() error {
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	// The driver ends the browser with the session.
	err := w.call(ctx, http.MethodDelete, w.session, nil, nil)
	return errors.Join(err, w.kill())
}

func (w *webkit) downloaded() (name, path string, ok bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if len(w.saved) == 0 {
		return "", "", false
	}
	first := w.saved[0]
	w.saved = w.saved[1:]
	return first.name, first.path, true
}

func (w *webkit) open(p *Page) (tab, error) {
	ctx, cancel := context.WithTimeout(context.Background(), Patience)
	defer cancel()
	var id string
	if len(w.pages) == 0 {
		// The session begins with a tab.
		if err := w.call(ctx, http.MethodGet, w.session+"/window", nil, &id); err != nil {
			return nil, err
		}
	} else {
		var made struct{ Handle string }
		if err := w.call(ctx, http.MethodPost, w.session+"/window/new", map[string]any{"type": "window"}, &made); err != nil {
			return nil, err
		}
		id = made.Handle
	}
	w.mu.Lock()
	w.pages[id] = p
	w.mu.Unlock()
	return &webkitTab{w, id}, nil
}

type webkitTab struct {
	w  *webkit
	id string
}

func (t *webkitTab) do(ctx context.Context, method, command string, body, result any) error {
	if t.w.at != t.id {
		if err := t.w.call(ctx, http.MethodPost, t.w.session+"/window", map[string]any{"handle": t.id}, nil); err != nil {
			return err
		}
		t.w.at = t.id
	}
	return t.w.call(ctx, method, t.w.session+command, body, result)
}

func (t *webkitTab) visit(ctx context.Context, address string) error {
	return t.do(ctx, http.MethodPost, "/url", map[string]any{"url": address}, nil)
}

func (t *webkitTab) reload(ctx context.Context) error {
	return t.do(ctx, http.MethodPost, "/refresh", map[string]any{}, nil)
}

func (t *webkitTab) eval(ctx context.Context, expression string) (json.RawMessage, error) {
	var got struct {
		Value *string
		Error string
	}
	err := t.do(ctx, http.MethodPost, "/execute/async", map[string]any{
		"script": "const done = arguments[0]; " + asText(expression) + ".then((value) => done({value}), (e) => done({error: String(e)}))",
		"args":   []any{},
	}, &got)
	if err == nil && got.Error != "" {
		err = errors.New(got.Error)
	}
	if err != nil || got.Value == nil {
		return nil, err
	}
	return json.RawMessage(*got.Value), nil
}

// before cannot be done by WebDriver; the one script that every page gets is given to the
// window when it is made.
func (t *webkitTab) before(ctx context.Context, script string) error {
	if script == clock {
		return nil
	}
	return errors.New("WebKit takes no script before a page's own")
}

func (t *webkitTab) size(ctx context.Context, width, height int) error {
	return t.do(ctx, http.MethodPost, "/window/rect", map[string]any{"x": 0, "y": 0, "width": width, "height": height}, nil)
}

func (t *webkitTab) elements(ctx context.Context) ([]Element, error) { return namedElements(ctx, t) }

func (t *webkitTab) call(ctx context.Context, e Element, function string) (string, error) {
	raw, err := t.eval(ctx, calling(e, function))
	return plain(raw), err
}

func (t *webkitTab) touch(ctx context.Context, x, y float64, _ time.Time) error {
	return t.do(ctx, http.MethodPost, "/actions", map[string]any{"actions": touchAt(x, y)}, nil)
}

func (t *webkitTab) insert(ctx context.Context, text string) error {
	if text == "" {
		text = "\b"
	}
	return t.press(ctx, text)
}

func (t *webkitTab) press(ctx context.Context, keys string) error {
	return t.do(ctx, http.MethodPost, "/actions", map[string]any{"actions": keyed(keys)}, nil)
}

// elementKey is WebDriver's mark of a reference to an element.
const elementKey = "element-6066-11e4-a52e-4f735466cecf"

func (t *webkitTab) upload(ctx context.Context, e Element, path string) error {
	var node map[string]string
	err := t.do(ctx, http.MethodPost, "/execute/sync", map[string]any{"script": "return " + marked(e), "args": []any{}}, &node)
	if err != nil {
		return err
	}
	return t.do(ctx, http.MethodPost, "/element/"+node[elementKey]+"/value", map[string]any{"text": path}, nil)
}

// picture takes what the screen shows where the window lies: the driver's own way to take
// pictures ends the browser.
func (t *webkitTab) picture(ctx context.Context) ([]byte, error) {
	var size struct{ Width, Height int }
	if err := t.do(ctx, http.MethodGet, "/window/rect", nil, &size); err != nil {
		return nil, err
	}
	dump, err := os.ReadFile(filepath.Join(t.w.frames, "Xvfb_screen0"))
	if err != nil {
		return nil, err
	}
	m, err := xwd(dump, size.Width, size.Height)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = png.Encode(&b, m)
	return b.Bytes(), err
}

func (t *webkitTab) close() {
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	t.do(ctx, http.MethodDelete, "/window", nil, nil)
	t.w.at = ""
}
