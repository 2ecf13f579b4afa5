package main

import (
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/web/site"
)

// policy says what each package may import beside the standard library: names
// ending in /... mean the package and all below it. The first row that fits a
// package is its rule. The table is the layout of DEVELOPERS.md: cmd → app →
// engine, cmd → web.
var policy = []struct {
	packages string
	may      []string
	std      []string // packages of the standard library that are forbidden
}{
	// The engine: no browser, no files, no network, no randomness of its own.
	// Only tests use what is internal, so nothing else may import it.
	{"engine/internal/schema", []string{"github.com/santhosh-tekuri/jsonschema/..."}, outside},
	{"engine/internal/...", []string{"engine/..."}, outside},
	{"engine/document", nil, inside},
	{"engine/model", []string{"engine/document"}, inside},
	{"engine/belief", []string{"engine/model"}, inside},
	{"engine/trail", []string{"engine/document", "engine/model", "engine/belief"}, inside},
	{"engine/plan", []string{"engine/model", "engine/belief", "engine/trail"}, inside},
	{"engine/plan/...", []string{"engine/model", "engine/belief", "engine/trail", "engine/plan"}, inside},
	{"engine/bench", []string{"engine/model", "engine/belief", "engine/trail", "engine/plan"}, inside},
	{"engine/catalog", []string{"engine/document", "engine/model"}, inside},
	{"engine/...", []string{"engine/document", "engine/model", "engine/belief", "engine/trail", "engine/plan", "engine/bench", "engine/sim", "engine/catalog"}, inside},

	// The app draws and stores; it computes no odds, so state and words know no
	// browser, and only browser knows syscall/js.
	{"app/words", []string{"engine/..."}, outside},
	{"app/state", []string{"app/words", "engine/..."}, outside},
	{"app/report", []string{"app/words", "app/state", "engine/..."}, outside},
	{"app/parcel", nil, outside},
	{"app/browser/contract", []string{"app/browser", "engine/..."}, outside},
	{"app/browser", []string{"app/state", "engine/..."}, without(outside, "syscall/js")},
	{"app/runner/sweep", []string{"app/browser", "app/runner", "app/state", "engine/..."}, outside},
	{"app/runner", []string{"app/...", "engine/...", "rsc.io/qr"}, outside},
	{"app/view", []string{"app/...", "engine/...", "github.com/maxence-charriere/go-app/v9/pkg/app"}, outside},

	// What is served as it is knows nothing of the app.
	{"web", nil, outside},
	{"web/site", []string{"web", "github.com/andybalholm/brotli"}, []string{"net/http"}},
	{"web/host", []string{"web/site"}, []string{"os/exec"}},

	// The programs.
	{"cmd/words", []string{"app/words"}, without(outside, "os")},
	{"cmd/page", []string{"app/view", "github.com/maxence-charriere/go-app/v9/pkg/app"}, outside},
	{"cmd/pitwise", []string{"engine/...", "app/words", "app/report", "app/parcel", "web/...",
		"github.com/andybalholm/brotli", "rsc.io/qr", "github.com/makiuchi-d/gozxing/..."}, []string{"syscall/js"}},
	{"cmd/dev/stories/page", []string{"app/view", "cmd/dev/stories"}, without(outside, "syscall/js")},
	{"cmd/dev/...", []string{"cmd/dev/browser", "cmd/dev/stories", "engine/...", "app/...", "web/...", "github.com/andybalholm/brotli", "github.com/chromedp/...", "github.com/stretchr/testify/...",
		"golang.org/x/net/html", "golang.org/x/net/websocket"}, nil},
}

// outside is everything by which a program reaches out of itself.
var outside = []string{"os", "os/exec", "os/signal", "net", "net/http", "net/url", "syscall", "syscall/js", "unsafe", "plugin", "C",
	"crypto/rand", "log", "log/slog", "runtime/debug", "database/sql"}

// inside is what the engine may not have: it draws no numbers of its own either.
var inside = append([]string{"math/rand", "math/rand/v2"}, outside...)

func without(list []string, name string) []string {
	return slices.DeleteFunc(slices.Clone(list), func(s string) bool { return s == name })
}

func matches(pattern, name string) bool {
	if stem, all := strings.CutSuffix(pattern, "/..."); all {
		return name == stem || strings.HasPrefix(name, stem+"/")
	}
	return name == pattern
}

type listed struct {
	ImportPath string
	Dir        string
	Standard   bool
	Imports    []string
	GoFiles    []string
	Deps       []string
}

// list runs go list for a target.
func list(t *testing.T, goos, goarch string, args ...string) []listed {
	t.Helper()
	tree, err := site.FindTree(".")
	require.NoError(t, err)
	cmd := exec.Command("go", append([]string{"list", "-json=ImportPath,Dir,Standard,Imports,GoFiles,Deps"}, args...)...)
	cmd.Dir = tree.Root
	cmd.Env = append(os.Environ(), "GOOS="+goos, "GOARCH="+goarch)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	require.NoError(t, err)
	var all []listed
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		err := d.Decode(&p)
		if errors.Is(err, io.EOF) {
			return all
		}
		require.NoError(t, err)
		all = append(all, p)
	}
}

func TestImportsFollowThePolicy(t *testing.T) {
	for _, target := range [][2]string{{"linux", "amd64"}, {"js", "wasm"}} {
		t.Run(strings.Join(target[:], " "), func(t *testing.T) {
			all := list(t, target[0], target[1], "./...")
			require.Greater(t, len(all), 10)
			for _, p := range all {
				name := strings.TrimPrefix(p.ImportPath, "pitwise/")
				i := slices.IndexFunc(policy, func(row struct {
					packages string
					may      []string
					std      []string
				}) bool {
					return matches(row.packages, name)
				})
				if !assert.GreaterOrEqual(t, i, 0, "%s has no row in the policy", name) {
					continue
				}
				for _, imported := range p.Imports {
					own := strings.TrimPrefix(imported, "pitwise/")
					switch {
					case own != imported || strings.Contains(strings.Split(imported, "/")[0], "."):
						assert.True(t, slices.ContainsFunc(policy[i].may, func(m string) bool { return matches(m, own) }),
							"%s must not import %s", name, own)
					default:
						assert.NotContains(t, policy[i].std, imported, "%s must not import %s", name, imported)
					}
				}
			}
		})
	}
}

// TestTheEngineHasNoClock finds uses of the clock; the time package itself is
// needed to read the times of a trail.
func TestTheEngineHasNoClock(t *testing.T) {
	clock := []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker", "Local", "LoadLocation"}
	files := 0
	for _, p := range list(t, "linux", "amd64", "./engine/...") {
		for _, name := range p.GoFiles {
			files++
			fset := token.NewFileSet()
			file, err := parser.ParseFile(fset, filepath.Join(p.Dir, name), nil, 0)
			require.NoError(t, err)
			ast.Inspect(file, func(n ast.Node) bool {
				if s, ok := n.(*ast.SelectorExpr); ok {
					if x, ok := s.X.(*ast.Ident); ok && x.Name == "time" {
						assert.NotContains(t, clock, s.Sel.Name, "%s: time.%s", fset.Position(n.Pos()), s.Sel.Name)
					}
				}
				return true
			})
		}
	}
	require.Greater(t, files, 10)
}

// TestDependenciesAreFew names every module that a program of ours links. A new
// one needs a reason in DEVELOPERS.md and a row here.
func TestDependenciesAreFew(t *testing.T) {
	allowed := []string{
		"github.com/maxence-charriere/go-app/v9", "github.com/google/uuid", // the page; uuid through it
		"golang.org/x/text",                                     // through gozxing
		"github.com/andybalholm/brotli",                         // small forms of the files
		"rsc.io/qr",                                             // addresses and units as QR codes
		"github.com/makiuchi-d/gozxing", "golang.org/x/xerrors", // reads them from pictures; xerrors through it
	}
	for _, target := range []struct{ goos, goarch, program string }{
		{"js", "wasm", "./cmd/page"}, {"linux", "amd64", "./cmd/pitwise"},
	} {
		for _, p := range list(t, target.goos, target.goarch, "-deps", target.program) {
			if p.Standard || strings.HasPrefix(p.ImportPath, "pitwise/") {
				continue
			}
			ok := slices.ContainsFunc(allowed, func(m string) bool { return matches(m+"/...", p.ImportPath) })
			assert.True(t, ok, "%s links %s", path.Base(target.program), p.ImportPath)
		}
	}
}
