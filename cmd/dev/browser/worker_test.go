//go:build browser

package browser_test

import (
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/web/host"
)

// running is the version of the program in a tab.
const running = `goappGetenv("GOAPP_VERSION")`

func TestUpdateWaitsForTheYes(t *testing.T) {
	before, a := browser.Variant(t, "before", "/")
	after, b := browser.Variant(t, "after", "/")
	require.NotEqual(t, a, b)
	s := browser.Serve(t)
	s.Show(before)
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	p.Stored()
	require.Equal(t, a, browser.Value[string](p, running))
	other := c.Open(s)
	other.Go("/")

	s.Show(after)
	p.Eval("pitwiseUpdate.check()")
	p.Until("pitwiseUpdate.waiting")
	other.Until("pitwiseUpdate.waiting")
	p.Until(keeps(a, b)) // both are stored while one waits

	t.Run("until then the old version goes on, also after a reload and a new tab", func(t *testing.T) {
		p.In(t)
		p.Reload()
		require.Equal(t, a, browser.Value[string](p, running))
		p.Until("pitwiseUpdate.waiting")
		third := c.Open(s)
		third.Go("/")
		require.Equal(t, a, browser.Value[string](third, running))
		third.Close()
	})
	t.Run("after the yes the new version is there and the old store is gone", func(t *testing.T) {
		p.In(t)
		p.See("A newer version is here.")
		p.Accessible()
		p.Screenshot("update-waiting")
		loadsAnew(p, b, func() { p.Tap("Take it and load again") })
		p.Until(keeps(b))
	})
	t.Run("another tab is not torn from its work, but told", func(t *testing.T) {
		other.In(t)
		require.Equal(t, a, browser.Value[string](other, running))
		other.Until("pitwiseUpdate.waiting")
		loadsAnew(other, b, func() { other.Eval("pitwiseUpdate.apply()") })
	})
	t.Run("the new version works with the server gone", func(t *testing.T) {
		p.In(t)
		s.Stop()
		p.Reload()
		require.Equal(t, b, browser.Value[string](p, running))
	})
}

func TestClosingEveryWindowIsNoYes(t *testing.T) {
	before, a := browser.Variant(t, "before", "/")
	after, b := browser.Variant(t, "after", "/")
	s := browser.Serve(t)
	s.Show(before)
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	p.Stored()
	s.Show(after)
	p.Eval("pitwiseUpdate.check()")
	p.Until("pitwiseUpdate.waiting")
	p.Close()

	// The browser now puts the waiting worker in charge by itself.
	for try := 0; ; try++ {
		p = c.Open(s)
		p.Go("/")
		if browser.Value[bool](p, "navigator.serviceWorker.getRegistration().then((r) => r.waiting === null)") {
			break
		}
		require.Less(t, try, 20, "the waiting worker is never put in charge")
		p.Close() // the window before was not gone yet when this one came
		time.Sleep(200 * time.Millisecond)
	}
	p.Until("navigator.serviceWorker.getRegistration().then((r) => r.active.state === 'activated')")
	require.Equal(t, a, browser.Value[string](p, running))
	p.Until("pitwiseUpdate.waiting")
	s.Stop()
	p.Reload()
	require.Equal(t, a, browser.Value[string](p, running), "the version agreed to, from the store")
	c.Restart()
	p = c.Open(s)
	p.Go("/settings")
	require.Equal(t, a, browser.Value[string](p, running), "also after a new start of the browser")

	p.Go("/")
	p.See("A newer version is here.")
	loadsAnew(p, b, func() { p.Tap("Take it and load again") })
	p.Until(keeps(b))
}

// loadsAnew does what makes the tab load another version, and waits until that one runs.
func loadsAnew(p *browser.Page, version string, act func()) {
	p.Eval("void (window.pitwiseOldPage = true)")
	act()
	p.Until("!window.pitwiseOldPage && window.goappGetenv && " + running + ` === "` + version + `"`)
	p.Started()
}

// keeps is true once the stores of exactly these versions are there.
func keeps(versions ...string) string {
	for i := range versions {
		versions[i] = "pitwise / " + versions[i]
	}
	versions = append(versions, "pitwise / note")
	slices.Sort(versions)
	return `caches.keys().then((k) => k.sort().join("|") === "` + strings.Join(versions, "|") + `")`
}

func TestAFailedUpdateLeavesTheOldVersionWorking(t *testing.T) {
	before, a := browser.Variant(t, "before", "/")
	for name, spoil := range map[string]func(t *testing.T, dir, version string){
		"a file is missing on the server": func(t *testing.T, dir, version string) {
			require.NoError(t, os.Remove(filepath.Join(dir, "v", version, "web", "icons", "pitwise-192.png")))
		},
		"a file is not the one listed": func(t *testing.T, dir, version string) {
			name := filepath.Join(dir, "v", version, "start.js")
			body, err := os.ReadFile(name)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(name, append(body, "// more\n"...), 0o644))
		},
		"the program is cut short": func(t *testing.T, dir, version string) {
			require.NoError(t, os.Truncate(filepath.Join(dir, "v", version, "page.wasm"), 1000))
		},
	} {
		t.Run(name, func(t *testing.T) {
			after, b := browser.Variant(t, "after", "/")
			spoil(t, after, b)
			s := browser.Serve(t)
			s.Show(before)
			c := browser.Start(t)
			p := c.Open(s)
			p.Go("/")
			p.Stored()
			s.Show(after)
			p.Allow("404")
			p.Allow("integrity")
			p.Eval(`navigator.serviceWorker.getRegistration().then((r) => {
				r.addEventListener("updatefound", () => {
					const w = r.installing;
					w.addEventListener("statechange", () => { window.lastState = w.state; });
				});
				return r.update().catch(() => {});
			})`)
			p.Until(`window.lastState === "redundant"`)
			assert.False(t, browser.Value[bool](p, "pitwiseUpdate.waiting"))
			p.Until(keeps(a))
			p.Reload()
			require.Equal(t, a, browser.Value[string](p, running))
			s.Stop()
			p.Reload()
			require.Equal(t, a, browser.Value[string](p, running))
		})
	}
}

func TestUnderAPathOnAPlainFileServer(t *testing.T) {
	dir, version := browser.Variant(t, "plain", "/tools/bench/")
	files := http.StripPrefix("/tools/bench/", http.FileServer(http.Dir(dir)))
	elsewhere := 0
	s := browser.ServeHandler(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !strings.HasPrefix(r.URL.Path, "/tools/bench/") {
			elsewhere++
			http.NotFound(w, r)
			return
		}
		files.ServeHTTP(w, r)
	}), "/tools/bench/")
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	p.Until(heading)
	p.Stored()
	require.Equal(t, version, browser.Value[string](p, running))
	assert.Equal(t, "/tools/bench", browser.Value[string](p, `goappGetenv("GOAPP_ROOT_PREFIX")`))
	assert.Equal(t, s.URL("/"), browser.Value[string](p, `navigator.serviceWorker.getRegistration().then((r) => r.scope)`))

	t.Run("the policy holds without headers", func(t *testing.T) {
		p.In(t)
		p.Allow("Content Security Policy")
		p.Allow("TrustedScript")
		p.Allow("TrustedHTML")
		assert.Equal(t, "style-src-attr", browser.Value[string](p, `new Promise((done) => {
			document.addEventListener("securitypolicyviolation", (e) => done(e.effectiveDirective), {once: true});
			document.body.setAttribute("style", "color: red");
		})`))
		for _, try := range []string{
			`document.body.setAttribute("onclick", "1")`,
			`document.body.insertAdjacentHTML("beforeend", "<b>x</b>")`,
			`document.createElement("div").innerHTML = "<b>x</b>"`,
			`setTimeout("1")`,
		} {
			assert.Equal(t, "refused", browser.Value[string](p, `(() => { try { `+try+`; return "done"; } catch { return "refused"; } })()`), try)
		}
	})
	t.Run("with the server gone a deep link works", func(t *testing.T) {
		p.In(t)
		s.Stop()
		p.Go("/settings")
		p.Go("/")
		p.Until(heading)
	})
	assert.Zero(t, elsewhere, "nothing was asked for outside of the path")
}

func TestFirstScreenShowsWhileTheProgramComes(t *testing.T) {
	h, err := host.Load(browser.Built(t), false)
	require.NoError(t, err)
	release := make(chan struct{})
	s := browser.ServeHandler(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasSuffix(r.URL.Path, "/page.wasm") {
			w = &halfway{ResponseWriter: w, release: release}
		}
		h.ServeHTTP(w, r)
	}), "/")
	c := browser.Start(t)
	p := c.Open(s)
	p.Visit(s.URL("/"))
	p.See(" %")
	p.Until(`document.getElementById("first-progress").value > 0`)
	assert.Regexp(t, `Getting the program ready … \d{1,2} %`, p.Text(), "how much of it is here")
	done := browser.Value[float64](p, `document.getElementById("first-progress").value / document.getElementById("first-progress").max`)
	assert.Greater(t, done, 0.0)
	assert.Less(t, done, 1.0)
	p.EachLook("first-screen", []int{320, 390, 1280}, browser.Looks, func() {
		p.Accessible()
		p.Fits()
	})
	close(release)
	p.Started()
}

// halfway sends a part and then waits to be released.
type halfway struct {
	http.ResponseWriter
	release chan struct{}
	sent    int
}

func (h *halfway) Write(b []byte) (int, error) {
	first := min(len(b), max(0, 1<<20-h.sent))
	n, err := h.ResponseWriter.Write(b[:first])
	h.sent += n
	if err != nil || first == len(b) {
		return n, err
	}
	h.ResponseWriter.(http.Flusher).Flush()
	select {
	case <-h.release:
	case <-time.After(time.Minute):
	}
	m, err := h.ResponseWriter.Write(b[first:])
	return n + m, err
}

func TestALostDownloadCanBeTriedAgain(t *testing.T) {
	h, err := host.Load(browser.Built(t), false)
	require.NoError(t, err)
	broken := true
	s := browser.ServeHandler(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if broken && strings.HasSuffix(r.URL.Path, "/page.wasm") {
			http.Error(w, "gone", http.StatusServiceUnavailable)
			return
		}
		h.ServeHTTP(w, r)
	}), "/")
	c := browser.Start(t)
	p := c.Open(s)
	p.Allow("503")
	p.Visit(s.URL("/"))
	p.See("could not be loaded")
	p.Accessible()
	p.Fits()
	p.Screenshot("first-screen-failed")
	broken = false
	p.Tap("Try again")
	p.Started()
}
