package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"
)

// Engine names a browser engine.
type Engine string

// The engines that phones at a bench run.
const (
	Chromium Engine = "chromium"
	Firefox  Engine = "firefox"
	WebKit   Engine = "webkit"
)

// Engines are all of them; what every phone must do is tested in each.
var Engines = []Engine{Chromium, Firefox, WebKit}

// packages of Debian that an engine is driven by.
var packages = map[Engine][]string{
	Chromium: {shell},
	Firefox:  {"firefox-esr"},
	WebKit:   {"webkit2gtk-driver", "gir1.2-webkit2-4.1", "python3", "python3-gi", "xvfb"},
}

// Ready sees to it that the engine can be driven here: what is missing is installed from
// Debian, where that can be done.
func (e Engine) Ready(ctx context.Context, progress io.Writer) error {
	_, none := e.program()
	if none == nil && !(e == Chromium && whole()) {
		return nil
	}
	fmt.Fprintf(progress, "Trying to install from Debian what the tests drive %s by.\n", e)
	if err := Install(ctx, progress, packages[e]...); err != nil {
		if none == nil {
			return nil // the whole one does
		}
		return err
	}
	_, err := e.program()
	return err
}

// missing is the error where something is not there that the engine is driven by.
func (e Engine) missing(what string) error {
	return fmt.Errorf("browser: no %s here; on Debian: apt-get install %s", what, strings.Join(packages[e], " "))
}

// program is one browser on a profile of its own. The folder of the profile outlives it,
// so it may be started again.
type program interface {
	// start starts the browser, and returns once it can open tabs. A proxy that is asked
	// for everything but loopback lies at the address.
	start(profile, proxy string) error
	open(p *Page) (tab, error)
	kill() error  // every process, with kill -9
	close() error // in an orderly way
	// downloaded returns the name that the page gave the oldest whole download not yet
	// taken and where it lies, and whether there is one.
	downloaded() (name, path string, ok bool)
}

// tab is one tab. It tells its Page of what must not be: wrong, and asked. Its methods
// are called by one goroutine at a time.
type tab interface {
	visit(ctx context.Context, address string) error
	reload(ctx context.Context) error
	// eval returns what the JavaScript expression, or its promise, gives, as JSON; nil if that is undefined.
	eval(ctx context.Context, expression string) (json.RawMessage, error)
	// before runs the script before any of the page's own, in every document from now on.
	before(ctx context.Context, script string) error
	size(ctx context.Context, width, height int) error
	// elements returns all that has a name, in the order of the page.
	elements(ctx context.Context) ([]Element, error)
	// call calls a JavaScript function that returns a string, with the element as this.
	call(ctx context.Context, e Element, function string) (string, error)
	// touch touches a spot, at a time that the page is told if there is one: a busy machine is late with it. Only
	// Chromium can be told.
	touch(ctx context.Context, x, y float64, at time.Time) error
	insert(ctx context.Context, text string) error // into what has the focus, in place of what is selected
	press(ctx context.Context, keys string) error
	upload(ctx context.Context, e Element, path string) error
	picture(ctx context.Context) ([]byte, error) // PNG
	close()
}

func (e Engine) program() (program, error) {
	switch e {
	case Chromium:
		return newChromium()
	case Firefox:
		return newFirefox()
	case WebKit:
		return newWebKit()
	}
	return nil, fmt.Errorf("browser: there is no engine %q", e)
}
