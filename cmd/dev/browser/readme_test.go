//go:build browser

package browser_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

// TestReadmePicture photographs the sample unit as the README shows it. With
// PITWISE_RENEW set the picture in the tree is renewed.
func TestReadmePicture(t *testing.T) {
	s := browser.Serve(t)
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	p.Tap("Try the sample unit")
	p.Until(`document.querySelector(".pane-step h2") && !document.querySelector(".pane-step .thinking, .pane-step .still")`)
	p.Screenshot("readme")
	picture := filepath.Join(browser.Tree(t).Root, "testdata", "readme.png")
	if os.Getenv("PITWISE_RENEW") != "" {
		require.NoError(t, os.WriteFile(picture, p.Picture(), 0o644))
	}
	readme, err := os.ReadFile(filepath.Join(browser.Tree(t).Root, "README.md"))
	require.NoError(t, err)
	assert.Contains(t, string(readme), "](testdata/readme.png)")
	assert.FileExists(t, picture)
}
