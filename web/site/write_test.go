package site_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/web/site"
)

// listing returns the names below a folder and the folders beside it.
func listing(t *testing.T, dir string) []string {
	t.Helper()
	var names []string
	require.NoError(t, filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			rel, _ := filepath.Rel(dir, name)
			names = append(names, filepath.ToSlash(rel))
		}
		return err
	}))
	return names
}

func TestWrite(t *testing.T) {
	p := parts("/")
	p.Quality = 1
	s := assemble(t, p)
	later := parts("/")
	later.Program = []byte("\x00asm a later program")
	next := assemble(t, later)

	t.Run("a missing folder appears with everything in it", func(t *testing.T) {
		home := t.TempDir()
		dir := filepath.Join(home, "deep", "page")
		require.NoError(t, s.Write(dir, false))
		for _, f := range s.Files {
			got, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(f.Path)))
			require.NoError(t, err)
			assert.Equal(t, f.Body, got, f.Path)
		}
		assert.Contains(t, listing(t, dir), "index.html.br")
		entries, err := os.ReadDir(filepath.Dir(dir))
		require.NoError(t, err)
		assert.Len(t, entries, 1, "nothing is left beside it")
	})
	t.Run("an empty folder is filled", func(t *testing.T) {
		dir := t.TempDir()
		require.NoError(t, s.Write(dir, false))
		assert.FileExists(t, filepath.Join(dir, "index.html"))
	})
	t.Run("a page built before is replaced only with force, and whole", func(t *testing.T) {
		dir := filepath.Join(t.TempDir(), "page")
		require.NoError(t, s.Write(dir, false))
		before := listing(t, dir)
		require.ErrorIs(t, next.Write(dir, false), site.ErrExists)
		assert.Equal(t, before, listing(t, dir))

		require.NoError(t, next.Write(dir, true))
		assert.NoDirExists(t, filepath.Join(dir, "v", s.Version))
		assert.FileExists(t, filepath.Join(dir, "v", next.Version, "page.wasm"))
		entries, err := os.ReadDir(filepath.Dir(dir))
		require.NoError(t, err)
		assert.Len(t, entries, 1, "nothing is left beside it")
	})
	t.Run("a folder with anything else is never replaced", func(t *testing.T) {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "thesis.txt"), []byte("years of work"), 0o644))
		require.ErrorIs(t, s.Write(dir, true), site.ErrForeign)
		assert.Equal(t, []string{"thesis.txt"}, listing(t, dir))
	})
	t.Run("a file in the place of the folder is left alone", func(t *testing.T) {
		name := filepath.Join(t.TempDir(), "page")
		require.NoError(t, os.WriteFile(name, []byte("a file"), 0o644))
		require.Error(t, s.Write(name, true))
		got, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.Equal(t, "a file", string(got))
	})
}

func TestFindTree(t *testing.T) {
	t.Run("the source is found from inside of it", func(t *testing.T) {
		tree, err := site.FindTree(".")
		require.NoError(t, err)
		assert.FileExists(t, filepath.Join(tree.Root, "web", "index.html"))
	})
	t.Run("outside of it the error says so", func(t *testing.T) {
		_, err := site.FindTree(t.TempDir())
		require.ErrorIs(t, err, site.ErrNoTree)
	})
}
