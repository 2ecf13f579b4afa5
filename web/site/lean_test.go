package site

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWithoutServer(t *testing.T) {
	source := `package app

import (
	"fmt"
	"net/http"
	"strings"
)

type Handler struct{ Name string }

func (h *Handler) ServeHTTP(w http.ResponseWriter, r *http.Request) {}

func (h *Handler) init() { h.Name = fmt.Sprint(1) }

func LocalDir(root string) any { return localDir{http.Dir(root)} }

type localDir struct{ http.FileSystem }

func (d localDir) Package() string { return "" }

func viaOther() any { return LocalDir("x") }

func plain(s string) bool { return strings.HasPrefix(s, "http") }
`
	lean, err := withoutServer("http.go", []byte(source))
	require.NoError(t, err)
	for _, kept := range []string{"type Handler struct", "func plain", `"strings"`} {
		assert.Contains(t, string(lean), kept)
	}
	for _, lost := range []string{"net/http", "ServeHTTP", "init()", "LocalDir", "localDir", "viaOther", `"fmt"`} {
		assert.NotContains(t, string(lean), lost)
	}
	_, err = withoutServer("other.go", []byte("package app\n"))
	assert.ErrorIs(t, err, ErrGoApp, "a release that serves elsewhere is noticed")
}

// TestTheProgramImportsNoServer lists what the page's program is made of.
func TestTheProgramImportsNoServer(t *testing.T) {
	tree, err := FindTree(".")
	require.NoError(t, err)
	lean, err := tree.lean(t.Context(), t.TempDir())
	require.NoError(t, err)
	cmd := exec.Command("go", append(append([]string{"list"}, lean...), "-deps", Page)...)
	cmd.Dir = tree.Root
	cmd.Env = append(cmd.Environ(), "GOOS=js", "GOARCH=wasm")
	out, err := cmd.Output()
	require.NoError(t, err)
	all := strings.Fields(string(out))
	assert.Contains(t, all, goApp+"/pkg/app")
	for _, p := range all {
		for _, unwanted := range []string{"net/http", "crypto/tls", "crypto/x509", "text/template", "html/template"} {
			assert.NotEqual(t, unwanted, p)
		}
	}
	modules, err := filepath.Glob(filepath.Join(tree.Root, "go.*"))
	require.NoError(t, err)
	assert.Len(t, modules, 2, "the tree's own files are as they were")
}
