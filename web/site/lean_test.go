package site

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
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

// A file without the package that a stand-in is for is one that this cannot make lean.
func TestStandIns(t *testing.T) {
	lean, err := leaner("route.go", []byte("package app\n\nimport (\n\t\"reflect\"\n\t\"regexp\"\n)\n"))
	require.NoError(t, err)
	assert.Equal(t, "package app\n\nimport (\n\t\"reflect\"\n\tregexp \"github.com/maxence-charriere/go-app/v9/pkg/everything\"\n)\n", string(lean))
	for _, s := range standIns {
		for _, name := range s.files {
			_, err := leaner(name, []byte("package app\n\nimport \"reflect\"\n"))
			assert.ErrorIs(t, err, ErrGoApp, "a release whose %s asks something else is noticed", name)
		}
	}
}

// Of what go-app would do with the id and the secrets of a device the page asks nothing.
func TestThePageAsksNothingOfTheStandIns(t *testing.T) {
	tree, err := FindTree(".")
	require.NoError(t, err)
	files, err := filepath.Glob(filepath.Join(tree.Root, "app", "*", "*.go"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	asks := regexp.MustCompile(`\.(DeviceID|Encrypt|Decrypt)\(|app\.(Encrypt|Persist|Broadcast)\b`)
	for _, name := range append(files, filepath.Join(tree.Root, "cmd", "page", "main.go")) {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.Empty(t, asks.FindAllString(string(text), -1), name)
	}
}

// TestThePagesOneRouteIsThatOfTheStandIn: the stand-in for package regexp knows the pattern ".*".
func TestThePagesOneRouteIsThatOfTheStandIn(t *testing.T) {
	tree, err := FindTree(".")
	require.NoError(t, err)
	files, err := filepath.Glob(filepath.Join(tree.Root, "app", "*", "*.go"))
	require.NoError(t, err)
	routes := regexp.MustCompile(`RouteWithRegexp(?:Func)?\(([^,]*),`)
	found := 0
	for _, name := range files {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		for _, m := range routes.FindAllStringSubmatch(string(text), -1) {
			assert.Equal(t, `".*"`, m[1], name)
			found++
		}
	}
	assert.Positive(t, found)
}

// TestTheProgramImportsNoServer lists what the page's program is made of, in which there is no
// package regexp either.
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
		for _, unwanted := range []string{"net/http", "crypto/tls", "crypto/x509", "text/template", "html/template", "regexp", "regexp/syntax", "github.com/google/uuid", "crypto/aes", "crypto/rand"} {
			assert.NotEqual(t, unwanted, p)
		}
	}
	modules, err := filepath.Glob(filepath.Join(tree.Root, "go.*"))
	require.NoError(t, err)
	assert.Len(t, modules, 2, "the tree's own files are as they were")
}
