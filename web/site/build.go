package site

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"pitwise/web"
)

var (
	// ErrNoTree says that the source of Pitwise is not here.
	ErrNoTree = errors.New("site: the source of pitwise is not here")
	// ErrNoGo says that there is no Go to build with.
	ErrNoGo = errors.New("site: the go command is not installed")
)

// Tree is the source tree that the page's program is built from.
type Tree struct{ Root string }

// FindTree looks for the source in start and the folders above it.
func FindTree(start string) (Tree, error) {
	dir, err := filepath.Abs(start)
	if err != nil {
		return Tree{}, fmt.Errorf("site: %w", err)
	}
	for {
		b, err := os.ReadFile(filepath.Join(dir, "go.mod"))
		if err == nil && bytes.HasPrefix(bytes.TrimSpace(b), []byte("module pitwise\n")) {
			return Tree{dir}, nil
		}
		up := filepath.Dir(dir)
		if up == dir {
			return Tree{}, fmt.Errorf("%w: no go.mod of module pitwise in %s or above", ErrNoTree, start)
		}
		dir = up
	}
}

// sources is what the page is made of, relative to the root.
var sources = []string{"go.mod", "go.sum", "engine", "app", "web", "cmd/page", "cmd/words"}

// Key is a digest of the source, the Go release and the web files linked into
// this program: while it is the same, a page built before is still right.
func (t Tree) Key(ctx context.Context) (string, error) {
	release, err := t.goCommand(ctx, "env", "GOVERSION")
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	fmt.Fprintf(sum, "%s\n", bytes.TrimSpace(release))
	tree := os.DirFS(t.Root)
	for _, part := range sources {
		if err := digest(sum, tree, part); err != nil {
			return "", err
		}
	}
	if err := digest(sum, web.Files, "."); err != nil {
		return "", err
	}
	return hex.EncodeToString(sum.Sum(nil))[:16], nil
}

func digest(sum interface{ Write([]byte) (int, error) }, fsys fs.FS, part string) error {
	err := fs.WalkDir(fsys, part, func(name string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) && name == part {
			return nil
		}
		if err != nil || !d.Type().IsRegular() || strings.HasSuffix(name, "_test.go") {
			return err
		}
		body, err := fs.ReadFile(fsys, name)
		fmt.Fprintf(sum, "%q %d\n", name, len(body))
		sum.Write(body)
		return err
	})
	if err != nil {
		return fmt.Errorf("site: %w", err)
	}
	return nil
}

// Page is the package of the page's program, relative to the root.
const Page = "./cmd/page"

// Flags are those of the go command under which only what computes is compiled with its
// calls inlined: what draws and reads would be a fifteenth longer with them, and not faster
// to a person.
func Flags() []string {
	flags := []string{"-trimpath", "-gcflags=all=-l"}
	for _, fast := range []string{
		"pitwise/engine/belief", "pitwise/engine/model", "pitwise/engine/plan", "pitwise/engine/trail",
		"cmp", "internal/...", "math/...", "runtime/...", "slices", "sort", "sync/...",
	} {
		flags = append(flags, "-gcflags="+fast+"=")
	}
	return flags
}

// flagsOf are those of one program: the page's own has other languages than English apart.
func flagsOf(pkg string) []string {
	if pkg == Page {
		return append(Flags(), "-tags=apart")
	}
	return Flags()
}

// Compile builds a program for the browser, Page or another one that draws in
// its place. The same source and Go release give the same bytes, wherever the
// tree lies.
func (t Tree) Compile(ctx context.Context, pkg string) (program, runtime []byte, err error) {
	root, err := t.goCommand(ctx, "env", "GOROOT")
	if err != nil {
		return nil, nil, err
	}
	runtime, err = os.ReadFile(filepath.Join(string(bytes.TrimSpace(root)), "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return nil, nil, fmt.Errorf("site: this Go comes without lib/wasm: %w", err)
	}
	dir, err := os.MkdirTemp("", "pitwise-page-*")
	if err != nil {
		return nil, nil, fmt.Errorf("site: %w", err)
	}
	defer os.RemoveAll(dir)
	lean, err := t.lean(ctx, dir)
	if err != nil {
		return nil, nil, err
	}
	out := filepath.Join(dir, "page.wasm")
	flags := append(append([]string{"build"}, lean...), flagsOf(pkg)...)
	_, err = t.goCommand(ctx, append(flags, "-buildvcs=false", "-ldflags=-s -w -buildid=", "-o", out, pkg)...)
	if err != nil {
		return nil, nil, err
	}
	program, err = os.ReadFile(out)
	if err != nil {
		return nil, nil, fmt.Errorf("site: %w", err)
	}
	return program, runtime, nil
}

// Build compiles a program and assembles the site around it.
func (t Tree) Build(ctx context.Context, pkg, prefix string, quality int) (*Site, error) {
	if prefix != "" {
		if err := CheckPrefix(prefix); err != nil {
			return nil, err
		}
	}
	program, runtime, err := t.Compile(ctx, pkg)
	if err != nil {
		return nil, err
	}
	words, err := t.words(ctx)
	if err != nil {
		return nil, err
	}
	return Assemble(Parts{Program: program, Exec: runtime, Words: words, Prefix: prefix, Quality: quality})
}

// words has the files of the languages written that the page's program has not in it, by name.
func (t Tree) words(ctx context.Context) (map[string][]byte, error) {
	dir, err := os.MkdirTemp("", "pitwise-words-*")
	if err != nil {
		return nil, fmt.Errorf("site: %w", err)
	}
	defer os.RemoveAll(dir)
	if _, err := t.goCommand(ctx, "run", "./cmd/words", dir); err != nil {
		return nil, err
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("site: %w", err)
	}
	files := map[string][]byte{}
	for _, e := range entries {
		if files[e.Name()], err = os.ReadFile(filepath.Join(dir, e.Name())); err != nil {
			return nil, fmt.Errorf("site: %w", err)
		}
	}
	return files, nil
}

// Ready returns a folder with the page built for this source. If it is not there yet, before is called once and it is built.
func (t Tree) Ready(ctx context.Context, before func()) (string, error) {
	key, err := t.Key(ctx)
	if err != nil {
		return "", err
	}
	home, err := t.home()
	if err != nil {
		return "", err
	}
	dir := filepath.Join(home, key)
	if built(dir) {
		return dir, nil
	}
	if before != nil {
		before()
	}
	s, err := t.Build(ctx, Page, "/", 5)
	if err != nil {
		return "", err
	}
	if err := s.Write(dir, true); err != nil {
		// Another program may have built the same page meanwhile.
		if built(dir) {
			return dir, nil
		}
		return "", err
	}
	forget(home, key)
	return dir, nil
}

// home is where built pages lie: in the tree, or with the person's caches if the
// tree cannot be written to.
func (t Tree) home() (string, error) {
	home := filepath.Join(t.Root, "build", "page")
	if os.MkdirAll(home, 0o755) == nil {
		return home, nil
	}
	cache, err := os.UserCacheDir()
	if err != nil {
		return "", fmt.Errorf("site: %w", err)
	}
	return filepath.Join(cache, "pitwise", "page"), nil
}

// forget removes pages built for older source, but for the newest of them.
func forget(home, key string) {
	entries, err := os.ReadDir(home)
	if err != nil {
		return
	}
	var older []fs.FileInfo
	for _, e := range entries {
		if info, err := e.Info(); err == nil && e.Name() != key && built(filepath.Join(home, e.Name())) {
			older = append(older, info)
		}
	}
	slices.SortFunc(older, func(a, b fs.FileInfo) int { return b.ModTime().Compare(a.ModTime()) })
	for _, info := range older[min(1, len(older)):] {
		os.RemoveAll(filepath.Join(home, info.Name()))
	}
}

func (t Tree) goCommand(ctx context.Context, args ...string) ([]byte, error) {
	cmd := exec.CommandContext(ctx, "go", args...)
	cmd.Dir = t.Root
	cmd.Env = os.Environ()
	if args[0] == "build" {
		cmd.Env = append(cmd.Env, "GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0")
	}
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.Output()
	switch {
	case errors.Is(err, exec.ErrNotFound):
		return nil, ErrNoGo
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err != nil:
		return nil, fmt.Errorf("site: go %s: %w\n%s", args[0], err, bytes.TrimSpace(said.Bytes()))
	}
	return out, nil
}
