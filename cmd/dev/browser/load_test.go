//go:build browser

package browser_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

func TestPageLoads(t *testing.T) {
	s := browser.Serve(t)
	c := browser.Start(t)
	p := c.Open(s)
	p.Go("/")
	p.See("Pitwise")
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
		p.See("Pitwise")
		p.Go("/unit/any?question=1")
		p.See("Pitwise")
		other := c.Open(s)
		other.Go("/")
		other.See("Pitwise")
		s.Start()
	})
	require.Empty(t, p.Errors())
}
