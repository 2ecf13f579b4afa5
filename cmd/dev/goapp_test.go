package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// viewFiles parses the components, as they are built for the browser.
func viewFiles(t *testing.T) (*token.FileSet, []*ast.File) {
	t.Helper()
	fset := token.NewFileSet()
	var files []*ast.File
	for _, p := range list(t, "js", "wasm", "./app/view") {
		for _, name := range p.GoFiles {
			file, err := parser.ParseFile(fset, filepath.Join(p.Dir, name), nil, 0)
			require.NoError(t, err)
			files = append(files, file)
		}
	}
	require.NotEmpty(t, files)
	return fset, files
}

// unscoped returns the handlers that are given without a scope. go-app takes two
// handlers from one place in the code for the same, so that a button that is
// used again would keep its old meaning; the scope tells them apart.
func unscoped(file *ast.File) (bare []*ast.CallExpr, all int) {
	ast.Inspect(file, func(n ast.Node) bool {
		call, ok := n.(*ast.CallExpr)
		if !ok {
			return true
		}
		s, ok := call.Fun.(*ast.SelectorExpr)
		if !ok || len(s.Sel.Name) < 3 || !strings.HasPrefix(s.Sel.Name, "On") || s.Sel.Name[2] < 'A' || s.Sel.Name[2] > 'Z' {
			return true
		}
		// f.OnClick(tap(m)) passes both of what tap returns.
		if _, both := firstArg(call).(*ast.CallExpr); both && len(call.Args) == 1 {
			all++
			return true
		}
		all++
		if len(call.Args) < 2 {
			bare = append(bare, call)
		}
		return true
	})
	return bare, all
}

func firstArg(call *ast.CallExpr) ast.Expr {
	if len(call.Args) == 0 {
		return nil
	}
	return call.Args[0]
}

func TestEveryHandlerHasAScope(t *testing.T) {
	fset, files := viewFiles(t)
	handlers := 0
	for _, file := range files {
		bare, all := unscoped(file)
		handlers += all
		for _, call := range bare {
			t.Errorf("%s: a handler without a scope", fset.Position(call.Pos()))
		}
	}
	assert.Greater(t, handlers, 5, "the search finds handlers")
}

// components returns the names of the types that have a life of their own in go-app.
func components(file *ast.File) (names []string) {
	ast.Inspect(file, func(n ast.Node) bool {
		if spec, ok := n.(*ast.TypeSpec); ok {
			if s, ok := spec.Type.(*ast.StructType); ok && embedsCompo(s) {
				names = append(names, spec.Name.Name)
			}
		}
		return true
	})
	return names
}

func embedsCompo(s *ast.StructType) bool {
	for _, f := range s.Fields.List {
		if x, ok := f.Type.(*ast.SelectorExpr); ok && len(f.Names) == 0 && x.Sel.Name == "Compo" {
			return true
		}
	}
	return false
}

// TestThePageIsTheOneComponent: everything else are functions of what they draw, so that
// nothing is compared, copied or drawn from anywhere but its arguments.
func TestThePageIsTheOneComponent(t *testing.T) {
	_, files := viewFiles(t)
	var all []string
	for _, file := range files {
		all = append(all, components(file)...)
	}
	assert.Equal(t, []string{"Page"}, all)
}

func TestTrapsAreFound(t *testing.T) {
	const text = `package p
type C struct {
	app.Compo
	Good int
	Bad  func()
	Also *int
	own  func()
}
type plain struct { F func() }
func f() {
	b.OnClick(h)
	b.OnClick(h, "scope")
	b.OnClick(tap(m))
}`
	file, err := parser.ParseFile(token.NewFileSet(), "p.go", text, 0)
	require.NoError(t, err)
	bare, all := unscoped(file)
	assert.Len(t, bare, 1)
	assert.Equal(t, 3, all)
	assert.Equal(t, []string{"C"}, components(file))
}
