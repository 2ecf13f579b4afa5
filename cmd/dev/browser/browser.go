package browser

import (
	"bufio"
	"fmt"
	"net"
	"net/http"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Patience is how long a step waits for what it needs.
const Patience = time.Minute // a busy machine may take so long; nobody waits for it who passes

// Browser is a browser process on a profile of its own.
type Browser struct {
	Engine Engine

	t       testing.TB
	program program
	profile string
	trap    *trap
	running bool
	pages   []*Page
}

// Start starts a Chromium with a fresh profile. It ends with the test.
func Start(t testing.TB) *Browser { t.Helper(); return StartIn(t, Chromium) }

// StartIn starts a browser of the engine with a fresh profile. It ends with the test.
func StartIn(t testing.TB, e Engine) *Browser { t.Helper(); return start(t, e, false) }

// StartTimed is StartIn for a test that says how long something takes: the program is compiled as for a person.
func StartTimed(t testing.TB, e Engine) *Browser { t.Helper(); return start(t, e, true) }

func start(t testing.TB, e Engine, timed bool) *Browser {
	t.Helper()
	program, err := e.program()
	require.NoError(t, err)
	if c, ok := program.(*chromium); ok {
		c.timed = timed
	}
	return startWith(t, e, program)
}

// StartSeeing is Start with a camera, which the page may use: it plays the film in a file (YUV4MPEG2) over and over.
func StartSeeing(t testing.TB, film string) *Browser {
	t.Helper()
	c, err := newChromium()
	require.NoError(t, err)
	c.film = film
	return startWith(t, Chromium, c)
}

func startWith(t testing.TB, e Engine, program program) *Browser {
	t.Helper()
	profile, err := os.MkdirTemp("", "pitwise-profile-*")
	require.NoError(t, err)
	b := &Browser{Engine: e, t: t, program: program, profile: profile, trap: newTrap(t)}
	t.Cleanup(func() {
		b.close()
		for _, p := range b.pages {
			p.check()
		}
		b.trap.check()
		// A process that just ended may still write for a moment.
		for range 20 {
			if os.RemoveAll(profile) == nil {
				break
			}
			time.Sleep(100 * time.Millisecond)
		}
	})
	b.launch()
	return b
}

// starts is how often the browser may end by itself while it starts, which happens on busy
// machines and says nothing of the page.
const starts = 3

func (b *Browser) launch() {
	b.t.Helper()
	err := b.program.start(b.profile, b.trap.addr)
	for try := 1; err != nil && try < starts; try++ {
		b.t.Logf("%s did not start, once more: %v", b.Engine, err)
		err = b.program.start(b.profile, b.trap.addr)
	}
	require.NoError(b.t, err, "%s does not start", b.Engine)
	b.running = true
}

// Open opens a tab for the server, as a phone of 390×844 points with touch.
func (b *Browser) Open(s *Server) *Page {
	b.t.Helper()
	p := &Page{t: b.t, b: b, s: s}
	tab, err := b.program.open(p)
	require.NoError(b.t, err)
	p.tab = tab
	b.pages = append(b.pages, p)
	p.Size(390, 844)
	p.Before(clock)
	return p
}

// Kill ends every process of the browser with kill -9.
func (b *Browser) Kill() {
	b.t.Helper()
	b.deadPages()
	b.running = false
	require.NoError(b.t, b.program.kill())
}

// Restart starts the browser again on the same profile, after Kill or in an
// orderly way.
func (b *Browser) Restart() {
	b.t.Helper()
	b.close()
	b.launch()
}

// close ends the browser in an orderly way, if it runs.
func (b *Browser) close() {
	b.deadPages()
	if !b.running {
		return
	}
	b.running = false
	if err := b.program.close(); err != nil {
		b.t.Logf("%s did not end by itself: %v", b.Engine, err)
		b.program.kill()
	}
}

func (b *Browser) deadPages() {
	for _, p := range b.pages {
		p.dead.Store(true)
	}
}

// trap is a proxy that lets nothing pass and remembers who was asked for.
type trap struct {
	t      testing.TB
	addr   string
	listen net.Listener
	mu     sync.Mutex
	asked  []string
}

func newTrap(t testing.TB) *trap {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	tr := &trap{t: t, addr: l.Addr().String(), listen: l}
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go tr.take(conn)
		}
	}()
	return tr
}

func (tr *trap) take(conn net.Conn) {
	defer conn.Close()
	conn.SetDeadline(time.Now().Add(5 * time.Second))
	request, err := http.ReadRequest(bufio.NewReader(conn))
	if err != nil {
		return
	}
	if !errand(request.URL.Hostname()) {
		tr.mu.Lock()
		tr.asked = append(tr.asked, request.Method+" "+request.URL.String())
		tr.mu.Unlock()
	}
	fmt.Fprint(conn, "HTTP/1.1 403 Forbidden\r\nContent-Length: 0\r\n\r\n")
}

// errand reports whether the host is one that the browser asks for by itself,
// with no page open: its own updates, its clock, its accounts. A page that asked
// for one of these is found by Page, which sees each request of its own.
func errand(host string) bool {
	for _, whole := range []string{".services.mozilla.com", ".cdn.mozilla.net"} {
		if strings.HasSuffix(host, whole) {
			return true
		}
	}
	return slices.Contains([]string{"update.googleapis.com", "clients2.google.com", "accounts.google.com", "www.google.com",
		"optimizationguide-pa.googleapis.com", "content-autofill.googleapis.com", "safebrowsing.googleapis.com",
		"edgedl.me.gvt1.com", "redirector.gvt1.com", "android.clients.google.com", "mtalk.google.com"}, host)
}

func (tr *trap) check() {
	tr.listen.Close()
	tr.mu.Lock()
	defer tr.mu.Unlock()
	if len(tr.asked) > 0 {
		tr.t.Errorf("the browser asked for other hosts: %v", tr.asked)
	}
}
