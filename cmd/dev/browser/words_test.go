//go:build browser

package browser_test

import (
	"net/http"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
	"pitwise/web/host"
)

// wordless is a site that hands out no language's file until it is told to.
type wordless struct {
	http.Handler
	whole atomic.Bool
}

func (h *wordless) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if strings.Contains(r.URL.Path, "/words/") && !h.whole.Load() {
		http.Error(w, "not now", http.StatusServiceUnavailable)
		return
	}
	h.Handler.ServeHTTP(w, r)
}

const checked = `document.querySelector('input[name="lang"]:checked').id`

// The page's program speaks English; the others come in files of their own, of which none is
// fetched before it is wanted, and which are all kept for when there is no network.
func TestAnotherLanguageComesWhenItIsWanted(t *testing.T) {
	h, err := host.Load(browser.Built(t), false)
	require.NoError(t, err)
	t.Run("the network fails once", func(t *testing.T) {
		site := &wordless{Handler: h}
		p := browser.Start(t).Open(browser.ServeHandler(t, site, "/"))
		p.Allow("503")
		p.Allow("not stored for offline use")
		p.Go("/settings")
		p.Tap("Deutsch")
		p.See("The texts of that language are not here yet")
		p.Until(checked + ` === "lang-en"`)
		site.whole.Store(true)
		p.Tap("Deutsch")
		p.See("Sprache")
		assert.Equal(t, "lang-de", browser.Value[string](p, checked))
		p.Reload()
		p.See("Sprache")
	})
	t.Run("the server is gone", func(t *testing.T) {
		s := browser.Serve(t)
		p := browser.Start(t).Open(s)
		p.Go("/settings")
		fetched := browser.Value[[]string](p, `performance.getEntriesByType("resource").map((e) => e.name).filter((name) => name.includes("/words/"))`)
		assert.Empty(t, fetched, "nobody wanted them")
		p.Stored()
		s.Stop()
		for _, row := range [][2]string{{"日本語", "ja"}, {"Español", "es"}, {"Deutsch", "de"}} {
			p.Tap(row[0])
			p.Until(`document.documentElement.lang === "` + row[1] + `"`)
		}
		p.See("Sprache")
		p.Go("/new")
		p.See("Motorlade")
	})
}
