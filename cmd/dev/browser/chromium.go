package browser

import (
	"bufio"
	"context"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// Patience is how long a step waits for what it needs.
const Patience = 30 * time.Second

// Chromium is a browser process on a profile of its own.
type Chromium struct {
	t         testing.TB
	path      string
	profile   string
	downloads *downloads
	trap      *trap

	root   context.Context
	cancel context.CancelFunc
	group  int // process group of the browser
	pages  []*Page
}

// Start starts a Chromium with a fresh profile. It ends with the test.
func Start(t testing.TB) *Chromium {
	t.Helper()
	path, err := Find()
	require.NoError(t, err)
	profile, err := os.MkdirTemp("", "pitwise-profile-*")
	require.NoError(t, err)
	c := &Chromium{t: t, path: path, profile: profile, downloads: &downloads{dir: t.TempDir()}, trap: newTrap(t)}
	t.Cleanup(func() {
		c.close()
		for _, p := range c.pages {
			p.check()
		}
		c.trap.check()
		// A process that just ended may still write for a moment.
		for range 20 {
			if os.RemoveAll(profile) == nil {
				break
			}
			time.Sleep(100 * time.Millisecond)
		}
	})
	c.launch()
	return c
}

// starts is how often the browser may end by itself while it starts, which happens on busy
// machines and says nothing of the page.
const starts = 3

func (c *Chromium) launch() {
	c.t.Helper()
	err := c.start()
	for try := 1; err != nil && try < starts; try++ {
		c.t.Logf("Chromium did not start, once more: %v", err)
		err = c.start()
	}
	require.NoError(c.t, err, "Chromium does not start")
}

func (c *Chromium) start() error {
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(c.path),
		chromedp.UserDataDir(c.profile),
		chromedp.Flag("no-sandbox", os.Geteuid() == 0),
		chromedp.Flag("disable-gpu", true),
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-domain-reliability", true),
		chromedp.Flag("no-pings", true),
		chromedp.Flag("hide-scrollbars", true),
		// Whatever is not for loopback ends in the trap.
		chromedp.Flag("proxy-server", c.trap.addr),
		chromedp.Flag("proxy-bypass-list", "127.0.0.1"),
		chromedp.ModifyCmdFunc(func(cmd *exec.Cmd) {
			cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
		}),
	)
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

// Open opens a tab for the server, as a phone of 390×844 points with touch.
func (c *Chromium) Open(s *Server) *Page {
	c.t.Helper()
	ctx, cancel := chromedp.NewContext(c.root)
	p := &Page{t: c.t, c: c, s: s, ctx: ctx, cancel: cancel}
	p.prepare()
	c.pages = append(c.pages, p)
	return p
}

// Kill ends every process of the browser with kill -9.
func (c *Chromium) Kill() {
	c.t.Helper()
	for _, p := range c.pages {
		p.dead.Store(true)
	}
	require.NoError(c.t, syscall.Kill(-c.group, syscall.SIGKILL))
	c.cancel()
}

// Restart starts the browser again on the same profile, after Kill or in an
// orderly way.
func (c *Chromium) Restart() {
	c.t.Helper()
	c.close()
	c.launch()
}

// close ends the browser in an orderly way, if it runs.
func (c *Chromium) close() {
	for _, p := range c.pages {
		p.dead.Store(true)
	}
	if c.root == nil || c.root.Err() != nil {
		return
	}
	ctx, cancel := context.WithTimeout(c.root, 10*time.Second)
	defer cancel()
	if err := chromedp.Cancel(ctx); err != nil {
		syscall.Kill(-c.group, syscall.SIGKILL)
	}
	c.cancel()
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
	for _, own := range []string{"update.googleapis.com", "clients2.google.com", "accounts.google.com", "www.google.com",
		"optimizationguide-pa.googleapis.com", "content-autofill.googleapis.com", "safebrowsing.googleapis.com",
		"edgedl.me.gvt1.com", "redirector.gvt1.com", "android.clients.google.com", "mtalk.google.com"} {
		if host == own {
			return true
		}
	}
	return false
}

func (tr *trap) check() {
	tr.listen.Close()
	tr.mu.Lock()
	defer tr.mu.Unlock()
	if len(tr.asked) > 0 {
		tr.t.Errorf("the browser asked for other hosts: %v", tr.asked)
	}
}
