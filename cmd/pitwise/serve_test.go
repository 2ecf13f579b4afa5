package main

import (
	"bytes"
	"context"
	"flag"
	"io"
	"net"
	"net/http"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/web/site"
)

// page writes a folder with a page whose program only looks like one.
func page(t *testing.T) string {
	t.Helper()
	s, err := site.Assemble(site.Parts{Program: bytes.Repeat([]byte("\x00asm program "), 1<<18), Exec: []byte("// runtime\n")})
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), "page")
	require.NoError(t, s.Write(dir, false))
	return dir
}

// sink is a buffer that two goroutines may use.
type sink struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *sink) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *sink) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

// serving runs "pitwise serve" until the returned function is called, which
// gives the exit status.
func serving(t *testing.T, args ...string) (address string, messages *sink, end func() int) {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	out, messages := &sink{}, &sink{}
	status := make(chan int, 1)
	d := &desk{ctx: ctx, in: strings.NewReader(""), out: out, err: messages}
	go func() { status <- d.run(args) }()
	require.Eventually(t, func() bool { return strings.Contains(out.String(), "\n") }, 10*time.Second, 10*time.Millisecond, messages.String)
	end = sync.OnceValue(func() int { stop(); return <-status })
	t.Cleanup(func() { end() })
	return strings.TrimSpace(out.String()), messages, end
}

func TestServe(t *testing.T) {
	dir := page(t)
	t.Run("it prints the address and serves the page there", func(t *testing.T) {
		address, _, end := serving(t, "serve", "-addr", "127.0.0.1:0", "-page", dir)
		answer, err := http.Get(address)
		require.NoError(t, err)
		defer answer.Body.Close()
		assert.Equal(t, http.StatusOK, answer.StatusCode)
		assert.Zero(t, end())
	})
	t.Run("with no verb it serves", func(t *testing.T) {
		address, _, end := serving(t, "-addr", "127.0.0.1:0", "-page", dir)
		answer, err := http.Get(address)
		require.NoError(t, err)
		answer.Body.Close()
		assert.Zero(t, end())
	})
	t.Run("an answer under way is finished when it is told to stop", func(t *testing.T) {
		address, _, end := serving(t, "serve", "-addr", "127.0.0.1:0", "-page", dir)
		index, err := http.Get(address)
		require.NoError(t, err)
		body, err := io.ReadAll(index.Body)
		require.NoError(t, err)
		index.Body.Close()
		_, rest, _ := strings.Cut(string(body), `src="/v/`)
		version, _, _ := strings.Cut(rest, "/")

		conn, err := net.Dial("tcp", strings.Trim(strings.TrimPrefix(address, "http:"), "/"))
		require.NoError(t, err)
		defer conn.Close()
		_, err = io.WriteString(conn, "GET /v/"+version+"/page.wasm HTTP/1.0\r\nHost: 127.0.0.1\r\n\r\n")
		require.NoError(t, err)
		first := make([]byte, 1000)
		_, err = io.ReadFull(conn, first)
		require.NoError(t, err)

		ended := make(chan int, 1)
		go func() { ended <- end() }()
		time.Sleep(300 * time.Millisecond)
		_, err = net.DialTimeout("tcp", conn.RemoteAddr().String(), time.Second)
		require.Error(t, err, "nobody new is let in")
		whole, err := io.ReadAll(conn)
		require.NoError(t, err)
		got := append(first, whole...)
		_, content, _ := bytes.Cut(got, []byte("\r\n\r\n"))
		assert.Len(t, content, len("\x00asm program ")<<18)
		assert.Zero(t, <-ended)
	})
	t.Run("it listens to this machine alone unless told otherwise", func(t *testing.T) {
		flags := flag.NewFlagSet("serve", flag.ContinueOnError)
		flags.SetOutput(io.Discard)
		require.ErrorIs(t, serve(&desk{}, flags, []string{"-help"}), flag.ErrHelp)
		assert.Equal(t, "127.0.0.1:8787", flags.Lookup("addr").DefValue)
		_, messages, _ := serving(t, "serve", "-addr", "0.0.0.0:0", "-page", dir)
		assert.Contains(t, messages.String(), "beyond this machine")
	})
	t.Run("a taken port is an error", func(t *testing.T) {
		l, err := net.Listen("tcp", "127.0.0.1:0")
		require.NoError(t, err)
		defer l.Close()
		status, out, message := called(t, "", "serve", "-addr", l.Addr().String(), "-page", dir)
		assert.Equal(t, 1, status)
		assert.Empty(t, out)
		assert.Contains(t, message, "cannot listen")
	})
	t.Run("a folder without a page is an error", func(t *testing.T) {
		status, _, message := called(t, "", "serve", "-addr", "127.0.0.1:0", "-page", t.TempDir())
		assert.Equal(t, 1, status)
		assert.Contains(t, message, "no page")
	})
}
