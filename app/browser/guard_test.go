package browser

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestWhatIsNewOrMovedTakesNoTapForAWhile(t *testing.T) {
	at := bounds{10, 700, 380, 760}
	m := mark{}.look("listen: quiet", at, 0, 0, 1000)
	for _, c := range []struct {
		name    string
		says    string
		seen    bounds
		x, y    float64
		takesAt float64
	}{
		{name: "as it was", says: "listen: quiet", seen: at, takesAt: 1400},
		{name: "scrolled with the page", says: "listen: quiet", seen: at.shifted(0, -300), y: 300, takesAt: 1400},
		{name: "stuck to the screen while the page scrolls", says: "listen: quiet", seen: at, y: 300, takesAt: 1400},
		{name: "a letter further", says: "listen: quiet", seen: at.shifted(0, 5), takesAt: 1400},
		{name: "moved on the page", says: "listen: quiet", seen: at.shifted(0, 60), takesAt: 2400},
		{name: "grown", says: "listen: quiet", seen: bounds{10, 640, 380, 760}, takesAt: 2400},
		{name: "the same button says something else", says: "listen: seeks", seen: at, takesAt: 2400},
	} {
		t.Run(c.name, func(t *testing.T) {
			now := m.look(c.says, c.seen, c.x, c.y, 2000)
			assert.False(t, now.takes(c.takesAt-1))
			assert.True(t, now.takes(c.takesAt))
		})
	}
}

func TestAFingerThatJustTappedDoesNothingMoreWhereItIs(t *testing.T) {
	last := touch{x: 100, y: 700, at: 1000}
	assert.True(t, last.repeats(100, 700, 1100))
	assert.True(t, last.repeats(110, 690, 1399), "fingers do not fall on the same point twice")
	assert.False(t, last.repeats(100, 700, 1400), "after a while it is meant")
	assert.False(t, last.repeats(100, 748, 1100), "the next target is another one")
}
