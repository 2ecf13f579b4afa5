package site_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/web/site"
)

// tree makes a source tree with just enough in it.
func tree(t *testing.T, program string) site.Tree {
	t.Helper()
	root := t.TempDir()
	for name, text := range map[string]string{
		"go.mod":            "module pitwise\n\ngo 1.26.0\n",
		"engine/e.go":       "package engine\n",
		"engine/e_test.go":  "package engine\n",
		"cmd/page/main.go":  program,
		"cmd/words/main.go": "package main\n\nfunc main() {}\n",
	} {
		name = filepath.Join(root, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o755))
		require.NoError(t, os.WriteFile(name, []byte(text), 0o644))
	}
	found, err := site.FindTree(filepath.Join(root, "cmd"))
	require.NoError(t, err)
	return found
}

func key(t *testing.T, tr site.Tree) string {
	t.Helper()
	k, err := tr.Key(context.Background())
	require.NoError(t, err)
	return k
}

func TestKeyFollowsTheSource(t *testing.T) {
	tr := tree(t, "package main\n\nfunc main() {}\n")
	first := key(t, tr)
	assert.Equal(t, first, key(t, tr), "nothing changed")
	write := func(name, text string) {
		require.NoError(t, os.WriteFile(filepath.Join(tr.Root, filepath.FromSlash(name)), []byte(text), 0o644))
	}
	write("engine/e_test.go", "package engine // more\n")
	write("README.md", "more")
	assert.Equal(t, first, key(t, tr), "tests and documents are no part of the page")
	for _, name := range []string{"engine/e.go", "cmd/page/main.go", "engine/new.go", "go.sum"} {
		before := key(t, tr)
		write(name, "package main // other\n")
		assert.NotEqual(t, before, key(t, tr), name)
	}
}

func TestReady(t *testing.T) {
	tr := tree(t, "package main\n\nfunc main() { println(\"here\") }\n")
	built := 0
	dir, err := tr.Ready(context.Background(), func() { built++ })
	require.NoError(t, err)
	assert.Equal(t, 1, built)
	assert.FileExists(t, filepath.Join(dir, "index.html"))

	again, err := tr.Ready(context.Background(), func() { built++ })
	require.NoError(t, err)
	assert.Equal(t, dir, again)
	assert.Equal(t, 1, built, "what is built for this source is used again")
}

func TestASourceThatDoesNotCompileIsAnError(t *testing.T) {
	tr := tree(t, "package main\n\nfunc main() { undefinedName() }\n")
	_, err := tr.Ready(context.Background(), nil)
	require.ErrorContains(t, err, "undefinedName", "the compiler's own words are shown")
	assert.NoDirExists(t, filepath.Join(tr.Root, "build", "page", key(t, tr)))
}

func TestASourceBuildsTheSameAnywhere(t *testing.T) {
	const program = "package main\n\nfunc main() { println(\"here\") }\n"
	var versions []string
	for range 2 {
		s, err := tree(t, program).Build(context.Background(), site.Page, "/", 0)
		require.NoError(t, err)
		versions = append(versions, s.Version)
	}
	assert.Equal(t, versions[0], versions[1])
}
