//go:build browser

package browser_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pitwise/cmd/dev/browser"
)

// TestStartIsFast measures how long a person waits until there is something to
// touch: at the first visit, and from the store with the server gone, at the
// processor's own speed and four times slower, as a middling phone is. The
// limits are wide, for tests run on busy machines; the figures are logged.
func TestStartIsFast(t *testing.T) {
	for _, row := range []struct {
		name       string
		slow       float64
		cold, warm time.Duration
	}{
		{"at full speed", 1, 20 * time.Second, 5 * time.Second},
		{"four times slower", 4, 60 * time.Second, 15 * time.Second},
	} {
		t.Run(row.name, func(t *testing.T) {
			s := browser.Serve(t)
			c := browser.Start(t)
			p := c.Open(s)
			p.Slow(row.slow)
			p.Go("/")
			cold := p.Usable()
			t.Logf("first visit: compiled, shown, usable after %s ms", p.Milestones())
			p.Stored()
			s.Stop()
			var warm time.Duration
			for range 3 {
				p.Reload()
				if d := p.Usable(); warm == 0 || d < warm {
					warm = d
				}
			}
			t.Logf("last start from the store: compiled, shown, usable after %s ms", p.Milestones())
			t.Logf("usable after %d ms at the first visit, after %d ms from the store (best of 3)", cold.Milliseconds(), warm.Milliseconds())
			assert.Less(t, cold, row.cold)
			assert.Less(t, warm, row.warm)
		})
	}
}
