package main

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestChangesThatNoTestNoticesAreListed(t *testing.T) {
	root := t.TempDir()
	files := map[string]string{
		"go.mod":        "module small\n\ngo 1.26.0\n",
		"p/sum.go":      "package p\n\nfunc Sum(a, b int) int { return a + b }\n\nfunc Product(a, b int) int { return a * b }\n",
		"p/sum_test.go": "package p\n\nimport \"testing\"\n\nfunc TestSum(t *testing.T) {\n\tif Sum(1, 2) != 3 {\n\t\tt.Fail()\n\t}\n}\n",
	}
	for name, text := range files {
		require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(root, name)), 0o755))
		require.NoError(t, os.WriteFile(filepath.Join(root, name), []byte(text), 0o644))
	}
	read, write, err := os.Pipe()
	require.NoError(t, err)
	was := os.Stdout
	os.Stdout = write
	err = mutate(context.Background(), root, []string{"-n", "0", "./p"})
	os.Stdout = was
	write.Close()
	require.NoError(t, err)
	out, err := io.ReadAll(read)
	require.NoError(t, err)
	assert.Equal(t, "p/sum.go:5:39: nobody noticed: * became /\n./p: 1 of 2 changes noticed\n", string(out))
}
