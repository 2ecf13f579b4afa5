package main

import (
	"archive/tar"
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/web/site"
)

func TestAReleaseNeedsNothingElse(t *testing.T) {
	if testing.Short() {
		t.Skip("it compiles the page and the desk program")
	}
	tree, err := site.FindTree(".")
	require.NoError(t, err)
	target := runtime.GOOS + "-" + runtime.GOARCH
	made := func() []byte {
		out := filepath.Join(t.TempDir(), "release")
		require.NoError(t, release(context.Background(), tree.Root, []string{"-o", out, "-only", target, "-quality", "1"}))
		archive, err := os.ReadFile(filepath.Join(out, "pitwise-"+target+".tar.gz"))
		require.NoError(t, err)
		sums, err := os.ReadFile(filepath.Join(out, "SHA256SUMS"))
		require.NoError(t, err)
		assert.Contains(t, string(sums), "pitwise-"+target+".tar.gz")
		return archive
	}
	archive := made()
	assert.True(t, bytes.Equal(archive, made()), "the same source gives the same bytes")

	files := map[string][]byte{}
	z, err := gzip.NewReader(bytes.NewReader(archive))
	require.NoError(t, err)
	for r := tar.NewReader(z); ; {
		h, err := r.Next()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		files[h.Name], err = io.ReadAll(r)
		require.NoError(t, err)
	}
	for _, linked := range []string{"Pitwise, LICENSE", "Go, LICENSE", "go-app/v9 v9.8.0, LICENSE", "golang.org/x/text", "andybalholm/brotli"} {
		assert.Contains(t, string(files["pitwise/LICENCES.txt"]), linked)
	}
	exe := filepath.Join(t.TempDir(), "pitwise")
	require.NoError(t, os.WriteFile(exe, files["pitwise/pitwise"], 0o755))
	assert.False(t, bytes.Contains(files["pitwise/pitwise"], []byte(tree.Root)), "no path of this machine is in it")

	// No source, no Go, no home.
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	run := exec.CommandContext(ctx, exe, "serve", "-addr", "127.0.0.1:0")
	run.Dir, run.Env = t.TempDir(), []string{"PATH=" + t.TempDir()}
	out, err := run.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, run.Start())
	address, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	answer, err := http.Get(strings.TrimSpace(address))
	require.NoError(t, err)
	defer answer.Body.Close()
	index, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	assert.Equal(t, http.StatusOK, answer.StatusCode)
	assets := regexp.MustCompile(`data-assets="([^"]+)".* data-bytes="(\d+)"`).FindStringSubmatch(string(index))
	require.NotNil(t, assets, "%s", index)
	program, err := http.Get(strings.TrimSpace(address) + assets[1][1:] + "page.wasm")
	require.NoError(t, err)
	defer program.Body.Close()
	body, err := io.ReadAll(program.Body)
	require.NoError(t, err)
	assert.Equal(t, assets[2], strconv.Itoa(len(body)))
	assert.True(t, bytes.HasPrefix(body, []byte("\x00asm")))
	stop()
	run.Wait()
}
