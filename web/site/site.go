package site

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	text "text/template"

	"github.com/andybalholm/brotli"

	"pitwise/web"
)

// Folder that holds what never changes under one name.
const Frozen = "v/"

// ErrPrefix says that a prefix is not a path of the form /name/name/.
var ErrPrefix = errors.New("site: prefix must begin and end with a slash and hold only letters, digits, '-', '_', '.' and '~'")

// File is one file of the folder. Brotli and Gzip are nil where they would not
// make it smaller.
type File struct {
	Path         string // relative, with slashes
	Body         []byte
	Brotli, Gzip []byte
}

// Site is the whole page as files, in the order of their paths.
type Site struct {
	Version string // 16 hexadecimal digits
	Prefix  string // the path the page is served under, "/" or "/tools/"
	Files   []File
}

// Parts is what a site is made of.
type Parts struct {
	Program []byte // cmd/page compiled to WebAssembly
	Exec    []byte // wasm_exec.js of the Go release that compiled it
	Prefix  string // "/" if empty
	// Words are the files of the languages that the program does not have in it, by name; see
	// app/words.
	Words map[string][]byte
	// Quality is the effort of compression: 0 none, 1 to 11 as in Brotli.
	// For a program of 7 MB, 5 takes a quarter of a second and 11 takes thirteen.
	Quality int
}

// Assemble makes the site from its parts. It reads and writes no files.
func Assemble(p Parts) (*Site, error) {
	if p.Prefix == "" {
		p.Prefix = "/"
	}
	if err := CheckPrefix(p.Prefix); err != nil {
		return nil, err
	}
	frozen, err := frozenFiles(p)
	if err != nil {
		return nil, err
	}
	version, err := versionOf(p.Prefix, frozen)
	if err != nil {
		return nil, err
	}
	s := &Site{Version: version, Prefix: p.Prefix}
	var styles []string
	for _, f := range frozen {
		if strings.HasPrefix(f.Path, "web/css/") && path.Ext(f.Path) == ".css" {
			styles = append(styles, f.Path)
		}
	}
	benches, err := emptyBenches(p.Prefix)
	if err != nil {
		return nil, err
	}
	relative := Frozen + version + "/"
	index, err := renderIndex(map[string]any{
		"Policy": Policy(false), "Prefix": p.Prefix, "Assets": p.Prefix + relative,
		"Styles": styles, "Version": version, "Bytes": len(p.Program), "First": benches,
	})
	if err != nil {
		return nil, err
	}
	manifest, err := renderText("manifest.webmanifest", map[string]any{"Relative": relative})
	if err != nil {
		return nil, err
	}
	for _, f := range frozen {
		s.Files = append(s.Files, File{Path: relative + f.Path, Body: f.Body})
	}
	s.Files = append(s.Files, File{Path: "index.html", Body: index}, File{Path: "manifest.webmanifest", Body: manifest})
	slices.SortFunc(s.Files, func(a, b File) int { return strings.Compare(a.Path, b.Path) })

	worker, err := renderText("worker.js", map[string]any{"Version": version, "Files": stored(s.Files)})
	if err != nil {
		return nil, err
	}
	s.Files = append(s.Files, File{Path: "404.html", Body: index}, File{Path: "worker.js", Body: worker})
	slices.SortFunc(s.Files, func(a, b File) int { return strings.Compare(a.Path, b.Path) })

	if p.Quality > 0 {
		for i := range s.Files {
			if err := s.Files[i].compress(p.Quality); err != nil {
				return nil, err
			}
		}
	}
	return s, nil
}

// Find returns the file with the path, or nil.
func (s *Site) Find(name string) *File {
	for i := range s.Files {
		if s.Files[i].Path == name {
			return &s.Files[i]
		}
	}
	return nil
}

// Program returns the page's program.
func (s *Site) Program() *File { return s.Find(Frozen + s.Version + "/page.wasm") }

// entry is one row of the worker's list.
type entry struct {
	Path      string `json:"path"`
	Integrity string `json:"integrity"`
}

// stored lists what the worker keeps. The index is asked for by the name of its
// folder, for many hosts redirect index.html there.
func stored(files []File) []entry {
	var list []entry
	for _, f := range files {
		name := f.Path
		if name == "index.html" {
			name = "./"
		}
		sum := sha256.Sum256(f.Body)
		list = append(list, entry{name, "sha256-" + base64.StdEncoding.EncodeToString(sum[:])})
	}
	return list
}

// frozenFiles gathers what lies below v/<version>/, without that folder.
func frozenFiles(p Parts) ([]File, error) {
	files := []File{{Path: "page.wasm", Body: p.Program}, {Path: "wasm_exec.js", Body: p.Exec}}
	for _, name := range []string{"look.js", "start.js", "engine.js", "first.css", "grown.bin"} {
		body, err := web.Files.ReadFile(name)
		if err != nil {
			return nil, fmt.Errorf("site: %w", err)
		}
		files = append(files, File{Path: name, Body: body})
	}
	for _, name := range slices.Sorted(maps.Keys(p.Words)) {
		files = append(files, File{Path: "words/" + name, Body: p.Words[name]})
	}
	for _, dir := range []string{"css", "icons"} {
		err := fs.WalkDir(web.Files, dir, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || strings.HasPrefix(d.Name(), ".") || path.Ext(name) == ".go" {
				return err
			}
			body, err := web.Files.ReadFile(name)
			files = append(files, File{Path: "web/" + name, Body: body})
			return err
		})
		if err != nil {
			return nil, fmt.Errorf("site: %w", err)
		}
	}
	return files, nil
}

// bench is the empty bench in a language, as the program draws it.
type bench struct {
	Lang  string
	Bench template.HTML
}

// emptyBenches are the first screens, one a language.
func emptyBenches(prefix string) ([]bench, error) {
	names, err := fs.Glob(web.Files, "first/*.html")
	if err != nil {
		return nil, fmt.Errorf("site: %w", err)
	}
	var all []bench
	for _, name := range names {
		text, err := web.Files.ReadFile(name)
		if err != nil {
			return nil, fmt.Errorf("site: %w", err)
		}
		text = bytes.ReplaceAll(text, []byte(`href="/`), []byte(`href="`+prefix))
		all = append(all, bench{strings.TrimSuffix(path.Base(name), ".html"), template.HTML(text)})
	}
	return all, nil
}

// versionOf digests everything that the page shows or runs.
func versionOf(prefix string, files []File) (string, error) {
	sum := sha256.New()
	fmt.Fprintf(sum, "pitwise site 1\n%q\n%q\n", prefix, Policy(false))
	templates, err := fs.Glob(web.Files, "first/*.html")
	if err != nil {
		return "", fmt.Errorf("site: %w", err)
	}
	for _, name := range append(templates, "index.html", "manifest.webmanifest", "worker.js") {
		body, err := web.Files.ReadFile(name)
		if err != nil {
			return "", fmt.Errorf("site: %w", err)
		}
		fmt.Fprintf(sum, "%q %d\n%s\n", name, len(body), body)
	}
	for _, f := range files {
		fmt.Fprintf(sum, "%q %d\n", f.Path, len(f.Body))
		sum.Write(f.Body)
	}
	return hex.EncodeToString(sum.Sum(nil))[:16], nil
}

// CheckPrefix reports what is wrong with a prefix, if anything.
func CheckPrefix(prefix string) error {
	plain := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_.~/", r)
	}
	bad := !strings.HasPrefix(prefix, "/") || !strings.HasSuffix(prefix, "/") ||
		strings.ContainsFunc(prefix, func(r rune) bool { return !plain(r) })
	if !bad && prefix != "/" {
		for _, part := range strings.Split(prefix[1:len(prefix)-1], "/") {
			bad = bad || part == "" || part == "." || part == ".."
		}
	}
	if bad {
		return fmt.Errorf("%w: found %q", ErrPrefix, prefix)
	}
	return nil
}

func renderIndex(data map[string]any) ([]byte, error) {
	t, err := template.ParseFS(web.Files, "index.html")
	if err != nil {
		return nil, fmt.Errorf("site: %w", err)
	}
	var b bytes.Buffer
	if err := t.Execute(&b, data); err != nil {
		return nil, fmt.Errorf("site: %w", err)
	}
	return b.Bytes(), nil
}

func renderText(name string, data map[string]any) ([]byte, error) {
	quote := func(v any) (string, error) {
		b, err := json.MarshalIndent(v, "", "  ")
		return string(b), err
	}
	t, err := text.New(name).Funcs(text.FuncMap{"json": quote}).ParseFS(web.Files, name)
	if err != nil {
		return nil, fmt.Errorf("site: %w", err)
	}
	var b bytes.Buffer
	if err := t.Execute(&b, data); err != nil {
		return nil, fmt.Errorf("site: %w", err)
	}
	return b.Bytes(), nil
}

func (f *File) compress(quality int) error {
	if path.Ext(f.Path) == ".png" || len(f.Body) < 256 {
		return nil
	}
	var br bytes.Buffer
	w := brotli.NewWriterOptions(&br, brotli.WriterOptions{Quality: quality, LGWin: 24})
	if _, err := w.Write(f.Body); err != nil {
		return fmt.Errorf("site: %s: %w", f.Path, err)
	}
	if err := w.Close(); err != nil {
		return fmt.Errorf("site: %s: %w", f.Path, err)
	}
	var gz bytes.Buffer
	z, err := gzip.NewWriterLevel(&gz, min(quality, gzip.BestCompression))
	if err != nil {
		return fmt.Errorf("site: %s: %w", f.Path, err)
	}
	if _, err := z.Write(f.Body); err != nil {
		return fmt.Errorf("site: %s: %w", f.Path, err)
	}
	if err := z.Close(); err != nil {
		return fmt.Errorf("site: %s: %w", f.Path, err)
	}
	if br.Len() < len(f.Body) {
		f.Brotli = br.Bytes()
	}
	if gz.Len() < len(f.Body) {
		f.Gzip = gz.Bytes()
	}
	return nil
}
