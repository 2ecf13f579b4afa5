package main

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/catalog"
)

func TestModelsAreListedOneALine(t *testing.T) {
	status, out, err := called(t, "", "models")
	require.Zero(t, status, err)
	assert.Empty(t, err)
	lines := strings.Split(strings.TrimSuffix(out, "\n"), "\n")
	entries := catalog.Models()
	require.Len(t, lines, len(entries))
	require.NotEmpty(t, lines)
	for i, e := range entries {
		assert.True(t, strings.HasPrefix(lines[i], e.ID+" "), lines[i])
		assert.Contains(t, lines[i], e.Title)
		assert.Contains(t, lines[i], "revision "+e.Revision)
		assert.Regexp(t, `\d+ components, \d+ modes, \d+ tests, \d+ repairs$`, lines[i])
	}
}

func TestTheTextOfAModelHasItsDigest(t *testing.T) {
	for _, e := range catalog.Models() {
		status, out, err := called(t, "", "models", e.ID)
		require.Zero(t, status, err)
		sum := sha256.Sum256([]byte(out))
		assert.Equal(t, e.SHA256, hex.EncodeToString(sum[:]))
	}
	status, out, err := called(t, "", "models", "no-such")
	assert.Equal(t, 1, status)
	assert.Empty(t, out)
	assert.Contains(t, err, "no-such")
	assert.Contains(t, err, "top-loader")
}
