package host_test

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/andybalholm/brotli"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/web/host"
	"pitwise/web/site"
)

// folder writes a site with a program that only looks like one.
func folder(t *testing.T) (dir string, s *site.Site) {
	t.Helper()
	s, err := site.Assemble(site.Parts{
		Program: bytes.Repeat([]byte("\x00asm program "), 4000), Exec: []byte("// runtime\n"), Quality: 3})
	require.NoError(t, err)
	dir = filepath.Join(t.TempDir(), "page")
	require.NoError(t, s.Write(dir, false))
	return dir, s
}

func load(t *testing.T) (*host.Host, *site.Site) {
	t.Helper()
	dir, s := folder(t)
	h, err := host.Load(dir, false)
	require.NoError(t, err)
	return h, s
}

// ask sends one request; headers are pairs.
func ask(h http.Handler, method, target string, headers ...string) *http.Response {
	r := httptest.NewRequest(method, target, nil)
	r.Host = "127.0.0.1:8787"
	for i := 0; i < len(headers); i += 2 {
		if headers[i] == "Host" {
			r.Host = headers[i+1]
		}
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

func TestEveryAnswerCarriesTheHeaders(t *testing.T) {
	h, s := load(t)
	for name, answer := range map[string]*http.Response{
		"the index":      ask(h, "GET", "/"),
		"the program":    ask(h, "GET", "/v/"+s.Version+"/page.wasm"),
		"nothing there":  ask(h, "GET", "/nothing.js"),
		"foreign host":   ask(h, "GET", "/", "Host", "evil.example"),
		"another method": ask(h, "POST", "/"),
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, site.Policy(true), answer.Header.Get("Content-Security-Policy"))
			assert.Equal(t, "no-referrer", answer.Header.Get("Referrer-Policy"))
			assert.Equal(t, "nosniff", answer.Header.Get("X-Content-Type-Options"))
			assert.Equal(t, "DENY", answer.Header.Get("X-Frame-Options"))
			assert.Contains(t, answer.Header.Get("Permissions-Policy"), "geolocation=()")
			assert.Contains(t, answer.Header.Get("Permissions-Policy"), "screen-wake-lock=(self)")
			assert.Empty(t, answer.Header.Get("Set-Cookie"))
		})
	}
}

func TestTypesAndCaching(t *testing.T) {
	h, s := load(t)
	frozen := "/v/" + s.Version + "/"
	for _, row := range []struct{ path, kind, cache string }{
		{"/", "text/html; charset=utf-8", "no-cache"},
		{"/index.html", "text/html; charset=utf-8", "no-cache"},
		{"/worker.js", "text/javascript; charset=utf-8", "no-cache"},
		{"/manifest.webmanifest", "application/manifest+json", "no-cache"},
		{frozen + "page.wasm", "application/wasm", "public, max-age=31536000, immutable"},
		{frozen + "start.js", "text/javascript; charset=utf-8", "public, max-age=31536000, immutable"},
		{frozen + "first.css", "text/css; charset=utf-8", "public, max-age=31536000, immutable"},
		{frozen + "web/icons/pitwise.svg", "image/svg+xml", "public, max-age=31536000, immutable"},
		{frozen + "web/icons/pitwise-192.png", "image/png", "public, max-age=31536000, immutable"},
	} {
		t.Run(row.path, func(t *testing.T) {
			answer := ask(h, "GET", row.path)
			assert.Equal(t, http.StatusOK, answer.StatusCode)
			assert.Equal(t, row.kind, answer.Header.Get("Content-Type"))
			assert.Equal(t, row.cache, answer.Header.Get("Cache-Control"))
			assert.NotEmpty(t, answer.Header.Get("ETag"))
		})
	}
}

func TestCodings(t *testing.T) {
	h, s := load(t)
	program := "/v/" + s.Version + "/page.wasm"
	unpack := map[string]func(io.Reader) io.Reader{
		"":   func(r io.Reader) io.Reader { return r },
		"br": func(r io.Reader) io.Reader { return brotli.NewReader(r) },
		"gzip": func(r io.Reader) io.Reader {
			z, err := gzip.NewReader(r)
			require.NoError(t, err)
			return z
		},
	}
	for _, row := range []struct{ name, accept, want string }{
		{"a browser over HTTPS", "gzip, deflate, br, zstd", "br"},
		{"a browser over HTTP", "gzip, deflate", "gzip"},
		{"nothing asked for", "", ""},
		{"Brotli refused by weight zero", "br;q=0, gzip", "gzip"},
		{"all refused", "br;q=0, gzip;q=0.0", ""},
		{"anything", "*", "br"},
		{"anything but Brotli", "*, br;q=0", "gzip"},
		{"a weight that is no number", "br;q=x, gzip", "gzip"},
		{"upper case", "GZIP", "gzip"},
		{"a name that only begins so", "brotli", ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			answer := ask(h, "GET", program, "Accept-Encoding", row.accept)
			assert.Equal(t, row.want, answer.Header.Get("Content-Encoding"))
			assert.Equal(t, "Accept-Encoding", answer.Header.Get("Vary"))
			assert.Equal(t, "application/wasm", answer.Header.Get("Content-Type"))
			body, err := io.ReadAll(unpack[row.want](answer.Body))
			require.NoError(t, err)
			assert.Equal(t, s.Program().Body, body)
		})
	}
	t.Run("each form has a tag of its own, and the tag saves the body", func(t *testing.T) {
		tags := map[string]bool{}
		for _, accept := range []string{"", "gzip", "br"} {
			tag := ask(h, "GET", program, "Accept-Encoding", accept).Header.Get("ETag")
			tags[tag] = true
			again := ask(h, "GET", program, "Accept-Encoding", accept, "If-None-Match", tag)
			assert.Equal(t, http.StatusNotModified, again.StatusCode)
			body, err := io.ReadAll(again.Body)
			require.NoError(t, err)
			assert.Empty(t, body)
		}
		assert.Len(t, tags, 3)
	})
	t.Run("HEAD has the headers of GET and no body", func(t *testing.T) {
		answer := ask(h, "HEAD", program)
		assert.Equal(t, fmt.Sprint(len(s.Program().Body)), answer.Header.Get("Content-Length"))
		body, err := io.ReadAll(answer.Body)
		require.NoError(t, err)
		assert.Empty(t, body)
	})
}

func TestForeignHostsAreRefused(t *testing.T) {
	dir, _ := folder(t)
	near, err := host.Load(dir, false)
	require.NoError(t, err)
	wide, err := host.Load(dir, true, "bench.local")
	require.NoError(t, err)
	for _, row := range []struct {
		host       string
		near, wide bool
	}{
		{"127.0.0.1:8787", true, true},
		{"127.0.0.1", true, true},
		{"127.9.9.9:8787", true, true},
		{"localhost:8787", true, true},
		{"LOCALHOST", true, true},
		{"[::1]:8787", true, true},
		{"[::ffff:127.0.0.1]:8787", true, true},
		{"192.168.1.20:8787", false, true},
		{"bench.local:8787", false, true},
		{"evil.example", false, false},
		{"evil.example:8787", false, false},
		{"localhost.evil.example", false, false},
		{"127.0.0.1.evil.example:8787", false, false},
		{"2130706433", false, false}, // 127.0.0.1 as one number is a name here
		{"", false, false},
	} {
		t.Run("host "+row.host, func(t *testing.T) {
			for h, want := range map[*host.Host]bool{near: row.near, wide: row.wide} {
				status := http.StatusMisdirectedRequest
				if want {
					status = http.StatusOK
				}
				assert.Equal(t, status, ask(h, "GET", "/", "Host", row.host).StatusCode)
			}
		})
	}
}

func TestOnlyTheFolderIsServed(t *testing.T) {
	dir, _ := folder(t)
	secret := filepath.Join(filepath.Dir(dir), "secret.txt")
	require.NoError(t, os.WriteFile(secret, []byte("SECRET"), 0o644))
	require.NoError(t, os.Symlink(secret, filepath.Join(dir, "link.txt")))
	require.NoError(t, os.Symlink(filepath.Dir(dir), filepath.Join(dir, "up")))
	require.NoError(t, os.Symlink("index.html", filepath.Join(dir, "inner.html")))
	h, err := host.Load(dir, false)
	require.NoError(t, err)
	server := httptest.NewServer(h)
	defer server.Close()
	for _, path := range []string{
		"/../secret.txt", "/..%2fsecret.txt", "/%2e%2e/secret.txt", "/v/../../secret.txt", "//secret.txt",
		"/link.txt", "/up/secret.txt", "/inner.html", `/..\secret.txt`, "/..%5csecret.txt", "/./../secret.txt",
		"/%00", "/v/", "/v", "/web/", "/index.html.br", "/index.html/", "/.git/config",
	} {
		t.Run(path, func(t *testing.T) {
			// Written by hand, since a client would clean the path.
			conn, err := net.Dial("tcp", server.Listener.Addr().String())
			require.NoError(t, err)
			defer conn.Close()
			fmt.Fprintf(conn, "GET %s HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n", path)
			answer, err := http.ReadResponse(bufio.NewReader(conn), nil)
			require.NoError(t, err)
			body, err := io.ReadAll(answer.Body)
			require.NoError(t, err)
			assert.NotContains(t, string(body), "SECRET")
			assert.NotEqual(t, http.StatusOK, answer.StatusCode)
		})
	}
}

func TestDeepLinks(t *testing.T) {
	h, s := load(t)
	for _, row := range []struct {
		name, path string
		headers    []string
		want       int
	}{
		{"a person opens a unit", "/unit/01J", []string{"Sec-Fetch-Mode", "navigate"}, 200},
		{"a person opens a unit in an old browser", "/unit/01J?x=1", []string{"Accept", "text/html,*/*"}, 200},
		{"a script asks for data", "/unit/01J", []string{"Sec-Fetch-Mode", "cors", "Accept", "text/html"}, 404},
		{"a file that is not there", "/missing.css", []string{"Sec-Fetch-Mode", "navigate"}, 404},
		{"an older version", "/v/0123456789abcdef/x", []string{"Sec-Fetch-Mode", "navigate"}, 404},
	} {
		t.Run(row.name, func(t *testing.T) {
			answer := ask(h, "GET", row.path, row.headers...)
			assert.Equal(t, row.want, answer.StatusCode)
			body, err := io.ReadAll(answer.Body)
			require.NoError(t, err)
			assert.Equal(t, row.want == 200, bytes.Equal(body, s.Find("index.html").Body))
		})
	}
}

func TestOnlyReading(t *testing.T) {
	h, _ := load(t)
	for _, method := range []string{"POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE"} {
		answer := ask(h, method, "/")
		assert.Equal(t, http.StatusMethodNotAllowed, answer.StatusCode, method)
		assert.Equal(t, "GET, HEAD", answer.Header.Get("Allow"))
	}
}

func TestLoadRefusesAFolderWithoutAPage(t *testing.T) {
	_, err := host.Load(t.TempDir(), false)
	require.ErrorIs(t, err, host.ErrNoPage)
	_, err = host.Load(filepath.Join(t.TempDir(), "missing"), false)
	require.Error(t, err)
}

// running starts the server with its real limits.
func running(t *testing.T) (addr string, s *site.Site) {
	t.Helper()
	h, s := load(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	server := h.Server()
	go server.Serve(l)
	t.Cleanup(func() { server.Close() })
	return l.Addr().String(), s
}

func TestASlowClientIsCutOff(t *testing.T) {
	t.Parallel()
	addr, _ := running(t)
	conn, err := net.Dial("tcp", addr)
	require.NoError(t, err)
	defer conn.Close()
	begun := time.Now()
	fmt.Fprint(conn, "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n")
	go func() {
		// One header a while, never the empty line that ends them.
		for i := 0; ; i++ {
			if _, err := fmt.Fprintf(conn, "X-%d: 1\r\n", i); err != nil {
				return
			}
			time.Sleep(200 * time.Millisecond)
		}
	}()
	conn.SetReadDeadline(time.Now().Add(15 * time.Second))
	_, err = io.Copy(io.Discard, conn)
	require.NotErrorIs(t, err, os.ErrDeadlineExceeded, "the server still waits")
	assert.Less(t, time.Since(begun), 12*time.Second)
}

func TestLongHeadersAreRefused(t *testing.T) {
	addr, _ := running(t)
	r, err := http.NewRequest("GET", "http://"+addr+"/", nil)
	require.NoError(t, err)
	r.Header.Set("X-Long", strings.Repeat("x", 64<<10))
	answer, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer answer.Body.Close()
	assert.Equal(t, http.StatusRequestHeaderFieldsTooLarge, answer.StatusCode)
}

func TestFiveHundredConnectionsAtOnce(t *testing.T) {
	addr, s := running(t)
	const many = 500
	var open sync.WaitGroup
	begin := make(chan struct{})
	failures := make(chan error, many)
	for range many {
		open.Add(1)
		go func() {
			defer open.Done()
			failures <- func() error {
				conn, err := net.DialTimeout("tcp", addr, 20*time.Second)
				if err != nil {
					return err
				}
				defer conn.Close()
				conn.SetDeadline(time.Now().Add(60 * time.Second))
				<-begin // all are connected before the first asks
				fmt.Fprintf(conn, "GET /v/%s/page.wasm HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n", s.Version)
				answer, err := http.ReadResponse(bufio.NewReader(conn), nil)
				if err != nil {
					return err
				}
				body, err := io.ReadAll(answer.Body)
				if err == nil && !bytes.Equal(body, s.Program().Body) {
					err = fmt.Errorf("%d bytes of %d", len(body), len(s.Program().Body))
				}
				return err
			}()
		}()
	}
	time.AfterFunc(2*time.Second, func() { close(begin) })
	open.Wait()
	close(failures)
	for err := range failures {
		require.NoError(t, err)
	}
}
