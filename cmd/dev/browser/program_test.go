//go:build browser

package browser_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/andybalholm/brotli"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

// most is what the page's program may weigh in bytes, as Brotli sends it at quality 9: a
// seventh more than at the 11 that hosts send, which is 2.17 MB at 2.500 here.
const most = 2_501_000

func program(t *testing.T) []byte {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(browser.Built(t), "v", "*", "page.wasm"))
	require.NoError(t, err)
	require.Len(t, found, 1)
	body, err := os.ReadFile(found[0])
	require.NoError(t, err)
	return body
}

// TestTheProgramIsSmall compresses at quality 9, which takes a fraction of the time of the 11
// that hosts should send ("dev figures" gives its size) and is never smaller.
func TestTheProgramIsSmall(t *testing.T) {
	body := program(t)
	var small bytes.Buffer
	w := brotli.NewWriterOptions(&small, brotli.WriterOptions{Quality: 9, LGWin: 24})
	_, err := w.Write(body)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	t.Logf("program: %d bytes, %d with Brotli", len(body), small.Len())
	assert.Less(t, small.Len(), most)
}

// TestTheProgramLinksNoServer looks at the names of functions that the linker
// kept. go-app's package imports net/http, so an import table cannot tell.
func TestTheProgramLinksNoServer(t *testing.T) {
	body := program(t)
	for _, kept := range []string{"go-app/v9/pkg/app.RunWhenOnBrowser", "runtime.main"} {
		require.True(t, bytes.Contains(body, []byte(kept)), "the search finds %s, which must be there", kept)
	}
	for _, unwanted := range []string{"go-app/v9/pkg/app.(*Handler)", "net/http.(*Server)", "net/http.(*Transport)", "crypto/tls.(*Conn)", "golang.org/x/text", "regexp/syntax."} {
		assert.False(t, bytes.Contains(body, []byte(unwanted)), "the program links %s", unwanted)
	}
}

func TestIfTheProgramEndsThePersonIsTold(t *testing.T) {
	s := browser.Serve(t)
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	p.Stored()
	// Breaks go-app from outside: a call without the argument it reads.
	p.Allow("panic")
	p.Allow("goroutine")
	p.Allow("index out of range")
	p.Allow("already exited")
	// It ends while a change of the page is fresh.
	p.Eval(`(async () => {
		document.getElementById("stopped-again").className += " button";
		await new Promise(requestAnimationFrame);
		try { goappNav() } catch {}
	})()`)
	p.See("The program stopped")
	p.Screenshot("stopped")
	p.Eval("void (window.pitwiseOldPage = true)")
	p.Tap("Start again")
	p.Until("!window.pitwiseOldPage")
	p.Started()
}

func TestTheProfileOutlivesAKill(t *testing.T) {
	s := browser.Serve(t)
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	p.Stored()
	s.Stop()
	c.Kill()
	c.Restart()
	again := c.Open(s)
	again.Go("/")
	again.Until(heading)
}
