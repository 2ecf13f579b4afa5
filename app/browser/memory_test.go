package browser_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/app/browser"
	"pitwise/app/browser/contract"
)

// The browser's own storage is held to the same checks in a browser: cmd/dev/tabs.
func TestMemoryHoldsToTheContract(t *testing.T) {
	for i, c := range contract.Checks {
		t.Run(c.Name, func(t *testing.T) {
			m := browser.NewMemory()
			require.NoError(t, m.Open())
			require.NoError(t, c.Holds(m, "CHECK"+string(rune('A'+i))))
		})
	}
	t.Run("all in one storage", func(t *testing.T) {
		assert.Empty(t, contract.Run(browser.NewMemory()))
	})
	t.Run("the checks can fail", func(t *testing.T) {
		m := browser.NewMemory()
		m.Refuse(func(string) error { return browser.ErrFull })
		assert.Len(t, contract.Run(m), len(contract.Checks))
	})
}
