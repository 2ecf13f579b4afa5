//go:build browser

package browser_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

// heading is true once the view of the program has one.
const heading = `document.querySelector("h1") && document.querySelector("h1").innerText.trim() !== ""`

func TestPageLoads(t *testing.T) {
	s := browser.Serve(t)
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	p.Until(heading)
	p.Screenshot("first-view")
	p.Stored()

	t.Run("a person can zoom", func(t *testing.T) {
		viewport := browser.Value[string](p, `document.querySelector("meta[name=viewport]").content`)
		assert.NotContains(t, viewport, "user-scalable")
		assert.NotContains(t, viewport, "maximum-scale")
		assert.Contains(t, viewport, "width=device-width")
		assert.Equal(t, 1, browser.Value[int](p, `document.querySelectorAll("meta[name=viewport]").length`))
	})
	t.Run("the first screen's language is one the page has", func(t *testing.T) {
		assert.Contains(t, []string{"en", "de", "es", "ja"}, browser.Value[string](p, "document.documentElement.lang"))
	})
	t.Run("with the server gone it loads again, and by a deep link", func(t *testing.T) {
		p.In(t)
		s.Stop()
		p.Reload()
		p.Until(heading)
		for _, path := range []string{"/settings", "/new?question=1", "/unit/any", "/no/such/place"} {
			p.Go(path)
			p.Until(heading)
		}
		other := c.Open(s)
		other.Go("/")
		other.Until(heading)
		s.Start()
	})
	require.Empty(t, p.Errors())
}
