package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// goldens are the outputs kept in testdata/NAME.golden. With PITWISE_RENEW=1 they are
// written anew.
var goldens = []string{
	"check-model", "check-trail", "check-fit", "replay", "propose",
}

// golden holds an output to the one kept under that name.
func golden(t *testing.T, name, got string) {
	t.Helper()
	require.Contains(t, goldens, name)
	file := filepath.Join("testdata", name+".golden")
	if os.Getenv("PITWISE_RENEW") != "" {
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
		return
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err, "PITWISE_RENEW=1 writes it")
	assert.Equal(t, string(want), got)
}

func TestEveryGoldenBelongsToATest(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("testdata", "*.golden"))
	require.NoError(t, err)
	var names []string
	for _, f := range files {
		names = append(names, strings.TrimSuffix(filepath.Base(f), ".golden"))
	}
	want := slices.Sorted(slices.Values(goldens))
	assert.Equal(t, want, slices.Sorted(slices.Values(names)))
}

func TestHelpFitsATerminal(t *testing.T) {
	for _, c := range commands() {
		for _, line := range strings.Split(c.long, "\n") {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), 110, "help of %s: %s", c.name, line)
		}
	}
}
