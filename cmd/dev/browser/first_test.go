//go:build browser

package browser_test

import (
	"net/http"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/web/host"
)

// held is a site whose program is not handed out until it is let go.
type held struct {
	http.Handler
	mu   sync.Mutex
	gate chan struct{}
}

func (h *held) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if strings.HasSuffix(r.URL.Path, "/page.wasm") {
		h.mu.Lock()
		gate := h.gate
		h.mu.Unlock()
		select {
		case <-gate:
		case <-r.Context().Done():
		}
	}
	h.Handler.ServeHTTP(w, r)
}

// boxes are the places of all texts and things to touch that can be seen, but for what
// tells how far the program is.
const boxes = `[...document.querySelectorAll("h1, p, li, a[href], button, label.button")]
	.filter((e) => e.checkVisibility() && !e.closest("#first-status, #stopped"))
	.map((e) => { const r = e.getBoundingClientRect(); return [e.innerText, r.x, r.y, r.width, r.height].join(" "); })`

// shifts notes what moved on the screen without the person's doing.
//
// Source: WICG Layout Instability.
const shifts = `window.pitwiseShifts = []; new PerformanceObserver((list) => { for (const e of list.getEntries())
	window.pitwiseShifts.push({score: e.value, what: e.sources.map((s) => (s.node?.outerHTML || s.node?.nodeName || "gone").slice(0, 80)).join(", ")});
}).observe({type: "layout-shift", buffered: true})`

type shift struct {
	Score float64
	What  string
}

// TestTheEmptyBenchIsThereBeforeTheProgram holds the program back: the bench is on the
// screen in the person's language, and when the program takes its place nothing moves, and
// what was tapped before is done.
func TestTheEmptyBenchIsThereBeforeTheProgram(t *testing.T) {
	h, err := host.Load(browser.Built(t), false)
	require.NoError(t, err)
	for _, row := range []struct {
		lang, lead, take string
		engine           browser.Engine
		width            int
	}{
		{"en", "Find what is wrong", "Take a unit in", browser.Chromium, 390},
		{"de", "Finden, was", "Ein Gerät annehmen", browser.Chromium, 320},
		{"en", "Find what is wrong", "Take a unit in", browser.Firefox, 390},
		{"en", "Find what is wrong", "Take a unit in", browser.WebKit, 390},
	} {
		t.Run(row.lang+" in "+string(row.engine), func(t *testing.T) {
			site := &held{Handler: h, gate: make(chan struct{})}
			s := browser.ServeHandler(t, site, "/")
			p := browser.StartIn(t, row.engine).Open(s)
			p.Size(row.width, 844)
			if row.lang != "en" {
				p.Allow("favicon.ico")
				p.Visit(s.URL("/manifest.webmanifest"))
				p.Eval(`localStorage.setItem("pitwise-look", JSON.stringify({lang: "` + row.lang + `"}))`)
			}
			if row.engine == browser.Chromium {
				p.Before(shifts) // others do not tell
			}
			p.Visit(s.URL("/"))
			p.Until(`document.getElementById("first-status")?.closest(".first-bench")`)
			assert.Contains(t, p.Text(), row.lead)
			assert.Equal(t, row.lang, browser.Value[string](p, "document.documentElement.lang"))
			p.Screenshot("first-" + row.lang + "-" + string(row.engine))
			p.Fits()
			before := browser.Value[[]string](p, boxes)
			require.Greater(t, len(before), 8)
			if row.lang == "en" {
				close(site.gate)
				p.Started()
				assert.Equal(t, before, browser.Value[[]string](p, boxes), "something moved when the program took over")
				if row.engine == browser.Chromium {
					moved := browser.Value[[]shift](p, "pitwiseShifts")
					sum := 0.0
					for _, m := range moved {
						sum += m.Score
					}
					// What is felt as a jump begins at 0.1; the buttons settle as the foot gets its line.
					assert.Less(t, sum, 0.05, "the layout shifted: %v", moved)
				}
				site.mu.Lock()
				site.gate = make(chan struct{})
				site.mu.Unlock()
				p = browser.StartIn(t, row.engine).Open(s)
				p.Visit(s.URL("/"))
				p.Until(`document.getElementById("first-status")?.closest(".first-bench")`)
			}
			p.Tap(row.take)
			p.Until(`document.querySelector('.first-bench [aria-busy="true"]')`)
			assert.Equal(t, "/", browser.Value[string](p, "location.pathname"))
			close(site.gate)
			p.Until(`location.pathname === "/new" && !document.getElementById("first")`)
		})
	}
}

// TestTheFirstScreenKnowsWhatIsStored starts again with a unit on the bench: the empty bench
// is not shown then.
func TestTheFirstScreenKnowsWhatIsStored(t *testing.T) {
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/")
	p.Tap("Try the sample unit")
	p.Until(`/^\/unit\//.test(location.pathname)`)
	p.Eval(`void (window.pitwiseFirst = null)`)
	p.Before(`new MutationObserver(() => { window.pitwiseFirst = window.pitwiseFirst || document.documentElement.dataset.first; }).observe(document, {attributes: true, childList: true, subtree: true})`)
	p.Go("/")
	assert.Equal(t, "waiting", browser.Value[string](p, "window.pitwiseFirst"))
	p.See("(sample)")
}
