package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/andybalholm/brotli"

	"pitwise/web/site"
)

// targets are what a release is made for.
var targets = []struct{ os, arch string }{
	{"linux", "amd64"}, {"linux", "arm64"}, {"darwin", "amd64"}, {"darwin", "arm64"}, {"windows", "amd64"}, {"windows", "arm64"},
}

// then is the time of every file in an archive, so that the same source gives the same bytes.
var then = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)

// release makes, for each target, an archive with the desk program that has the page inside,
// the licences of all that is linked, and the README; and SHA256SUMS over the archives.
func release(ctx context.Context, root string, args []string) error {
	flags := flag.NewFlagSet("release", flag.ContinueOnError)
	out := flags.String("o", filepath.Join(root, "build", "release"), "the `DIR` that is made; it must not be there yet, or be an older release")
	only := flags.String("only", "", "just this `OS-ARCH`, such as linux-arm64")
	quality := flags.Int("quality", 11, "effort of compressing the page, 1 to 11")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if err := clear(*out); err != nil {
		return err
	}
	tree := site.Tree{Root: root}
	program, script, err := tree.Compile(ctx, site.Page)
	if err != nil {
		return err
	}
	key, err := tree.Key(ctx)
	if err != nil {
		return err
	}
	scratch, err := os.MkdirTemp("", "pitwise-release-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	overlay, err := layBeside(root, scratch, program, script, *quality)
	if err != nil {
		return err
	}
	texts, err := licences(ctx, root)
	if err != nil {
		return err
	}
	readme, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		return err
	}
	var sums strings.Builder
	made := 0
	for _, t := range targets {
		target := t.os + "-" + t.arch
		if *only != "" && *only != target {
			continue
		}
		name := "pitwise"
		if t.os == "windows" {
			name += ".exe"
		}
		exe := filepath.Join(scratch, name)
		cmd := exec.CommandContext(ctx, "go", "build", "-trimpath", "-buildvcs=false", "-tags", "release", "-overlay", overlay,
			"-ldflags=-s -w -buildid=", "-o", exe, "./cmd/pitwise")
		cmd.Dir = root
		cmd.Env = append(os.Environ(), "GOOS="+t.os, "GOARCH="+t.arch, "CGO_ENABLED=0")
		if said, err := cmd.CombinedOutput(); err != nil {
			return fmt.Errorf("%s: %w\n%s", target, err, said)
		}
		body, err := os.ReadFile(exe)
		if err != nil {
			return err
		}
		archive, packed := "pitwise-"+target+".tar.gz", tarball
		if t.os == "windows" {
			archive, packed = "pitwise-"+target+".zip", zipped
		}
		folder := "pitwise/"
		whole, err := packed([]packedFile{
			{folder + name, body, 0o755}, {folder + "LICENCES.txt", texts, 0o644}, {folder + "README.md", readme, 0o644},
			{folder + "SOURCE.txt", []byte("Digest of the source: " + key + "\n"), 0o644},
		})
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(*out, archive), whole, 0o644); err != nil {
			return err
		}
		fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(whole), archive)
		fmt.Printf("%-32s program %5.1f MB, archive %5.1f MB\n", archive, float64(len(body))/1e6, float64(len(whole))/1e6)
		made++
	}
	if made == 0 {
		return fmt.Errorf("-only %s is none of the targets", *only)
	}
	return os.WriteFile(filepath.Join(*out, "SHA256SUMS"), []byte(sums.String()), 0o644)
}

// clear makes an empty folder, in place of an older release if there is one.
func clear(dir string) error {
	there, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	if len(there) > 0 {
		if _, err := os.Stat(filepath.Join(dir, "SHA256SUMS")); err != nil {
			return fmt.Errorf("%s holds something that is no release", dir)
		}
		if err := os.RemoveAll(dir); err != nil {
			return err
		}
	}
	return os.MkdirAll(dir, 0o755)
}

// layBeside writes what cmd/pitwise embeds in a release, and the file that tells the compiler
// where that lies. It returns the latter.
func layBeside(root, scratch string, program, script []byte, quality int) (string, error) {
	var small bytes.Buffer
	w := brotli.NewWriterLevel(&small, quality)
	w.Write(program)
	if err := w.Close(); err != nil {
		return "", err
	}
	replace := map[string]string{}
	for name, body := range map[string][]byte{"page.wasm.br": small.Bytes(), "wasm_exec.js": script} {
		to := filepath.Join(scratch, name)
		if err := os.WriteFile(to, body, 0o644); err != nil {
			return "", err
		}
		replace[filepath.Join(root, "cmd", "pitwise", name)] = to
	}
	text, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return "", err
	}
	overlay := filepath.Join(scratch, "overlay.json")
	return overlay, os.WriteFile(overlay, text, 0o644)
}

// licenceFile is what modules call the file with their licence.
var licenceFile = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)(\.|-|$)`)

// licences returns the licences of Pitwise, of Go, and of every module that the desk program or
// the page links. A module without one is an error.
func licences(ctx context.Context, root string) ([]byte, error) {
	type module struct{ name, dir string }
	modules := []module{{"Pitwise", root}}
	goroot, err := exec.CommandContext(ctx, "go", "env", "GOROOT").Output()
	if err != nil {
		return nil, err
	}
	modules = append(modules, module{"Go", strings.TrimSpace(string(goroot))})
	linked := map[string]string{}
	for _, env := range [][]string{{"GOOS=linux"}, {"GOOS=windows"}, {"GOOS=darwin"}, {"GOOS=js", "GOARCH=wasm"}} {
		pkg := "./cmd/pitwise"
		if env[0] == "GOOS=js" {
			pkg = site.Page
		}
		cmd := exec.CommandContext(ctx, "go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}\t{{.Dir}}{{end}}{{end}}", pkg)
		cmd.Dir = root
		cmd.Env = append(os.Environ(), env...)
		list, err := cmd.Output()
		if err != nil {
			return nil, fmt.Errorf("go list: %w", err)
		}
		for line := range strings.Lines(string(list)) {
			if name, dir, ok := strings.Cut(strings.TrimSpace(line), "\t"); ok {
				linked[name] = dir
			}
		}
	}
	var names []string
	for name := range linked {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		modules = append(modules, module{name, linked[name]})
	}
	var b bytes.Buffer
	for _, m := range modules {
		files, err := os.ReadDir(m.dir)
		if err != nil {
			return nil, err
		}
		found := false
		for _, f := range files {
			if f.IsDir() || !licenceFile.MatchString(f.Name()) {
				continue
			}
			text, err := os.ReadFile(filepath.Join(m.dir, f.Name()))
			if err != nil {
				return nil, err
			}
			found = true
			fmt.Fprintf(&b, "%s\n%s, %s\n%s\n\n%s\n", strings.Repeat("=", 72), m.name, f.Name(), strings.Repeat("=", 72), text)
		}
		if !found {
			return nil, fmt.Errorf("%s comes without a licence", m.name)
		}
	}
	return b.Bytes(), nil
}

// A packedFile is one file of an archive.
type packedFile struct {
	name string
	body []byte
	mode os.FileMode
}

func tarball(files []packedFile) ([]byte, error) {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	t := tar.NewWriter(z)
	for _, f := range files {
		if err := t.WriteHeader(&tar.Header{Name: f.name, Mode: int64(f.mode), Size: int64(len(f.body)), ModTime: then, Format: tar.FormatUSTAR}); err != nil {
			return nil, err
		}
		if _, err := t.Write(f.body); err != nil {
			return nil, err
		}
	}
	if err := errors.Join(t.Close(), z.Close()); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func zipped(files []packedFile) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range files {
		h := &zip.FileHeader{Name: f.name, Method: zip.Deflate, Modified: then}
		h.SetMode(f.mode)
		w, err := z.CreateHeader(h)
		if err != nil {
			return nil, err
		}
		if _, err := io.Copy(w, bytes.NewReader(f.body)); err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
