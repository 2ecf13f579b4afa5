package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// The analysers, each at the release that the tree is clean by.
const (
	staticcheck = "honnef.co/go/tools/cmd/staticcheck@v0.8.2"
	deadcode    = "golang.org/x/tools/cmd/deadcode@v0.52.0"
)

// build is one way to build the tree: what of it, and how.
type build struct {
	env, tags, packages []string
}

// builds together make every file of the tree.
var builds = []build{
	{nil, []string{"browser"}, []string{"./..."}},
	{nil, []string{"deep"}, []string{"./engine/..."}},
	{[]string{"GOOS=js", "GOARCH=wasm"}, nil, []string{"./engine/...", "./app/...", "./cmd/page", "./cmd/dev/tabs", "./cmd/dev/stories", "./cmd/dev/stories/page"}},
}

func (t build) flags() []string { return []string{"-tags", strings.Join(t.tags, ",")} }

// matrix tells staticcheck of the ways to build what is for every machine and for browsers:
// what is of use in one of them is of use.
const matrix = "native: -tags=browser\ndeep: -tags=deep\njs: GOOS=js GOARCH=wasm\n"

// lint runs staticcheck and looks for functions that no program and no test reaches.
func (r *runner) lint() error {
	check, err := r.tool(staticcheck)
	if err != nil {
		return err
	}
	return errors.Join(
		r.feed(matrix, nil, check, "-matrix", "./engine/...", "./app/..."),
		r.do(nil, check, "-tags", "browser", "./cmd/...", "./web/..."),
		r.do([]string{"GOOS=js", "GOARCH=wasm"}, check, "./cmd/page", "./cmd/dev/tabs", "./cmd/dev/stories/page"),
		r.dead(),
	)
}

// tool installs a program of a module, at its release, below build and returns its path.
// It is no dependency of the tree's own module.
func (r *runner) tool(program string) (string, error) {
	name, version, _ := strings.Cut(filepath.Base(program), "@")
	dir := filepath.Join(r.root, "build", "tools", version)
	path := filepath.Join(dir, name)
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	return path, r.do([]string{"GOBIN=" + dir}, "go", "install", program)
}

// dead reports functions that nothing reaches on any target that builds them.
func (r *runner) dead() error {
	find, err := r.tool(deadcode)
	if err != nil {
		return err
	}
	var looks []look
	for _, t := range builds {
		var l look
		files, err := r.run(t.env, "go", append(append([]string{"list", "-f", `{{$d := .Dir}}{{range .GoFiles}}{{$d}}/{{.}}{{"\n"}}{{end}}{{range .TestGoFiles}}{{$d}}/{{.}}{{"\n"}}{{end}}{{range .XTestGoFiles}}{{$d}}/{{.}}{{"\n"}}{{end}}`}, t.flags()...), t.packages...)...)
		if err != nil {
			return err
		}
		l.files = strings.Fields(files)
		found, err := r.run(t.env, find, append(append([]string{"-test", "-json"}, t.flags()...), t.packages...)...)
		if err != nil {
			return err
		}
		if l.dead, err = unreached(r.root, found); err != nil {
			return err
		}
		looks = append(looks, l)
	}
	if all := deadEverywhere(looks); len(all) > 0 {
		return fmt.Errorf("nothing reaches:\n%s", strings.Join(all, "\n"))
	}
	return nil
}

// look is what one target builds, and which functions of it nothing reaches there.
type look struct {
	files []string
	dead  []unused
}

// unused is a function that nothing reaches, and the file it stands in.
type unused struct{ file, place string }

// unreached reads what deadcode prints as JSON, whose files are relative to root.
func unreached(root, text string) ([]unused, error) {
	var packages []struct {
		Funcs []struct {
			Name     string
			Position struct {
				File string
				Line int
			}
			Generated bool
		}
	}
	if len(bytes.TrimSpace([]byte(text))) == 0 {
		return nil, nil
	}
	if err := json.Unmarshal([]byte(text), &packages); err != nil {
		return nil, fmt.Errorf("deadcode: %w", err)
	}
	var all []unused
	for _, p := range packages {
		for _, f := range p.Funcs {
			file := f.Position.File
			if !filepath.IsAbs(file) {
				file = filepath.Join(root, file)
			}
			all = append(all, unused{file, fmt.Sprintf("%s:%d: %s", f.Position.File, f.Position.Line, f.Name)})
		}
	}
	return all, nil
}

// deadEverywhere returns the places of functions that no target that builds them reaches.
func deadEverywhere(looks []look) []string {
	var all []string
	for i, l := range looks {
		for _, f := range l.dead {
			alive := slices.ContainsFunc(looks, func(o look) bool {
				return slices.Contains(o.files, f.file) && !slices.Contains(o.dead, f)
			})
			// Where a browser has one of the same name, that one tells.
			stub := strings.HasSuffix(f.file, "_native.go")
			told := slices.ContainsFunc(looks[:i], func(o look) bool { return slices.Contains(o.dead, f) })
			if !alive && !told && !stub {
				all = append(all, f.place)
			}
		}
	}
	return all
}
