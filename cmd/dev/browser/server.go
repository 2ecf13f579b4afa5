package browser

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pitwise/app/words"
	"pitwise/web/host"
	"pitwise/web/site"
)

// Tree returns the source tree that the test belongs to.
func Tree(t testing.TB) site.Tree {
	t.Helper()
	tree, err := findTree()
	require.NoError(t, err)
	return tree
}

func findTree() (site.Tree, error) { return site.FindTree(".") }

// Asked is the number that a variable of the environment asks for, or what a test run has
// the time for.
func Asked(t testing.TB, variable string, otherwise int) int {
	t.Helper()
	v := os.Getenv(variable)
	if v == "" {
		return otherwise
	}
	n, err := strconv.Atoi(v)
	require.NoError(t, err, variable)
	return n
}

var built struct {
	once sync.Once
	dir  string
	err  error
}

// Built returns the folder of the page for this source, built once.
func Built(t testing.TB) string {
	t.Helper()
	built.once.Do(func() {
		built.dir, built.err = Tree(t).Ready(context.Background(), func() { t.Log("building the page") })
	})
	require.NoError(t, built.err)
	return built.dir
}

// Variant writes a page that differs from the built one only in its version, as
// the next release would, served under the prefix. It returns the folder and
// the version.
func Variant(t testing.TB, mark, prefix string) (dir, version string) {
	t.Helper()
	frozen, err := filepath.Glob(filepath.Join(Built(t), "v", "*"))
	require.NoError(t, err)
	require.Len(t, frozen, 1)
	program, err := os.ReadFile(filepath.Join(frozen[0], "page.wasm"))
	require.NoError(t, err)
	runtime, err := os.ReadFile(filepath.Join(frozen[0], "wasm_exec.js"))
	require.NoError(t, err)
	texts, err := words.Files()
	require.NoError(t, err)
	s, err := site.Assemble(site.Parts{Program: program, Exec: append(runtime, "// "+mark+"\n"...), Words: texts, Prefix: prefix})
	require.NoError(t, err)
	dir = filepath.Join(t.TempDir(), "page")
	require.NoError(t, s.Write(dir, false))
	return dir, s.Version
}

// Server is a server of the page on a port of loopback that can go away and
// come back.
type Server struct {
	t       testing.TB
	addr    string
	prefix  string
	handler atomic.Value // of http.Handler, in a box of one type
	mu      sync.Mutex
	server  *http.Server
}

type box struct{ http.Handler }

// Serve serves the page built for this source, with the handler that
// "pitwise serve" uses.
func Serve(t testing.TB) *Server {
	t.Helper()
	s := &Server{t: t, prefix: "/"}
	s.Show(Built(t))
	s.begin()
	return s
}

// ServeProgram serves a page around another program than the page's own.
func ServeProgram(t testing.TB, pkg string) *Server {
	t.Helper()
	built, err := Tree(t).Build(t.Context(), pkg, "/", 0)
	require.NoError(t, err)
	folder := filepath.Join(t.TempDir(), "page")
	require.NoError(t, built.Write(folder, false))
	h, err := host.Load(folder, false)
	require.NoError(t, err)
	return ServeHandler(t, h, "/")
}

// Beside has another handler answer at a path.
func (s *Server) Beside(path string, h http.HandlerFunc) {
	mux := http.NewServeMux()
	mux.Handle("/", s.handler.Load().(box))
	mux.HandleFunc(path, h)
	s.handler.Store(box{mux})
}

// ServeHandler serves something else, whose page has the prefix.
func ServeHandler(t testing.TB, h http.Handler, prefix string) *Server {
	t.Helper()
	s := &Server{t: t, prefix: prefix}
	s.handler.Store(box{h})
	s.begin()
	return s
}

func (s *Server) begin() {
	s.t.Helper()
	s.Start()
	s.t.Cleanup(func() {
		if s.up() {
			s.Stop()
		}
	})
}

// Show makes the server serve the site in the folder from now on.
func (s *Server) Show(dir string) {
	s.t.Helper()
	h, err := host.Load(dir, false)
	require.NoError(s.t, err)
	s.handler.Store(box{h})
}

// Origin is the scheme, host and port.
func (s *Server) Origin() string { return "http://" + s.addr }

// URL returns the address of a path of the page, such as "/" or "/unit/1".
func (s *Server) URL(path string) string {
	return s.Origin() + s.prefix + path[1:]
}

// ports counts the ports that were taken, from a part of them on that the system hands to nobody by itself: a server that is stopped
// for a while finds its own free again, and its page meets no other there.
var ports atomic.Uint32

const firstPort, manyPorts = 20000, 12000

// Start listens, on the port of the first start.
func (s *Server) Start() {
	s.t.Helper()
	var l net.Listener
	require.Eventually(s.t, func() bool {
		at := s.addr
		if at == "" {
			at = fmt.Sprintf("127.0.0.1:%d", firstPort+(uint32(os.Getpid())*100+ports.Add(1))%manyPorts)
		}
		var err error
		l, err = net.Listen("tcp", at)
		return err == nil
	}, Patience, 50*time.Millisecond, "no port to listen on, or %s stays taken", s.addr)
	s.addr = l.Addr().String()
	server := &http.Server{
		Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			s.handler.Load().(box).ServeHTTP(w, r)
		}),
		ReadHeaderTimeout: 5 * time.Second,
	}
	s.mu.Lock()
	s.server = server
	s.mu.Unlock()
	go func() {
		if err := server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
			s.t.Errorf("the server ended: %v", err)
		}
	}()
}

// Stop makes the server go away at once, with every connection.
func (s *Server) Stop() {
	s.t.Helper()
	s.mu.Lock()
	server := s.server
	s.server = nil
	s.mu.Unlock()
	require.NotNil(s.t, server, "the server is stopped already")
	require.NoError(s.t, server.Close())
	_, err := net.DialTimeout("tcp", s.addr, time.Second)
	require.Error(s.t, err, "the server still answers")
}

func (s *Server) up() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.server != nil
}

// Screens is the folder for screenshots.
func Screens(t testing.TB) string {
	t.Helper()
	return filepath.Join(Tree(t).Root, "testdata", "screens")
}
