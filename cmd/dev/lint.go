package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pitwise/web/site"
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

// asThePage is the environment in which the go command compiles for the browser as it does the page's program, so that what both need is
// compiled once.
var asThePage = []string{"GOOS=js", "GOARCH=wasm", "GOFLAGS=" + strings.Join(append(site.Flags(), strings.Fields(os.Getenv("GOFLAGS"))...), " ")}

// builds together make every file of the tree.
var builds = []build{
	{nil, []string{"browser"}, []string{"./..."}},
	{nil, []string{"deep"}, []string{"./engine/..."}},
	{asThePage, nil, []string{"./engine/...", "./app/...", "./cmd/page", "./cmd/dev/tabs", "./cmd/dev/stories", "./cmd/dev/stories/page"}},
}

func (t build) flags() []string { return []string{"-tags", strings.Join(t.tags, ",")} }

// lint runs staticcheck and looks for functions that no program and no test reaches.
func (r *runner) lint() error {
	check, err := r.tool(staticcheck)
	if err != nil {
		return err
	}
	once, several, err := r.built()
	if err != nil {
		return err
	}
	var errs []error
	for i, b := range builds {
		if len(once[i]) > 0 {
			errs = append(errs, r.do(b.env, check, slices.Concat(b.flags(), once[i])...))
		}
	}
	for _, s := range several {
		errs = append(errs, r.feed(matrix(s.builds), nil, check, append([]string{"-matrix"}, s.packages...)...))
	}
	return errors.Join(append(errs, r.dead())...)
}

// matrix tells staticcheck of several ways to build the same: what is of use in one of them is of use.
func matrix(ways []int) string {
	var text strings.Builder
	for _, i := range ways {
		said := strings.Join(append(slices.Clone(builds[i].env), "-tags="+strings.Join(builds[i].tags, ",")), " ")
		fmt.Fprintf(&text, "build%d: %s\n", i, strings.Replace(said, "GOFLAGS=", "", 1)) // here flags stand by themselves
	}
	return text.String()
}

// shared are packages of which each of some builds has files that none before it has.
type shared struct {
	builds   []int
	packages []string
}

// built tells by which builds each package is to be read: by the first that has it, and by each that has a file of it which
// none before has. Whatever else a build would read again says the same. once has, by build, the packages that one reads.
func (r *runner) built() (once [][]string, several []shared, err error) {
	var all []map[string][]string
	for _, b := range builds {
		files, err := r.filesOf(b)
		if err != nil {
			return nil, nil, err
		}
		all = append(all, files)
	}
	once, several = readBy(all)
	return once, several, nil
}

// reads lists by build what is read by it, alone or beside others.
func (r *runner) reads() ([][]string, error) {
	all, several, err := r.built()
	if err != nil {
		return nil, err
	}
	for _, s := range several {
		for _, i := range s.builds {
			all[i] = append(all[i], s.packages...)
		}
	}
	return all, nil
}

// readBy is built for builds whose packages have these files.
func readBy(all []map[string][]string) (once [][]string, several []shared) {
	once = make([][]string, len(all))
	seen, ways := map[string]bool{}, map[string][]int{}
	for i, packages := range all {
		for name, files := range packages {
			for _, file := range files {
				if seen[file] {
					continue
				}
				seen[file] = true
				if !slices.Contains(ways[name], i) {
					ways[name] = append(ways[name], i)
				}
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(ways)) {
		by := ways[name]
		if len(by) == 1 {
			once[by[0]] = append(once[by[0]], name)
			continue
		}
		at := slices.IndexFunc(several, func(s shared) bool { return slices.Equal(s.builds, by) })
		if at < 0 {
			at, several = len(several), append(several, shared{builds: by})
		}
		several[at].packages = append(several[at].packages, name)
	}
	return once, several
}

// filesOf lists the files of each package of a build, those of its tests too.
func (r *runner) filesOf(b build) (map[string][]string, error) {
	const format = `{{$p := .ImportPath}}{{$d := .Dir}}{{range .GoFiles}}{{$p}} {{$d}}/{{.}}{{"\n"}}{{end}}{{range .TestGoFiles}}{{$p}} {{$d}}/{{.}}{{"\n"}}{{end}}{{range .XTestGoFiles}}{{$p}} {{$d}}/{{.}}{{"\n"}}{{end}}`
	text, err := r.run(b.env, "go", slices.Concat([]string{"list", "-f", format}, b.flags(), b.packages)...)
	if err != nil {
		return nil, err
	}
	files := map[string][]string{}
	for line := range strings.Lines(text) {
		name, file, _ := strings.Cut(strings.TrimSpace(line), " ")
		files[name] = append(files[name], file)
	}
	return files, nil
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

// dead reports functions that nothing reaches on any target that builds them. A build after the first starts
// from the packages that are read by it: from others it comes no farther than one before it.
func (r *runner) dead() error {
	find, err := r.tool(deadcode)
	if err != nil {
		return err
	}
	all, err := r.reads()
	if err != nil {
		return err
	}
	var looks []look
	for i, t := range builds {
		if len(all[i]) == 0 {
			continue
		}
		const format = `{{if .Module}}{{if .Module.Main}}{{$d := .Dir}}{{range .GoFiles}}{{$d}}/{{.}}{{"\n"}}{{end}}{{end}}{{end}}`
		files, err := r.run(t.env, "go", slices.Concat([]string{"list", "-deps", "-test", "-f", format}, t.flags(), all[i])...)
		if err != nil {
			return err
		}
		l := look{files: strings.Fields(files)}
		found, err := r.run(t.env, find, slices.Concat([]string{"-test", "-json"}, t.flags(), all[i])...)
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
