package view

import (
	"slices"
	"strings"
	"sync"
)

// A drawing is a family's drive seen from above and laid open, as data. It is
// drawingWidth wide, so that on the narrowest page, 320 px, a unit is a CSS pixel.
type drawing struct {
	id     string  // of the shipped model
	height float64 // in units
	under  figure  // case, tray, carriage: what is no place of a model
	hidden string  // path of edges that something covers, drawn dashed
	spots  []spot  // from the back to the front
	over   figure  // what covers the spots
	face   area    // what tells the family from the others, for the small picture
}

// A spot is where a place of the models stands on a drawing.
type spot struct {
	id     string
	figure figure
	name   label
	touch  area // takes the finger beside the figure, which may be too small for it
}

// A figure is how something looks: closed paths, which are filled and take the
// shade, and lines on top of them.
type figure struct{ body, lines string }

// A label is where a short name stands. The dots stand below it.
type label struct {
	x, y   float64 // of the base line
	anchor string  // what of the name is at x: its "start", "middle" or "end"
}

// An area is a rectangle by its edges.
type area struct{ left, top, right, bottom float64 }

const (
	drawingWidth = 288.0
	nameSize     = 12.0 // of the letters; web/css says the same
	dotDown      = 9.5  // from the base line of a name to the middle of its dots
	dotRadius    = 3.0
	dotStep      = 9.0
)

func over(x, y float64) label { return label{x, y, "middle"} }

// dot returns the middle of the i-th of n dots below the name.
func (l label) dot(i, n int) (x, y float64) {
	left := l.x + dotRadius
	switch l.anchor {
	case "middle":
		left = l.x - dotStep*float64(n-1)/2
	case "end":
		left = l.x - dotRadius - dotStep*float64(n-1)
	}
	return left + dotStep*float64(i), l.y + dotDown
}

// drawings are those of the shipped families, made when the first is looked at.
var drawings = sync.OnceValue(func() []*drawing { return []*drawing{topLoader(), tray(), slotIn()} })

// places returns the ids of the places that are drawn.
func (d *drawing) places() []string {
	var ids []string
	for _, s := range d.spots {
		ids = append(ids, s.id)
	}
	return ids
}

// drawingOf returns the drawing of a model with these places, nil if there is none:
// that of the model's own family, or else the only one that shows all its places or
// that it adds places to. Where several would do, the model does not say how a disc
// gets into the drive, and any of them would show one that it may not be.
func drawingOf(model string, places []string) *drawing {
	var found []*drawing
	for _, d := range drawings() {
		drawn := d.places()
		if !within(places, drawn) && !within(drawn, places) {
			continue
		}
		if d.id == model {
			return d
		}
		found = append(found, d)
	}
	if len(found) == 1 {
		return found[0]
	}
	return nil
}

// within says whether all of a are in b.
func within(a, b []string) bool {
	for _, x := range a {
		if !slices.Contains(b, x) {
			return false
		}
	}
	return true
}

// The plain layout: boxes in two columns for places that no drawing shows.
const (
	plainWidth, plainHeight = 140.0, 64.0
	plainGap                = drawingWidth - 2*plainWidth
	plainRoom               = plainWidth - 12 // for a line of a name
	plainLine               = 14.0            // from line to line
)

// plainBox returns the i-th box of a plain layout that starts at the height y.
func plainBox(i int, y float64) area {
	x := float64(i%2) * (plainWidth + plainGap)
	y += float64(i/2) * (plainHeight + plainGap)
	return area{x, y, x + plainWidth, y + plainHeight}
}

// folded breaks a name into at most two lines that fit the room. What is too long
// ends in an ellipsis; the whole of it is on the button.
func folded(name string, room float64) []string {
	rest := strings.Join(strings.Fields(name), " ")
	var lines []string
	for rest != "" {
		n := fitting(rest, room)
		switch {
		case n == len(rest):
		case len(lines) == 1:
			n = fitting(rest, room-nameWidth("…"))
			return append(lines, strings.TrimSpace(rest[:n])+"…")
		case rest[n] != ' ':
			if space := strings.LastIndex(rest[:n], " "); space > 0 {
				n = space
			}
		}
		lines = append(lines, strings.TrimSpace(rest[:n]))
		rest = strings.TrimSpace(rest[n:])
	}
	return lines
}

// fitting returns how many bytes of a text fit the room.
func fitting(s string, room float64) int {
	n := 0
	for i := range s {
		if nameWidth(s[:i]) > room {
			return n
		}
		n = i
	}
	if nameWidth(s) > room {
		return n
	}
	return len(s)
}

// nameWidth is how wide a name is at most, in units, by the widths of a broad bold
// font: narrow letters, broad ones, signs as wide as high, all others.
func nameWidth(s string) float64 {
	w := 0.0
	for _, r := range s {
		switch {
		case strings.ContainsRune(" .,:;'|!()[]fijlrtIí", r):
			w += 0.5
		case strings.ContainsRune("mwMW@%—…", r):
			w += 1.1
		case r >= 0x2e80:
			w++
		default:
			w += 0.72
		}
	}
	return w * nameSize
}
