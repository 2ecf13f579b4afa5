package site

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/format"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// The page's program uses go-app's components and runtime. Two files of that package also
// hold its server, for which alone net/http, TLS and certificates would be linked and set up
// at each start: a seventh of the program. So the program is compiled against a copy of
// the very release that go.mod names, in which these files have lost what serves, and others
// what the page never asks for: any route but one, and secrets of the device.

const goApp = "github.com/maxence-charriere/go-app/v9"

// serving are the files of go-app that serve, and what they import for that alone.
var (
	serving     = []string{"http.go", "resource.go"}
	servingWith = []string{"net/http", "text/template"}
)

// A standIn takes the place of a package that files of go-app import.
type standIn struct {
	of     string   // the package's path
	files  []string // that import it
	name   string   // of the stand-in, in pkg
	source string
}

// The page has one route, for all addresses, and tells nothing to other windows through go-app, of which each
// would have to know its own messages.
var standIns = []standIn{
	{"regexp", []string{"route.go"}, "everything", `// Package everything has of package regexp the pattern that matches every text.
package everything

type Regexp struct{}

func MustCompile(pattern string) *Regexp {
	if pattern != ".*" {
		panic(pattern + ": the page's program has no such pattern")
	}
	return &Regexp{}
}

func (*Regexp) MatchString(string) bool { return true }
`},
	{"github.com/google/uuid", []string{"context.go", "state.go"}, "nobody", `// Package nobody has of package uuid one id for all.
package nobody

func NewString() string { return "nobody" }
`},
}

// secrets is the file of go-app that encrypts what a page stores, of which ours stores nothing that way.
const (
	secrets       = "crypto.go"
	secretsSource = `package app

const noSecrets = "the page's program has no secrets"

func encrypt(string, []byte) ([]byte, error) { panic(noSecrets) }

func decrypt(string, []byte) ([]byte, error) { panic(noSecrets) }
`
)

// ErrGoApp says that the release of go-app is not as this package knows it.
var ErrGoApp = errors.New("site: go-app is not as it was")

// lean makes the copy in dir, and returns the flags of the go command that use it.
func (t Tree) lean(ctx context.Context, dir string) ([]string, error) {
	mod, err := os.ReadFile(filepath.Join(t.Root, "go.mod"))
	if err != nil {
		return nil, fmt.Errorf("site: %w", err)
	}
	if !bytes.Contains(mod, []byte(goApp)) {
		return nil, nil // a program without it has nothing to lose
	}
	told, err := t.goCommand(ctx, "mod", "download", "-json", goApp)
	if err != nil {
		return nil, err
	}
	var module struct{ Dir string }
	if err := json.Unmarshal(told, &module); err != nil {
		return nil, fmt.Errorf("site: %w", err)
	}
	// Its place stands in the program, so it is one that is the same in every tree.
	place := "./" + path.Join("build", "go-app", path.Base(module.Dir))
	own, err := leanFolder(t.Root)
	kept := err == nil
	if !kept {
		own = filepath.Join(dir, "go-app") // a tree that cannot be written to
		place = own
	} else {
		defer os.RemoveAll(own)
	}
	from := os.DirFS(module.Dir)
	for _, part := range []string{"go.mod", "pkg/app", "pkg/errors"} {
		err := fs.WalkDir(from, part, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || strings.HasSuffix(name, "_test.go") {
				return err
			}
			body, err := fs.ReadFile(from, name)
			if err != nil {
				return err
			}
			if path.Dir(name) == "pkg/app" {
				if body, err = leaner(path.Base(name), body); err != nil {
					return err
				}
			}
			return put(own, name, body)
		})
		if err != nil {
			return nil, fmt.Errorf("site: %w", err)
		}
	}
	for _, s := range standIns {
		if err := put(own, "pkg/"+s.name+"/"+s.name+".go", []byte(s.source)); err != nil {
			return nil, fmt.Errorf("site: %w", err)
		}
	}
	if kept {
		if err := settle(own, filepath.Join(t.Root, filepath.FromSlash(place))); err != nil {
			return nil, fmt.Errorf("site: %w", err)
		}
	}
	sum, err := os.ReadFile(filepath.Join(t.Root, "go.sum"))
	if err != nil {
		return nil, fmt.Errorf("site: %w", err)
	}
	mod = fmt.Appendf(mod, "\nreplace %s => %s\n", goApp, strconv.Quote(place))
	name := filepath.Join(dir, "go.mod")
	if err := errors.Join(os.WriteFile(name, mod, 0o644), os.WriteFile(filepath.Join(dir, "go.sum"), sum, 0o644)); err != nil {
		return nil, fmt.Errorf("site: %w", err)
	}
	return []string{"-modfile=" + name}, nil
}

// put writes a file of the copy.
func put(own, name string, body []byte) error {
	to := filepath.Join(own, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	return os.WriteFile(to, body, 0o644)
}

// leanFolder makes a folder in the tree's own place for what is built.
func leanFolder(root string) (string, error) {
	home := filepath.Join(root, "build", "go-app")
	if err := os.MkdirAll(home, 0o755); err != nil {
		return "", err
	}
	return os.MkdirTemp(home, ".new-*")
}

// settle moves a folder to its place, unless the same is there already.
func settle(from, to string) error {
	if same(from, to) {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	if err := os.RemoveAll(to); err != nil {
		return err
	}
	if err := os.Rename(from, to); err != nil && !same(from, to) { // another may have come first
		return err
	}
	return nil
}

// same reports whether every file of one folder is in the other, to the byte.
func same(from, to string) bool {
	return fs.WalkDir(os.DirFS(from), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		a, err := os.ReadFile(filepath.Join(from, name))
		if err != nil {
			return err
		}
		b, err := os.ReadFile(filepath.Join(to, name))
		if err == nil && !bytes.Equal(a, b) {
			err = fs.ErrNotExist
		}
		return err
	}) == nil
}

// leaner returns a file of go-app as the copy has it.
func leaner(name string, source []byte) ([]byte, error) {
	if slices.Contains(serving, name) {
		return withoutServer(name, source)
	}
	if name == secrets {
		return []byte(secretsSource), nil
	}
	for _, s := range standIns {
		if slices.Contains(s.files, name) {
			return s.in(name, source)
		}
	}
	return source, nil
}

// in returns a file of go-app that has the stand-in for the package.
func (s standIn) in(name string, source []byte) ([]byte, error) {
	line := fmt.Appendf(nil, "\t%q\n", s.of)
	if bytes.Count(source, line) != 1 {
		return nil, fmt.Errorf("%w: %s does not import %s", ErrGoApp, name, s.of)
	}
	return bytes.Replace(source, line, fmt.Appendf(nil, "\t%s %q\n", path.Base(s.of), goApp+"/pkg/"+s.name), 1), nil
}

// withoutServer returns a file of go-app without its Handler's methods, without whatever
// uses what a server imports, and without whatever uses that.
func withoutServer(name string, source []byte) ([]byte, error) {
	fset := token.NewFileSet()
	file, err := parser.ParseFile(fset, name, source, parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	gone := map[string]bool{}
	for _, i := range file.Imports {
		if p, _ := strconv.Unquote(i.Path.Value); slices.Contains(servingWith, p) {
			gone[path.Base(p)] = true
		}
	}
	if len(gone) == 0 {
		return nil, fmt.Errorf("%w: %s imports nothing that serves", ErrGoApp, name)
	}
	uses := func(n ast.Node) (found bool) {
		ast.Inspect(n, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.SelectorExpr:
				// The name behind the dot is another's.
				ast.Inspect(n.X, func(x ast.Node) bool {
					id, ok := x.(*ast.Ident)
					found = found || ok && gone[id.Name]
					return !found
				})
				return false
			case *ast.Ident:
				found = found || gone[n.Name]
			}
			return !found
		})
		return found
	}
	for before := -1; before != len(file.Decls); {
		before = len(file.Decls)
		file.Decls = slices.DeleteFunc(file.Decls, func(d ast.Decl) bool {
			switch d := d.(type) {
			case *ast.FuncDecl:
				if d.Recv != nil {
					return receives(d, "Handler") || uses(d)
				}
				if uses(d) {
					gone[d.Name.Name] = true
					return true
				}
			case *ast.GenDecl:
				if t, ok := d.Specs[0].(*ast.TypeSpec); ok && uses(t.Type) {
					gone[t.Name.Name] = true
					return true
				}
			}
			return false
		})
	}
	dropUnused(file)
	var b bytes.Buffer
	if err := format.Node(&b, fset, file); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// receives reports whether a method is one of the type.
func receives(d *ast.FuncDecl, name string) bool {
	t := d.Recv.List[0].Type
	if star, ok := t.(*ast.StarExpr); ok {
		t = star.X
	}
	id, ok := t.(*ast.Ident)
	return ok && id.Name == name
}

// dropUnused drops the imports that nothing in the file names.
func dropUnused(file *ast.File) {
	used := map[string]bool{}
	ast.Inspect(file, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok {
			if id, ok := s.X.(*ast.Ident); ok {
				used[id.Name] = true
			}
		}
		return true
	})
	file.Decls = slices.DeleteFunc(file.Decls, func(d ast.Decl) bool {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.IMPORT {
			return false
		}
		g.Specs = slices.DeleteFunc(g.Specs, func(s ast.Spec) bool {
			p, _ := strconv.Unquote(s.(*ast.ImportSpec).Path.Value)
			return !used[path.Base(p)]
		})
		return len(g.Specs) == 0
	})
}
