package words

import (
	"strconv"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A report is written while the page speaks: in the same words, on another goroutine.
func TestManySpeakAtOnce(t *testing.T) {
	clear(held.texts)
	var all []Key
	for _, k := range keys(t) {
		all = append(all, k)
	}
	var wait sync.WaitGroup
	for i := range 8 {
		wait.Go(func() {
			for _, l := range languages {
				w := In(l.ID)
				for _, k := range all[i*10 : i*10+40] {
					w.Say(k, i, i, i, i)
				}
				assert.Contains(t, w.Quantity(float64(i), "V"), strconv.Itoa(i))
				assert.Contains(t, w.Money(float64(i), "EUR"), strconv.Itoa(i))
			}
		})
	}
	wait.Wait()
}
