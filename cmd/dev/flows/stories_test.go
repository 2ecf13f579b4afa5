//go:build browser

package flows_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/cmd/dev/stories"
	"pitwise/web/host"
	"pitwise/web/site"
)

// serveStories serves the page's stories in place of the page.
func serveStories(t *testing.T) *browser.Server {
	t.Helper()
	tree := browser.Tree(t)
	dir := t.TempDir()
	program := filepath.Join(dir, "stories.wasm")
	build := exec.Command("go", "build", "-trimpath", "-o", program, "./cmd/dev/stories/page")
	build.Dir = tree.Root
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	out, err := build.CombinedOutput()
	require.NoError(t, err, "%s", out)
	root, err := exec.Command("go", "env", "GOROOT").Output()
	require.NoError(t, err)
	runtime, err := os.ReadFile(filepath.Join(string(root[:len(root)-1]), "lib", "wasm", "wasm_exec.js"))
	require.NoError(t, err)
	code, err := os.ReadFile(program)
	require.NoError(t, err)
	s, err := site.Assemble(site.Parts{Program: code, Exec: runtime, Prefix: "/"})
	require.NoError(t, err)
	folder := filepath.Join(dir, "page")
	require.NoError(t, s.Write(folder, false))
	h, err := host.Load(folder, false)
	require.NoError(t, err)
	return browser.ServeHandler(t, h, "/")
}

// TestEveryStoryFitsAndIsAccessible walks every screen in every state at three
// widths, in light and dark.
func TestEveryStoryFitsAndIsAccessible(t *testing.T) {
	s := serveStories(t)
	c := browser.Start(t)
	p := c.Open(s)
	for _, story := range stories.All {
		t.Run(story.Name, func(t *testing.T) {
			p.In(t)
			p.Go("/?story=" + story.Name)
			p.Until(`document.getElementById("heading") !== null`)
			p.EachLook("story-"+story.Name, []int{320, 390, 1280}, func() {
				p.Accessible()
				p.Fits()
			})
		})
	}
}

// TestEveryStoryGrows walks every screen with the text twice as large.
func TestEveryStoryGrows(t *testing.T) {
	s := serveStories(t)
	p := browser.Start(t).Open(s)
	for _, story := range stories.All {
		t.Run(story.Name, func(t *testing.T) {
			p.In(t)
			p.Go("/?story=" + story.Name)
			p.Until(`document.getElementById("heading") !== null`)
			p.Eval(`void (document.documentElement.style.fontSize = "200%")`)
			p.Fits()
			p.Screenshot("story-" + story.Name + "-200")
		})
	}
}
