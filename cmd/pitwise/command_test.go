package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// called runs the program as the command line would.
func called(t *testing.T, in string, args ...string) (status int, out, err string) {
	t.Helper()
	var o, e bytes.Buffer
	d := &desk{ctx: context.Background(), in: strings.NewReader(in), out: &o, err: &e}
	status = d.run(args)
	return status, o.String(), e.String()
}

func TestHelp(t *testing.T) {
	t.Run("every verb has a line, a text and its flags", func(t *testing.T) {
		for _, args := range [][]string{{"help"}, {"-h"}, {"--help"}} {
			status, out, err := called(t, "", args...)
			assert.Zero(t, status)
			assert.Empty(t, err)
			for _, c := range commands() {
				assert.Contains(t, out, "pitwise "+c.name)
			}
		}
		for _, c := range commands() {
			for _, args := range [][]string{{"help", c.name}, {c.name, "-help"}} {
				status, out, err := called(t, "", args...)
				assert.Zero(t, status, args)
				assert.Empty(t, err)
				assert.True(t, strings.HasPrefix(out, "pitwise "+c.name+" "+c.args), out)
				assert.Greater(t, len(strings.TrimSpace(c.long)), 100, "the help of %s says something", c.name)
			}
		}
	})
	t.Run("a flag is explained", func(t *testing.T) {
		_, out, _ := called(t, "", "help", "serve")
		assert.Contains(t, out, "-addr HOST:PORT")
	})
}

func TestWrongUseIsStatus2(t *testing.T) {
	for _, args := range [][]string{
		{"mend"}, {"help", "mend"}, {"help", "serve", "build"},
		{"serve", "-port", "1"}, {"serve", "extra"}, {"serve", "-addr", "8787"},
		{"build"}, {"build", "a", "b"}, {"build", "-prefix", "tools", filepath.Join(t.TempDir(), "page")},
	} {
		t.Run(strings.Join(args, " "), func(t *testing.T) {
			status, out, err := called(t, "", args...)
			assert.Equal(t, 2, status)
			assert.Empty(t, out, "results only on standard output")
			assert.Contains(t, err, "pitwise")
		})
	}
}

func TestBuildLeavesOtherFilesAlone(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "thesis.txt"), []byte("years of work"), 0o644))
	for _, args := range [][]string{{"build", dir}, {"build", "-force", dir}} {
		status, out, err := called(t, "", args...)
		assert.Equal(t, 1, status)
		assert.Empty(t, out)
		assert.Contains(t, err, dir)
	}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 1)
}

func TestOutsideTheSourceItSaysWhatIsNeeded(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, args := range [][]string{nil, {"build", "page"}} {
		status, _, err := called(t, "", args...)
		assert.Equal(t, 1, status)
		assert.Contains(t, err, "source tree")
		assert.Contains(t, err, "-page DIR")
	}
}
