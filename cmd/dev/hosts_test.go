//go:build hosts

package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/web/site"
)

// wrapped puts what web/hosts says into the least configuration that each server starts with.
var wrapped = map[string]func(dir, port, said string) (file, text string, command []string){
	"nginx.conf": func(dir, port, said string) (string, string, []string) {
		file := filepath.Join(dir, "nginx.conf")
		return file, fmt.Sprintf("daemon off; pid %s/pid; error_log stderr;\nevents {}\nhttp { include /etc/nginx/mime.types; access_log off;\nserver { listen 127.0.0.1:%s;\n%s\n} }\n",
			dir, port, said), []string{"nginx", "-p", dir, "-c", file}
	},
	"apache.conf": func(dir, port, said string) (string, string, []string) {
		var b strings.Builder
		for _, m := range []string{"mpm_event", "authz_core", "headers", "mime", "dir", "rewrite"} {
			fmt.Fprintf(&b, "LoadModule %s_module /usr/lib/apache2/modules/mod_%s.so\n", m, m)
		}
		file := filepath.Join(dir, "apache.conf")
		fmt.Fprintf(&b, "ServerName localhost\nListen 127.0.0.1:%s\nPidFile %s/pid\nErrorLog /dev/stderr\nTypesConfig /etc/mime.types\nUser www-data\nGroup www-data\nDocumentRoot %s/www\n%s\n", port, dir, dir, said)
		return file, b.String(), []string{"apache2", "-X", "-f", file}
	},
	"Caddyfile": func(dir, port, said string) (string, string, []string) {
		file := filepath.Join(dir, "Caddyfile")
		return file, fmt.Sprintf("{\n\tadmin off\n\tauto_https off\n}\nhttp://127.0.0.1:%s {\n%s\n}\n", port, said), []string{"caddy", "run", "--config", file, "--adapter", "caddyfile"}
	},
}

func TestHosts(t *testing.T) {
	tree, err := site.FindTree(".")
	require.NoError(t, err)
	s, err := site.Assemble(site.Parts{Program: bytes.Repeat([]byte("\x00asm program "), 1<<16), Exec: []byte("// runtime\n"), Prefix: "/tools/", Quality: 4})
	require.NoError(t, err)
	for name, wrap := range wrapped {
		t.Run(name, func(t *testing.T) {
			// Servers that change their user have to be able to read the folder.
			dir, err := os.MkdirTemp("/var/tmp", "pitwise-hosts-*")
			require.NoError(t, err)
			t.Cleanup(func() { os.RemoveAll(dir) })
			require.NoError(t, os.Chmod(dir, 0o755))
			require.NoError(t, os.Mkdir(filepath.Join(dir, "www"), 0o755))
			require.NoError(t, s.Write(filepath.Join(dir, "www", "tools"), false))
			said, err := os.ReadFile(filepath.Join(tree.Root, "web", "hosts", name))
			require.NoError(t, err)
			free, err := net.Listen("tcp", "127.0.0.1:0")
			require.NoError(t, err)
			port := fmt.Sprint(free.Addr().(*net.TCPAddr).Port)
			free.Close()
			file, text, command := wrap(dir, port, strings.ReplaceAll(string(said), "/srv/www", filepath.Join(dir, "www")))
			require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
			ctx, stop := context.WithCancel(context.Background())
			run := exec.CommandContext(ctx, command[0], command[1:]...)
			var output bytes.Buffer
			run.Stdout, run.Stderr = &output, &output
			run.Env = append(os.Environ(), "HOME="+dir, "XDG_DATA_HOME="+dir, "XDG_CONFIG_HOME="+dir)
			run.Cancel = func() error { return run.Process.Signal(syscall.SIGTERM) } // their children end too
			run.WaitDelay = 10 * time.Second
			require.NoError(t, run.Start())
			t.Cleanup(func() { stop(); run.Wait() })
			require.Eventually(t, func() bool {
				c, err := net.Dial("tcp", "127.0.0.1:"+port)
				if err == nil {
					c.Close()
				}
				return err == nil
			}, 20*time.Second, 20*time.Millisecond, output.String)
			hosted(t, "http://127.0.0.1:"+port, s)
		})
	}
}

// hosted checks what web/hosts/README.md says of a host.
func hosted(t *testing.T, origin string, s *site.Site) {
	client := &http.Client{Transport: &http.Transport{DisableCompression: true}}
	get := func(path, accept string) (*http.Response, []byte) {
		t.Helper()
		r, err := http.NewRequest("GET", origin+path, nil)
		require.NoError(t, err)
		r.Header.Set("Accept", "text/html,*/*")
		if accept != "" {
			r.Header.Set("Accept-Encoding", accept)
		}
		answer, err := client.Do(r)
		require.NoError(t, err)
		defer answer.Body.Close()
		body, err := io.ReadAll(answer.Body)
		require.NoError(t, err)
		return answer, body
	}
	index := s.Find("index.html").Body
	for _, path := range []string{"/tools/", "/tools/unit/01J", "/tools/bench?x=1"} {
		answer, body := get(path, "")
		assert.Equal(t, 200, answer.StatusCode, path)
		assert.Equal(t, string(index), string(body), path)
		assert.Equal(t, "no-cache", answer.Header.Get("Cache-Control"), path)
		assert.Contains(t, answer.Header.Get("Content-Type"), "text/html", path)
		assert.Equal(t, "nosniff", answer.Header.Get("X-Content-Type-Options"), path)
	}
	answer, body := get("/tools/worker.js", "")
	assert.Equal(t, string(s.Find("worker.js").Body), string(body))
	assert.Equal(t, "no-cache", answer.Header.Get("Cache-Control"))
	assert.Contains(t, answer.Header.Get("Content-Type"), "javascript")
	answer, _ = get("/tools/manifest.webmanifest", "")
	assert.Contains(t, answer.Header.Get("Content-Type"), "application/manifest+json")
	program := "/tools/v/" + s.Version + "/page.wasm"
	answer, body = get(program, "")
	assert.Equal(t, "application/wasm", answer.Header.Get("Content-Type"))
	assert.Equal(t, "public, max-age=31536000, immutable", answer.Header.Get("Cache-Control"))
	assert.Equal(t, len(s.Program().Body), len(body))
	answer, body = get(program, "gzip")
	assert.Equal(t, "gzip", answer.Header.Get("Content-Encoding"))
	assert.Equal(t, "application/wasm", answer.Header.Get("Content-Type"))
	assert.Less(t, len(body), len(s.Program().Body)/2)
	if answer, body = get(program, "br, gzip"); answer.Header.Get("Content-Encoding") == "br" {
		assert.Equal(t, "application/wasm", answer.Header.Get("Content-Type"))
		assert.Equal(t, len(s.Program().Brotli), len(body))
	}
	answer, _ = get("/tools/v/0000000000000000/page.wasm", "")
	assert.Equal(t, 404, answer.StatusCode, "what never changes is there or is not")
}
