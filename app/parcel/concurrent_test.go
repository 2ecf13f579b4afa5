package parcel

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestTextsAreSplitByManyAtOnce, each put together again by a Collector of its own.
func TestTextsAreSplitByManyAtOnce(t *testing.T) {
	var wait sync.WaitGroup
	for i := range 8 {
		wait.Go(func() {
			want := text(1000 * (i + 1))
			parts, err := Split(want)
			assert.NoError(t, err)
			var c Collector
			for _, p := range parts {
				assert.NoError(t, c.Add(p))
			}
			got, err := c.Text()
			assert.NoError(t, err)
			assert.Equal(t, want, got)
		})
	}
	wait.Wait()
}
