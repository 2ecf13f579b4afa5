package main

import (
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestNoProductIsAddedUnrounded finds a sum or difference of floats with a
// product as an operand, which compilers for some targets fuse into one
// operation with other last bits. The product has to stand in float64(…).
//
// Source: The Go Programming Language Specification, "Floating-point operators".
func TestNoProductIsAddedUnrounded(t *testing.T) {
	fset := token.NewFileSet()
	from := importer.ForCompiler(fset, "source", nil)
	packages := 0
	for _, p := range list(t, "linux", "amd64", "./engine/...") {
		if strings.Contains(p.ImportPath, "/internal/") {
			continue // what the tests alone use decides nothing
		}
		var files []*ast.File
		for _, name := range p.GoFiles {
			file, err := parser.ParseFile(fset, filepath.Join(p.Dir, name), nil, 0)
			require.NoError(t, err)
			files = append(files, file)
		}
		info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}}
		_, err := (&types.Config{Importer: from}).Check(p.ImportPath, fset, files, info)
		require.NoError(t, err)
		packages++
		for _, at := range unrounded(files, info) {
			t.Errorf("%s: a product is added unrounded", fset.Position(at))
		}
	}
	require.Greater(t, packages, 5)
}

// unrounded returns where a product of floats is an operand of a sum.
func unrounded(files []*ast.File, info *types.Info) []token.Pos {
	var found []token.Pos
	product := func(e ast.Expr) {
		for {
			switch x := e.(type) {
			case *ast.ParenExpr:
				e = x.X
				continue
			case *ast.UnaryExpr:
				e = x.X
				continue
			case *ast.BinaryExpr:
				tv := info.Types[x]
				basic, ok := tv.Type.Underlying().(*types.Basic)
				if x.Op == token.MUL && tv.Value == nil && ok && basic.Info()&types.IsFloat != 0 {
					found = append(found, x.Pos())
				}
			}
			return
		}
	}
	for _, file := range files {
		ast.Inspect(file, func(n ast.Node) bool {
			switch x := n.(type) {
			case *ast.BinaryExpr:
				if x.Op == token.ADD || x.Op == token.SUB {
					product(x.X)
					product(x.Y)
				}
			case *ast.AssignStmt:
				if x.Tok == token.ADD_ASSIGN || x.Tok == token.SUB_ASSIGN {
					product(x.Rhs[0])
				}
			}
			return true
		})
	}
	return found
}

func TestUnroundedProductsAreFound(t *testing.T) {
	const text = `package p
func f(a, b, c float64, i, j int) float64 {
	c += a * b             // found
	c -= (a * b)           // found
	c = c + a*b            // found
	c = -(a * b) + c       // found
	c += float64(a * b)    // rounded
	c += a * b / 2         // a quotient
	c += float64(i + i*j)  // whole numbers
	c += 2 * 3             // a constant
	return c - float64(a*b)
}`
	fset := token.NewFileSet()
	file, err := parser.ParseFile(fset, "p.go", text, 0)
	require.NoError(t, err)
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}}
	_, err = (&types.Config{}).Check("p", fset, []*ast.File{file}, info)
	require.NoError(t, err)
	var lines []int
	for _, at := range unrounded([]*ast.File{file}, info) {
		lines = append(lines, fset.Position(at).Line)
	}
	assert.Equal(t, []int{3, 4, 5, 6}, lines)
}
