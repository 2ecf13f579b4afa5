package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/printer"
	"go/token"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

// A mutant is one small change of one file that a test ought to notice.
type mutant struct {
	file  string
	place token.Position
	what  string
	apply func() // to the syntax tree
	back  func()
}

// swaps are the operators that take each other's place.
var swaps = map[token.Token]token.Token{
	token.ADD: token.SUB, token.SUB: token.ADD, token.MUL: token.QUO, token.QUO: token.MUL,
	token.LSS: token.LEQ, token.LEQ: token.LSS, token.GTR: token.GEQ, token.GEQ: token.GTR,
	token.EQL: token.NEQ, token.NEQ: token.EQL, token.LAND: token.LOR, token.LOR: token.LAND,
	token.ADD_ASSIGN: token.SUB_ASSIGN, token.SUB_ASSIGN: token.ADD_ASSIGN, token.INC: token.DEC, token.DEC: token.INC,
}

// mutate changes a package in one small way at a time, runs its tests on each, and lists the
// changes that no test noticed: an operator for its counterpart, a whole number one larger, a
// condition turned round, a statement left out. What does not compile counts for nothing.
func mutate(ctx context.Context, root string, args []string) error {
	flags := flag.NewFlagSet("mutate", flag.ContinueOnError)
	n := flags.Int("n", 60, "how many changes are tried, drawn from all there are; 0 for all")
	seed := flags.Uint64("seed", 1, "of the draw")
	by := flags.String("by", "", "the packages whose tests are run, with commas between; without it the package's own")
	wait := flags.Duration("timeout", 2*time.Minute, "a run that takes longer has noticed: the change does not end")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if flags.NArg() != 1 {
		return errors.New("usage: dev mutate [-n N] [-seed N] [-by ./PACKAGE,…] ./PACKAGE")
	}
	pkg := flags.Arg(0)
	judges := []string{pkg}
	if *by != "" {
		judges = strings.Split(*by, ",")
	}
	dir := filepath.Join(root, pkg)
	set := token.NewFileSet()
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		return err
	}
	trees := map[string]*ast.File{}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(set, name, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		if !constrained(f) {
			trees[name] = f
		}
	}
	var all []mutant
	for _, name := range slices.Sorted(mapKeys(trees)) {
		all = append(all, mutantsOf(set, name, trees[name])...)
	}
	rng := rand.New(rand.NewPCG(*seed, 1))
	rng.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	if *n > 0 && *n < len(all) {
		all = all[:*n]
	}
	scratch, err := os.MkdirTemp("", "pitwise-mutate-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	tried, noticed := 0, 0
	for _, m := range all {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		var text bytes.Buffer
		m.apply()
		err := printer.Fprint(&text, set, trees[m.file])
		m.back()
		if err != nil {
			return err
		}
		built, seen := false, false
		for _, judge := range judges {
			if built, seen, err = survives(ctx, root, judge, scratch, m.file, text.Bytes(), *wait); err != nil {
				return err
			}
			if !built || seen {
				break
			}
		}
		if !built {
			continue
		}
		tried++
		if seen {
			noticed++
			continue
		}
		where, _ := filepath.Rel(root, m.place.Filename)
		fmt.Printf("%s:%d:%d: nobody noticed: %s\n", where, m.place.Line, m.place.Column, m.what)
	}
	fmt.Printf("%s: %d of %d changes noticed\n", pkg, noticed, tried)
	return nil
}

// constrained reports whether a file is built on some targets only.
func constrained(f *ast.File) bool {
	for _, g := range f.Comments {
		for _, c := range g.List {
			if strings.HasPrefix(c.Text, "//go:build") {
				return true
			}
		}
	}
	return false
}

func mapKeys(m map[string]*ast.File) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// survives runs the package's tests with one file in another form.
func survives(ctx context.Context, root, pkg, scratch, file string, text []byte, wait time.Duration) (built, noticed bool, err error) {
	changed := filepath.Join(scratch, "changed.go")
	if err := os.WriteFile(changed, text, 0o644); err != nil {
		return false, false, err
	}
	overlay, err := json.Marshal(map[string]any{"Replace": map[string]string{file: changed}})
	if err != nil {
		return false, false, err
	}
	list := filepath.Join(scratch, "overlay.json")
	if err := os.WriteFile(list, overlay, 0o644); err != nil {
		return false, false, err
	}
	test := filepath.Join(scratch, "mutant.test")
	build := exec.CommandContext(ctx, "go", "test", "-c", "-vet=off", "-overlay", list, "-o", test, pkg)
	build.Dir = root
	if build.Run() != nil {
		return false, false, ctx.Err()
	}
	limited, stop := context.WithTimeout(ctx, wait)
	defer stop()
	run := exec.CommandContext(limited, test, "-test.short", "-test.failfast")
	run.Dir = filepath.Join(root, pkg)
	return true, run.Run() != nil, ctx.Err()
}

// mutantsOf lists the changes of one file.
func mutantsOf(set *token.FileSet, name string, f *ast.File) []mutant {
	var all []mutant
	add := func(at token.Pos, what string, apply, back func()) {
		all = append(all, mutant{name, set.Position(at), what, apply, back})
	}
	swap := func(at token.Pos, op *token.Token) {
		if to, ok := swaps[*op]; ok {
			from := *op
			add(at, fmt.Sprintf("%s became %s", from, to), func() { *op = to }, func() { *op = from })
		}
	}
	ast.Inspect(f, func(node ast.Node) bool {
		switch n := node.(type) {
		case *ast.BinaryExpr:
			swap(n.OpPos, &n.Op)
		case *ast.AssignStmt:
			swap(n.TokPos, &n.Tok)
		case *ast.IncDecStmt:
			swap(n.TokPos, &n.Tok)
		case *ast.BasicLit:
			if n.Kind == token.INT {
				if x, err := strconv.Atoi(n.Value); err == nil {
					from, to := n.Value, strconv.Itoa(x+1)
					add(n.Pos(), from+" became "+to, func() { n.Value = to }, func() { n.Value = from })
				}
			}
		case *ast.IfStmt:
			from := n.Cond
			turned := &ast.UnaryExpr{Op: token.NOT, X: &ast.ParenExpr{X: from}}
			add(n.If, "a condition was turned round", func() { n.Cond = turned }, func() { n.Cond = from })
		case *ast.BlockStmt:
			for i, s := range n.List {
				switch s.(type) {
				case *ast.ExprStmt, *ast.IncDecStmt:
					add(s.Pos(), "a statement was left out", func() { n.List[i] = &ast.EmptyStmt{Semicolon: s.Pos()} }, func() { n.List[i] = s })
				}
			}
		}
		return true
	})
	return all
}
