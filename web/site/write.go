package site

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

var (
	// ErrExists says that there is something where the folder should go.
	ErrExists = errors.New("site: the folder is not empty")
	// ErrForeign says that a folder to be replaced holds something that is not
	// a page of Pitwise.
	ErrForeign = errors.New("site: the folder holds something else than a page built before")
)

// mark opens every worker.js; a folder without it is never replaced.
const mark = "// The offline worker of Pitwise."

// Ready reports why Write would refuse the folder, if it would.
func Ready(dir string, force bool) error {
	old, err := occupied(dir)
	switch {
	case err != nil:
		return err
	case old && !built(dir):
		return fmt.Errorf("%w: %s", ErrForeign, dir)
	case old && !force:
		return fmt.Errorf("%w: %s", ErrExists, dir)
	}
	return nil
}

// Write makes dir with the site in it, all or nothing: the files are written and
// synced in a folder beside dir, which is then renamed. A dir that is missing or
// empty is filled. One that holds a page built before is replaced only with
// force; one that holds anything else never is.
func (s *Site) Write(dir string, force bool) error {
	if err := Ready(dir, force); err != nil {
		return err
	}
	dir = filepath.Clean(dir)
	old, err := occupied(dir)
	if err != nil {
		return err
	}
	parent := filepath.Dir(dir)
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return fmt.Errorf("site: %w", err)
	}
	fresh, err := os.MkdirTemp(parent, ".pitwise-new-*")
	if err != nil {
		return fmt.Errorf("site: %w", err)
	}
	defer os.RemoveAll(fresh)
	if err := s.fill(fresh); err != nil {
		return err
	}
	if err := os.Chmod(fresh, 0o755); err != nil {
		return fmt.Errorf("site: %w", err)
	}
	if !old {
		// An empty folder may be there; nothing is if this fails.
		os.Remove(dir)
		if err := os.Rename(fresh, dir); err != nil {
			return fmt.Errorf("site: %w", err)
		}
		return syncDir(parent)
	}
	aside, err := os.MkdirTemp(parent, ".pitwise-old-*")
	if err != nil {
		return fmt.Errorf("site: %w", err)
	}
	defer os.RemoveAll(aside)
	kept := filepath.Join(aside, "page")
	if err := os.Rename(dir, kept); err != nil {
		return fmt.Errorf("site: %w", err)
	}
	if err := os.Rename(fresh, dir); err != nil {
		return errors.Join(fmt.Errorf("site: %w", err), os.Rename(kept, dir))
	}
	return syncDir(parent)
}

func (s *Site) fill(dir string) error {
	folders := map[string]bool{dir: true}
	for _, f := range s.Files {
		name := filepath.Join(dir, filepath.FromSlash(f.Path))
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			return fmt.Errorf("site: %w", err)
		}
		folders[filepath.Dir(name)] = true
		for _, form := range []struct {
			ext  string
			body []byte
		}{{"", f.Body}, {".br", f.Brotli}, {".gz", f.Gzip}} {
			if form.ext != "" && form.body == nil {
				continue
			}
			if err := writeSynced(name+form.ext, form.body); err != nil {
				return err
			}
		}
	}
	for name := range folders {
		if err := syncDir(name); err != nil {
			return err
		}
	}
	return nil
}

func writeSynced(name string, body []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return fmt.Errorf("site: %w", err)
	}
	_, err = f.Write(body)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("site: %w", err)
	}
	return nil
}

// syncDir makes a rename last. Some systems cannot sync a folder; they say so
// with an error that is no reason to stop.
func syncDir(name string) error {
	d, err := os.Open(name)
	if err != nil {
		return fmt.Errorf("site: %w", err)
	}
	d.Sync()
	return d.Close()
}

func occupied(dir string) (bool, error) {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("site: %w", err)
	}
	return len(entries) > 0, nil
}

func built(dir string) bool {
	b, err := os.ReadFile(filepath.Join(dir, "worker.js"))
	return err == nil && strings.HasPrefix(string(b), mark)
}
