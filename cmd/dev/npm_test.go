package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestLockFilesNameNoRegistry holds the lock files free of the host that one
// machine happened to install from; npm checks what it gets by its digest.
func TestLockFilesNameNoRegistry(t *testing.T) {
	locks, err := filepath.Glob(filepath.Join("..", "..", "testdata", "*", "package-lock.json"))
	require.NoError(t, err)
	require.Len(t, locks, 2)
	for _, name := range locks {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		var lock struct {
			Packages map[string]struct{ Resolved, Integrity string }
		}
		require.NoError(t, json.Unmarshal(text, &lock))
		require.Greater(t, len(lock.Packages), 1)
		for path, p := range lock.Packages {
			assert.Empty(t, p.Resolved, "%s: %s", name, path)
			assert.Equal(t, path != "", p.Integrity != "", "%s: %s has a digest", name, path)
		}
	}
}
