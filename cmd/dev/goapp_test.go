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

// badProps returns the exported fields of components that are functions,
// pointers, channels, maps or interfaces: go-app compares props deeply and
// copies them, so such a field is compared wrongly or shared.
func badProps(file *ast.File) (bad []*ast.Field, components int) {
	ast.Inspect(file, func(n ast.Node) bool {
		spec, ok := n.(*ast.TypeSpec)
		if !ok {
			return true
		}
		s, ok := spec.Type.(*ast.StructType)
		if !ok || !embedsCompo(s) {
			return true
		}
		components++
		for _, f := range s.Fields.List {
			for _, name := range f.Names {
				if !name.IsExported() {
					continue
				}
				switch f.Type.(type) {
				case *ast.FuncType, *ast.StarExpr, *ast.ChanType, *ast.MapType, *ast.InterfaceType:
					bad = append(bad, f)
				}
			}
		}
		return true
	})
	return bad, components
}

func embedsCompo(s *ast.StructType) bool {
	for _, f := range s.Fields.List {
		if x, ok := f.Type.(*ast.SelectorExpr); ok && len(f.Names) == 0 && x.Sel.Name == "Compo" {
			return true
		}
	}
	return false
}

func TestPropsAreComparable(t *testing.T) {
	fset, files := viewFiles(t)
	components := 0
	for _, file := range files {
		bad, n := badProps(file)
		components += n
		for _, f := range bad {
			t.Errorf("%s: a prop that go-app cannot compare", fset.Position(f.Pos()))
		}
	}
	assert.Greater(t, components, 3, "the search finds components")
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
	bad, components := badProps(file)
	assert.Len(t, bad, 2)
	assert.Equal(t, 1, components)
}
