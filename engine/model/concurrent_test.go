package model

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestAModelIsReadByManyAtOnce: whoever has a loaded model may ask it anything at any time. Run
// with -race it shows that no answer is kept where others read.
func TestAModelIsReadByManyAtOnce(t *testing.T) {
	m, err := Load(exampleText(t))
	require.NoError(t, err)
	all := func() (out []float64) {
		tries := m.Untried()
		for i := range m.Repairs {
			var tried []int
			if i < len(tries) {
				tried = tries[i]
			}
			c := m.Repairs[i].After(tried)
			for _, f := range c.Fixes {
				out = append(out, f.P)
			}
		}
		for i := range m.Tests {
			test, _ := m.Test(m.Tests[i].ID)
			out = append(out, float64(test.Index), float64(len(m.Way(m.Root, test.At))))
		}
		again := m.Reworded(func(_ string, w Words) Words { w.Title += "!"; return w })
		out = append(out, float64(len(again.Modes[0].Title)), float64(len(again.Original().Modes[0].Title)))
		return out
	}
	want := all()
	require.NotEmpty(t, want)
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() { assert.Equal(t, want, all()) })
	}
	wait.Wait()
}
