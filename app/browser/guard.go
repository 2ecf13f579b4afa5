package browser

import "math"

// A finger that taps twice, or that was on its way while the page was drawn anew, must not
// record or choose something that it never saw. A tap on anything that takes one therefore counts only
// if it came Pause after the thing was last new, said something else or moved; and a finger that just
// tapped does nothing more where it is, whatever lies there.

// GuardedMark is the attribute that says what a tap on an element does.
const GuardedMark = "data-guarded"

// FreshMark is the attribute of an element that does not take a tap yet.
const FreshMark = "data-fresh"

// Pause is how long what takes a tap has to stay as it is before it does, in milliseconds.
// Fingers tap twice within 0.2 to 0.35 s. Common practice, no source.
const Pause = 400

// fingertip is how far the second of two taps may fall from the first, in CSS pixels: half of a target.
const fingertip = 24

// A touch is a tap that counted: where on the screen, and when in milliseconds.
type touch struct{ x, y, at float64 }

// repeats reports whether a tap belongs to a finger that just tapped.
func (t touch) repeats(x, y, at float64) bool {
	return at-t.at < Pause && math.Hypot(x-t.x, y-t.y) < fingertip
}

// A mark is an element that takes a tap, as it was last seen.
type mark struct {
	says  string
	seen  bounds // on the screen
	page  bounds // on the page, which stays as the page is scrolled
	since float64
}

// bounds are an element's left, top, right and bottom in CSS pixels.
type bounds [4]float64

// slack is how far an edge may shift unnoticed.
const slack = 6

func (b bounds) moved(to bounds) bool {
	for i := range b {
		if math.Abs(b[i]-to[i]) > slack {
			return true
		}
	}
	return false
}

func (b bounds) shifted(x, y float64) bounds { return bounds{b[0] + x, b[1] + y, b[2] + x, b[3] + y} }

// look returns the mark as it is seen now. It is new if it says something else, or lies
// elsewhere both on the screen and on the page: scrolling moves it on the one alone.
func (m mark) look(says string, seen bounds, scrollX, scrollY, now float64) mark {
	page := seen.shifted(scrollX, scrollY)
	if m.says != says || m.seen.moved(seen) && m.page.moved(page) {
		return mark{says, seen, page, now}
	}
	m.seen, m.page = seen, page
	return m
}

// takes reports whether a tap that began at a time counts.
func (m mark) takes(at float64) bool { return at-m.since >= Pause }
