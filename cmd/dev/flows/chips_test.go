//go:build browser

package flows_test

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/cmd/dev/browser"
)

// TestAnAnswerMovesNoOther taps every third answer on the intake screen: the others stay where the next finger is on its way to.
func TestAnAnswerMovesNoOther(t *testing.T) {
	t.Parallel()
	s := browser.Serve(t)
	p := browser.Start(t).Open(s)
	p.Go("/new")
	const places = `[...document.querySelectorAll(".chip")].map((e) => { const r = e.getBoundingClientRect(); return [e.innerText, Math.round(r.left + scrollX), Math.round(r.top + scrollY), Math.round(r.width), Math.round(r.height)].join(); })`
	p.Until(`document.querySelectorAll(".chip").length > 20`)
	before := browser.Value[[]string](p, places)
	for i := 0; i < len(before); i += 3 {
		p.Eval(`void document.querySelectorAll(".chip")[` + strconv.Itoa(i) + `].click()`)
	}
	p.Until(`document.querySelectorAll('.chip[aria-pressed="true"]').length > 4`)
	require.NotEmpty(t, before)
	assert.Equal(t, before, browser.Value[[]string](p, places))
}
